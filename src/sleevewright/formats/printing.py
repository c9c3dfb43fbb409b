"""What `outputs:` of a recipe or library says of paper. Light: a library is read before anything heavy."""

from collections.abc import Mapping

from sleevewright.errors import Problem, did_you_mean
from sleevewright.formats.strict_yaml import Node
from sleevewright.print_settings import Paper, PrintSettings

KEYS = ("paper", "roll", "scale")
SCALES = {"full": 1.0, "half": 0.5, "quarter": 0.25}

#: mm. A plotter's roll.
NARROWEST, WIDEST = 250.0, 5000.0


def read_printing(outputs: Mapping[str, Node], problems: list[Problem]) -> PrintSettings | None:
    """Read what is said of paper; None where nothing is.

    Args:
        outputs: key -> value.
        problems: what is wrong is added to it.
    """
    if not any(key in outputs for key in KEYS):
        return None
    paper = word_of(outputs.get("paper"), tuple(Paper), "paper", problems)
    scale = word_of(outputs.get("scale"), tuple(SCALES), "scale", problems)
    roll = _roll(outputs.get("roll"), problems)
    return PrintSettings(paper=Paper(paper or Paper.A4), roll=roll, scale=SCALES[scale or "full"])


def word_of(
    node: Node | None, allowed: tuple[str, ...], what: str, problems: list[Problem]
) -> str | None:
    """Return one of the allowed words, in small letters; None where there is none."""
    if node is None:
        return None
    text = node.text.lower()
    if text not in allowed:
        problems.append(
            Problem(
                f"{node.text!r} is no {what}{did_you_mean(text, allowed)}",
                node.place,
                f"allowed are {', '.join(allowed)}",
            )
        )
        return None
    return text


def _roll(node: Node | None, problems: list[Problem]) -> float:
    """Return the width of a plotter's roll, mm."""
    from sleevewright.quantities import Kind, QuantityError, parse_quantity  # noqa: PLC0415

    if node is None:
        return PrintSettings().roll
    try:
        found = parse_quantity(node.text)
    except QuantityError as error:
        problems.append(Problem(f"roll: {error}", node.place, "a length, such as 914 mm"))
        return PrintSettings().roll
    if found.kind is not Kind.LENGTH or not NARROWEST <= found.value <= WIDEST:
        allowed = f"allowed is {NARROWEST:g} mm to {WIDEST:g} mm"
        problems.append(Problem(f"roll is {node.text}", node.place, allowed))
        return PrintSettings().roll
    return found.value
