"""The JSON record read again, strictly, and compared with what the curves measure."""

import json
import math
from typing import Any, NoReturn

from sleevewright.findings import SeamRow
from sleevewright.pattern import Piece
from sleevewright.pattern.result import Result
from sleevewright.pipeline.proofread.agreeing import near, same

_KEYS = [
    "block", "findings", "measurements", "pieces", "recipe", "seams", "settings", "size",
]  # fmt: skip
_AREA = 1e-3  # mm2


def read_record(data: bytes) -> dict[str, Any]:
    """Read a record of ours.

    Raises:
        ValueError: it is no JSON by RFC 8259 in ASCII, a key stands twice, or it is no record.
    """
    try:
        record = json.loads(data.decode("ascii"), parse_constant=_refused, object_pairs_hook=_apart)
    except RecursionError:
        raise ValueError("it is nested too deep") from None
    if not isinstance(record, dict):
        raise ValueError("it is no record")
    same("its keys", sorted(record), _KEYS)
    if not record["pieces"]:
        raise ValueError("no piece is in it")
    return record


def compare_record(data: bytes, result: Result) -> None:
    """Compare a record with a result: names, lengths, areas, seams, findings, measurements.

    Raises:
        ValueError, KeyError, TypeError: it cannot be read, or is something else.
    """
    record = read_record(data)
    for name, wanted in (
        ("block", result.block), ("recipe", result.recipe), ("size", result.size),
        ("settings", dict(result.settings)),
    ):  # fmt: skip
        same(name, record[name], wanted)
    same("number of pieces", len(record["pieces"]), len(result.pattern.pieces))
    for found, piece in zip(record["pieces"], result.pattern.pieces, strict=True):
        _compare_piece(found, piece)
    same("number of seams", len(record["seams"]), len(result.seam_rows))
    for found, row in zip(record["seams"], result.seam_rows, strict=True):
        _compare_seam(found, row)
    told = [[f.check, str(f.status), f.where, f.message] for f in result.findings]
    keys = ("check", "status", "where", "message")
    same("findings", [[found[key] for key in keys] for found in record["findings"]], told)
    measured = dict(result.measurements)
    same("names of measurements", sorted(record["measurements"]), sorted(measured))
    for name, length in measured.items():
        near(f"measurement {name}", record["measurements"][name], length)


def _compare_piece(found: dict[str, Any], piece: Piece) -> None:
    name = piece.name
    same("a piece", found["name"], name)
    near(f"{name}: area", found["area_mm2"], piece.area, _AREA)
    near(f"{name}: sewing line", found["sew_perimeter_mm"], piece.perimeter)
    cut = piece.finish.cut_perimeter if piece.finish else math.nan
    near(f"{name}: cut line", found["cut_perimeter_mm"], cut)
    edges = [[edge["name"], edge["role"]] for edge in found["edges"]]
    same(f"{name}: edges", edges, [[edge.name, str(edge.role)] for edge in piece.edges])
    lengths = [edge["length_mm"] for edge in found["edges"]]
    near(f"{name}: lengths of edges", lengths, [edge.length for edge in piece.edges])


def _compare_seam(found: dict[str, Any], row: SeamRow) -> None:
    same("a seam", found["name"], row.name)
    same(f"{row.name}: edges", found["edges"], [list(side) for side in row.edges])
    same(f"{row.name}: status", found["status"], str(row.status))
    numbers = [found[name] for name in ("wanted_ease_mm", "difference_mm", "allowed_mm")]
    wanted = [*row.lengths, row.wanted_ease, row.difference, row.allowed]
    for number, laid in zip([*found["lengths_mm"], *numbers], wanted, strict=True):
        if math.isfinite(laid):
            near(f"{row.name}: a number", number, laid)
        else:  # what could not be computed is said to be unknown
            same(f"{row.name}: a number", number, None)


def _refused(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number of JSON")


def _apart(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice in it")
    return found
