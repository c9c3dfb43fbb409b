"""The record of a job as JSON: what was made, how long every seam is, what the checks found."""

import json
import math
from typing import Any

from sleevewright.findings import SeamRow, Status
from sleevewright.pattern.piece import Finish, Piece
from sleevewright.pattern.result import Result
from sleevewright.writing.numbers import rounded


def job_record(result: Result) -> dict[str, Any]:
    """Return the record: plain values, mm and mm2 rounded half to even to four decimals.

    Raises:
        ValueError: a piece is not finished, or a number is not finite.
    """
    return {
        "block": result.block,
        "recipe": result.recipe,
        "size": result.size,
        "settings": dict(result.settings),
        "pieces": [_piece(piece) for piece in result.pattern.pieces],
        "seams": [_seam(row) for row in result.seam_rows],
        "findings": [
            {
                "check": finding.check,
                "status": finding.status.value,
                "where": finding.where,
                "message": finding.message,
            }
            for finding in result.findings
        ],
        "measurements": {name: rounded(mm) for name, mm in result.measurements},
    }


def write_json(result: Result) -> bytes:
    """Return the record as a JSON file, keys sorted.

    Raises:
        ValueError: a piece is not finished, or a number is not finite.
    """
    text = json.dumps(job_record(result), allow_nan=False, sort_keys=True, indent=1)
    return (text + "\n").encode("ascii")


def _piece(piece: Piece) -> dict[str, Any]:
    if piece.finish is None:
        raise ValueError(f"{piece.name} is not finished: it has no cut line")
    lengths = [edge.length for edge in piece.edges]
    return {
        "name": piece.name,
        "area_mm2": rounded(math.fsum(edge.curve.green_area for edge in piece.edges)),
        "sew_perimeter_mm": rounded(math.fsum(lengths)),
        "cut_perimeter_mm": rounded(_cut_perimeter(piece.finish)),
        "edges": [
            {"name": edge.name, "role": edge.role.value, "length_mm": rounded(length)}
            for edge, length in zip(piece.edges, lengths, strict=True)
        ],
    }


def _cut_perimeter(finish: Finish) -> float:
    return math.fsum(part.curve.length for part in finish.cut_line)


def _seam(row: SeamRow) -> dict[str, Any]:
    number = _or_null if row.status is Status.NOT_COMPUTED else rounded
    return {
        "name": row.name,
        "edges": [list(side) for side in row.edges],
        "lengths_mm": [number(length) for length in row.lengths],
        "wanted_ease_mm": number(row.wanted_ease),
        "difference_mm": number(row.difference),
        "allowed_mm": number(row.allowed),
        "status": row.status.value,
    }


def _or_null(value: float) -> float | None:
    """A number that could not be computed is null, which no reader mistakes for a length."""
    return rounded(value) if math.isfinite(value) else None
