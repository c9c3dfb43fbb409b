"""The page: what the templates are given, and the policy that lets nothing else run."""

import base64
import hashlib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from sleevewright.pattern.result import Result
from sleevewright.writing.report.cutting_list import cloth_by_material, cutting_list
from sleevewright.writing.report.figures import measured, movement, reported
from sleevewright.writing.report.overlay_picture import overlay
from sleevewright.writing.report.seam_walk import seam_walk
from sleevewright.writing.report.verdict import (
    CALLED,
    held_groups,
    title_of,
    verdict_of,
    widest_seam,
)
from sleevewright.writing.report.words import clean, counted, human, short
from sleevewright.writing.safety import SAFETY

if TYPE_CHECKING:
    from jinja2 import Environment

_PARTS = (
    "page.html", "title.html", "overlay.html", "walk.html", "findings.html", "figures.html",
    "cutting.html",
)  # fmt: skip


def write_report(result: Result) -> bytes:
    """Return the report on a variant: one HTML page that needs nothing else.

    Raises:
        ValueError: a piece is not finished.
    """
    style, script = _packaged("sheet.css"), _packaged("switches.js")
    page = _environment().get_template("page.html")
    text = page.render(
        **_content(result),
        style=_trusted(style),
        script=_trusted(script),
        policy=(
            f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}';"
            " base-uri 'none'; form-action 'none'"
        ),
    )
    return text.encode("utf-8")


def _content(result: Result) -> dict[str, Any]:
    pieces, layers = overlay(result)
    rows = cutting_list(result.pattern.pieces)
    recipe = result.recipe.replace("-", " ").replace("_", " ")
    printing = result.printing
    return {
        "result": result,
        "heading": recipe[:1].upper() + recipe[1:],
        "block": human(result.block),
        "pieces": counted(len(result.pattern.pieces), "piece"),
        "verdict": verdict_of(result),
        "widest": widest_seam(result.seam_rows),
        "called": CALLED,
        "title_of": title_of,
        "groups": held_groups(result.findings),
        "places": pieces,
        "layers": layers,
        "walk": seam_walk(result),
        "measured": measured(result),
        "movement": movement(result),
        "reported": reported(result),
        "rows": rows,
        "cloth": cloth_by_material(rows),
        "safety": SAFETY,
        "paper": (
            ("Paper", printing.paper.value.capitalize()),
            ("Roll", f"{short(printing.roll)} mm wide"),
            ("Printed at", "full size" if printing.scale == 1 else f"{printing.scale:.0%} of full size"),
        ),
    }  # fmt: skip


@cache
def _packaged(name: str) -> str:
    # line ends made alike, so that the hash is the one the browser works out
    text = (files(__package__) / "templates" / name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"


def _trusted(text: str) -> str:
    from markupsafe import Markup  # noqa: PLC0415

    return Markup(text)


@cache
def _environment() -> "Environment":
    from jinja2 import DictLoader, Environment, StrictUndefined  # noqa: PLC0415  (only for reports)

    return Environment(
        loader=DictLoader({name: _packaged(name) for name in _PARTS}),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=clean,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
