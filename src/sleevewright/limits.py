"""Every limit of size, time and depth, in one place.

A limit ends what would otherwise never end or take all memory. Those of `Limits` can be raised in a library
(`limits: {elements: 1000000}`); their messages name them. Depths and the size of texts are fixed: no drawing or
recipe of a garment comes near them.
"""

from dataclasses import dataclass, fields

from sleevewright.errors import Place, Problem, ReadError


@dataclass(frozen=True, slots=True)
class Limits:
    """What one job, and one drawing that is read, may take.

    Attributes:
        seconds: wall and processor time of one job, s.
        memory_mb: of one job, beyond what a worker needs to start, MB.
        file_mb: size of a drawing, MB (2**20 bytes).
        elements: elements of an SVG, entities of a DXF.
        inserts: what blocks that insert others, or `use` elements, expand to.
        points: vertices and curve segments of a drawing, after expansion.
    """

    seconds: int = 120
    memory_mb: int = 2048
    file_mb: int = 64
    elements: int = 200_000
    inserts: int = 100_000
    points: int = 1_000_000

    def refuse_more(self, name: str, found: int, place: Place) -> None:
        """Refuse a count of a drawing beyond the limit of this name.

        Raises:
            ReadError: names the limit and how to raise it.
        """
        allowed = getattr(self, name)
        if found > allowed:
            raise ReadError(
                Problem(
                    f"too many {name}: {found}" if name != "file_mb" else f"the file has {found} MB",
                    place, f"limits: {name} allows {allowed}",
                    "clean the drawing, or raise it under limits: in the library",
                )
            )  # fmt: skip


LIMIT_NAMES = tuple(field.name for field in fields(Limits))

# --- fixed -------------------------------------------------------------------------------------

DEEPEST_ELEMENT = 200  # of an SVG
DEEPEST_INSERT = 16  # blocks within blocks of a DXF
LARGEST_NUMBER = 1e8  # mm or any unit; no drawing of a garment has larger ones
LARGEST_COORDINATE = 1e5  # mm; 100 m

YAML_BYTES = 1 << 20
YAML_DEPTH = 32
YAML_NODES = 50_000
YAML_TEXT = 4096  # characters of one text

MOST_STEPS = 200  # of a recipe
MOST_PARAMS = 200

EXPRESSION_CHARACTERS = 2000
EXPRESSION_DEPTH = 50  # brackets within brackets
EXPRESSION_OPERATIONS = 1000
