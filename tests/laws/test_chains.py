"""Operations compose: a chain ends in a sound, walked pattern or in one clear refusal.

Settings are drawn from what the declarations allow, names from the block's own words. A long run:
CHAINS=2000 pytest tests/laws/test_chains.py
"""

import dataclasses
import os
import random
from typing import Any

import pytest

from samples_of_ours import BLOCKS, from_svg, registry
from sleevewright.errors import SleevewrightError
from sleevewright.operations.contract import Setting, settings_of
from sleevewright.pipeline.convert import convert
from sleevewright.quantities import Kind
from sleevewright.recipe import Recipe

COUNT = int(os.environ.get("CHAINS", "100"))
UNITS = {Kind.LENGTH: " mm", Kind.ANGLE: " deg", Kind.RATIO: "", Kind.COUNT: ""}
WORDS = {
    "piece": ["front", "back", "sleeve", "sleeve_front", "sleeve_back", "cuff", "sleve"],
    "seam": ["shoulder", "side", "underarm", "overarm", "front style", "sleeve style 1"],
    "dart": ["armhole", "shoulder", "side_seam"],
}
EDGES = [
    "wrist",
    "cap",
    "hem",
    "shoulder",
    "side_seam",
    "neckline",
    "cap.front",
    "armhole",
    "centre",
]
SOUND = (
    "seam-length", "outline", "smooth-edge", "notches-meet", "notch-place", "joint-notch", "dart-marks",
    "allowance",
)  # fmt: skip


def value(setting: Setting, draw: random.Random) -> str:
    kind, about = setting.kind, setting.about
    if isinstance(kind, tuple):
        return draw.choice(kind)
    if kind is bool:
        return draw.choice(["true", "false"])
    if kind is str:
        return draw.choice(WORDS.get(setting.name, EDGES))
    if dataclasses.is_dataclass(kind):
        return "{" + ", ".join(group(kind, draw)) + "}"
    low = 0.0 if about.at_least is None else about.at_least
    high = max(low + 1.0, 100.0) if about.at_most is None else about.at_most
    # Mostly near the lower end, where garments are; sometimes anywhere that is allowed.
    number = low + (high - low) * draw.random() ** draw.choice([1, 2, 3])
    return (str(round(number)) if kind is Kind.COUNT else f"{number:.2f}") + UNITS[kind]


def group(cls: type, draw: random.Random) -> list[str]:
    found = []
    for setting in settings_of(cls):
        if not setting.required and draw.random() < 0.55:
            continue
        if setting.many:
            items = [value(setting, draw) for _ in range(draw.randint(1, 3))]
            found.append(f"{setting.name}: [{', '.join(items)}]")
        else:
            found.append(f"{setting.name}: {value(setting, draw)}")
    return found


def recipe_text(draw: random.Random) -> str:
    lines = ["name: chain", "steps:"]
    for _ in range(draw.randint(2, 6)):
        name = draw.choice(registry().names)
        given: Any = group(registry().operation(name), draw)
        lines.append(f"  - {name}:" + (f" {{{', '.join(given)}}}" if given else ""))
    return "\n".join(lines) + "\nfinish: {allowances: {default: 8 mm, wrist: 8 mm, hem: 8 mm}}\n"


@pytest.mark.parametrize("seed", range(COUNT))
def test_a_chain_is_sound_or_refused(seed: int) -> None:
    draw = random.Random(seed)
    text = recipe_text(draw)
    blocks = from_svg(draw.choice(BLOCKS))
    block = draw.choice(blocks)
    try:
        recipe = Recipe.parse(text.encode(), "chain.yaml", registry())
        result = convert(block, recipe, {})
    except SleevewrightError as error:
        for problem in error.problems:
            assert len(str(problem)) > 20, text
        return
    bad = [
        f.message
        for f in result.findings
        if f.fell_short and (f.check in SOUND or f.check.startswith("promise."))
    ]
    assert not bad, (block.name, block.size, text, bad)
