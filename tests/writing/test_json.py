"""The record of a job: keys that are promised, numbers that can be trusted."""

import json
from dataclasses import replace

import pytest

from sleevewright.findings import Status
from sleevewright.writing import FORMATS
from sleevewright.writing.json import job_record

KEYS = {"block", "recipe", "size", "settings", "pieces", "seams", "findings", "measurements"}


@pytest.fixture(scope="module")
def record(result):
    return json.loads(FORMATS["json"](result))


def test_the_promised_keys(record):
    assert set(record) == KEYS
    piece = {"name", "area_mm2", "sew_perimeter_mm", "cut_perimeter_mm", "edges"}
    assert all(set(p) == piece for p in record["pieces"])
    assert all(
        set(e) == {"name", "role", "length_mm"} for p in record["pieces"] for e in p["edges"]
    )
    seam = {
        "name",
        "edges",
        "lengths_mm",
        "wanted_ease_mm",
        "difference_mm",
        "allowed_mm",
        "status",
    }
    assert all(set(s) == seam for s in record["seams"])
    assert all(set(f) == {"check", "status", "where", "message"} for f in record["findings"])


def test_the_numbers_are_those_of_the_pattern(record, result):
    for entry, piece in zip(record["pieces"], result.pattern.pieces, strict=True):
        assert entry["area_mm2"] == pytest.approx(piece.area, abs=1e-4)
        assert entry["sew_perimeter_mm"] == pytest.approx(piece.perimeter, abs=1e-4)
        assert entry["cut_perimeter_mm"] == pytest.approx(piece.finish.cut_perimeter, abs=1e-4)
        assert [e["length_mm"] for e in entry["edges"]] == pytest.approx(
            [e.length for e in piece.edges], abs=1e-4
        )
    assert record["measurements"].keys() == dict(result.measurements).keys()
    assert record["settings"] == {"neck_drop": "30 mm"}


def test_seam_rows_and_findings(record):
    (seam,) = record["seams"]
    assert seam["edges"] == [["front.side_seam"], ["back.side_seam"]]
    assert seam["lengths_mm"] == [230.0543, 225.0556]  # 225.05555 to the nearest even
    assert seam["difference_mm"] == 4.9988
    assert seam["status"] == record["findings"][0]["status"] == "failed"


def test_what_could_not_be_computed_is_null_and_nothing_else_may_be(result):
    row = replace(result.seam_rows[0], difference=float("nan"), status=Status.NOT_COMPUTED)
    assert job_record(replace(result, seam_rows=(row,)))["seams"][0]["difference_mm"] is None
    lying = replace(row, status=Status.HELD)
    with pytest.raises(ValueError, match="NaN"):
        FORMATS["json"](replace(result, seam_rows=(lying,)))


def test_sorted_with_a_newline_at_the_end(result, record):
    data = FORMATS["json"](result)
    assert data.endswith(b"}\n")
    assert json.dumps(record, indent=1, sort_keys=True).encode() + b"\n" == data
