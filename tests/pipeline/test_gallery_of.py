"""The gallery that a batch writes: every variant, what failed too, and nothing left of what is gone."""

import json
import re

from conftest_pipeline import Studio

OUTPUTS = "outputs: {folder: out, formats: [svg, report], gallery: true}\n"


def entries(studio: Studio) -> list[dict[str, object]]:
    found: list[dict[str, object]] = []
    for path in sorted((studio.out / "gallery-data").glob("*.js")):
        found += [{"text": text} for text in re.findall(r"men/[a-z-]+/[0-9]+", path.read_text())]
    return found


def keys(studio: Studio) -> set[str]:
    return {str(entry["text"]) for entry in entries(studio)}


def test_every_variant_is_in_the_gallery(small: Studio) -> None:
    small.library(OUTPUTS)
    status, events = small.batch()
    assert status == 0
    assert [e["event"] for e in events][-2:] == ["gallery", "finished"]
    everything = {f"men/{r}/{s}" for r in ("classic-raglan", "half-raglan") for s in (50, 52)}
    assert everything <= keys(small)
    page = (small.out / "index.html").read_bytes()
    small.batch("--force")
    assert (small.out / "index.html").read_bytes() == page
    small.library(OUTPUTS + "exclude: [{size: '52'}]\n")
    assert small.batch()[0] == 0
    assert not any(key.endswith("/52") for key in keys(small))


def test_what_failed_is_told_without_the_paths_of_the_studio(small: Studio) -> None:
    small.library(OUTPUTS)
    small.recipe("wrong", "name: wrong\nsteps:\n  - gusset:\n")
    status, _ = small.batch()
    assert status == 5
    assert {"men/wrong/50", "men/wrong/52"} <= keys(small)
    data = "".join(p.read_text() for p in (small.out / "gallery-data").glob("*.js"))
    assert str(small.folder) not in data
    assert "gusset" in data


def test_nothing_to_do_leaves_the_gallery_alone(small: Studio) -> None:
    small.library(OUTPUTS)
    small.batch()
    _, events = small.batch()
    assert "gallery" not in json.dumps(events)
