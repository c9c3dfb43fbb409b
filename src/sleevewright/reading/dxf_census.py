"""What of a DXF file was read and what was passed over: together all that it holds."""

from collections import Counter
from collections.abc import Iterable, Iterator

from sleevewright.errors import on_one_line
from sleevewright.findings import Finding, Status
from sleevewright.reading.dxf_entities import Entity

#: Why something is passed over.
BESIDE = "outside the blocks, which are the pieces"
ELSEWHERE = "on sheets of paper or in a program's own blocks"
NOT_INSERTED = "in blocks that are not inserted"
NO_LENGTH = "no length"
NOT_DRAWN = "no line, point or text"


class Census:
    """Counts while a file is read."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._read: Counter[str] = Counter()
        self._passed: Counter[tuple[str, str]] = Counter()
        self._notes: dict[str, None] = {}

    def read(self, kind: str) -> None:
        """Count one entity of a kind as read."""
        self._read[kind] += 1

    def pass_over(self, entities: Iterable[Entity], why: str) -> None:
        """Count entities, and what belongs to them, as passed over."""
        for entity in entities:
            for part in (entity, *entity.attributes):
                self._passed[part.kind, why] += 1

    def note(self, text: str) -> None:
        """Note what is odd about the file; once, however often it is met."""
        if text:
            self._notes[text] = None

    @property
    def counts(self) -> tuple[tuple[str, int], ...]:
        """Kind -> how many were read."""
        return tuple(sorted(self._read.items()))

    def findings(self) -> Iterator[Finding]:
        """Yield what was noted and what was passed over."""
        passed = (
            f"{count} {kind} passed over: {why}"
            for (kind, why), count in sorted(self._passed.items())
        )
        for text in (*self._notes, *passed):
            yield Finding("reading", Status.NOTED, self.file, on_one_line(text, 400))
