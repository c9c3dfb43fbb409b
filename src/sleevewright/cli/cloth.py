"""`marker`: how much cloth a variant takes, and how its pieces lie on it."""

from pathlib import Path
from typing import Any

import click

from sleevewright.cli.completing import recipe_files
from sleevewright.cli.one_block import of_sizes, settings_of
from sleevewright.cli.shared import (
    block_options,
    plugin_option,
    print_json,
    read,
    registry,
    visible,
)
from sleevewright.cli.tables import show
from sleevewright.errors import Problem, RecipeError


@click.command(
    epilog="Example: sleevewright marker sample_patterns/svg/men_overblock_50.svg"
    " --recipe recipes/classic-raglan.yaml --width 1500mm --seconds 2 --out out"
)
@block_options
@click.option(
    "--recipe", required=True, metavar="FILE", help="Recipe (YAML).", shell_complete=recipe_files
)
@click.option("--width", required=True, metavar="LENGTH", help="Of the cloth, such as 150cm.")
@click.option("--nap", is_flag=True, help="All pieces point one way.")
@click.option("--seconds", type=click.FloatRange(1, 3600), default=10.0, show_default=True,
              help="Work to spend on each size.")  # fmt: skip
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True,
              help="Same seed, same marker.")  # fmt: skip
@click.option("--out", default="out", show_default=True, metavar="DIR", help="Output folder.")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="Change a param.")
@click.option("--size", "sizes", multiple=True, metavar="S", help="Only this size.")
@plugin_option
def marker(**given: Any) -> int:
    """Lay the pieces on cloth: length, yield and a picture for each size."""
    from sleevewright.pipeline.convert import convert  # noqa: PLC0415
    from sleevewright.pipeline.places import variant_key  # noqa: PLC0415
    from sleevewright.recipe import Recipe  # noqa: PLC0415
    from sleevewright.writing import write_files  # noqa: PLC0415
    from sleevewright.writing.marker import lay_marker, marker_svg  # noqa: PLC0415

    width = _width(given["width"])
    recipe = Recipe.load(given["recipe"], registry(given["plugins"]))
    settings = settings_of(given["settings"])
    out, rows, records = Path(given["out"]), [], []
    for pattern in of_sizes(read(given["block"], given["labels"]), given["sizes"]):
        result = convert(pattern, recipe, settings)
        laid = lay_marker(
            result, width, nap=given["nap"], seconds=given["seconds"], seed=given["seed"]
        )
        key = variant_key(result.block, result.recipe, result.settings, result.size)
        path = out / f"{key}.marker.svg"
        inputs = [Path(name) for name in given["block"]]
        write_files({path: marker_svg(laid)}, inputs=inputs, within=out, durability="file")
        rows.append((result.size, laid.length / 1000, 100 * laid.yield_ratio, str(path)))
        records.append(
            {
                "block": result.block, "recipe": result.recipe, "size": result.size,
                "cloth_width_mm": width, "length_mm": round(laid.length, 2),
                "yield_percent": round(100 * laid.yield_ratio, 2), "nap": laid.nap,
                "seed": laid.seed, "repeats": laid.settled, "file": str(path),
            }
        )  # fmt: skip
    if given["as_json"]:
        print_json(records)
        return 0
    title = f"cloth {width / 10:g} cm wide{', one way' if given['nap'] else ''}"
    lines = [title, *(f"  {s:<8}{m:>7.2f} m{y:>7.1f} %  {p}" for s, m, y, p in rows)]
    show(title, ("size", "length m", "yield %", "marker"), rows, lines)
    for record in records:
        if not record["repeats"]:
            click.echo(
                visible(f"size {record['size']}: not all work was done; it may not repeat"),
                err=True,
            )
    return 0


def _width(text: str) -> float:
    from sleevewright.quantities import Kind, QuantityError, parse_quantity  # noqa: PLC0415

    try:
        found = parse_quantity(text)
    except QuantityError as error:
        raise RecipeError(Problem(f"--width {text!r}: {error}", allowed="such as 150cm")) from None
    if found.kind is not Kind.LENGTH or not 200.0 <= found.value <= 5000.0:
        raise RecipeError(Problem(f"--width {text!r}", allowed="200 mm to 5000 mm"))
    return found.value
