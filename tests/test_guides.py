"""What the guides in docs/ show runs, and the messages they explain are messages of the tool."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from samples_of_ours import ROOT

GUIDES = [p for p in sorted((ROOT / "docs").glob("*.md")) if p.name != "cookbook.md"]


def commands(text: str) -> list[str]:
    """Commands of indented blocks; words in capitals stand for files of the reader's own."""
    found = re.findall(r"^    (sleevewright .+)$", text, re.MULTILINE)
    return [line for line in found if not re.search(r"\b[A-Z_]{2,}\b", line)]


ALL = [(p.name, line) for p in GUIDES for line in commands(p.read_text())]


@pytest.fixture(scope="module")
def workplace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("guides")
    for name in ("recipes", "sample_patterns"):
        (folder / name).symlink_to(ROOT / name)
    return folder


@pytest.mark.parametrize(("guide", "command"), ALL)
def test_commands_of_the_guides_run(guide: str, command: str, workplace: Path) -> None:
    words = shlex.split(command.partition("#")[0])
    done = subprocess.run(
        [sys.executable, "-m", "sleevewright.cli", *words[1:]],
        cwd=workplace, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, (guide, command, done.stderr)


def test_there_are_commands_to_run() -> None:
    assert len(ALL) >= 2


def test_messages_that_are_explained_are_ours() -> None:
    source = " ".join(" ".join(path.read_text().split()) for path in (ROOT / "src").rglob("*.py"))
    source = re.sub(r'" f?"', "", source)  # a text written over several lines
    text = (ROOT / "docs" / "troubleshooting.md").read_text()
    messages = re.findall(r"^\| `([^`]+)` \|", text, re.MULTILINE)
    assert len(messages) > 10
    for message in messages:
        assert message in source, message
