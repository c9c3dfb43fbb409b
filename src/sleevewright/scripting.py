"""What scripts use: `read`, `convert` a recipe, `write`, and `build` a whole library.

Errors are the same as those of the command line, as exceptions of `sleevewright.errors`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from sleevewright.errors import Place
from sleevewright.operations.registry import Registry
from sleevewright.pattern import Pattern
from sleevewright.pattern.result import Result
from sleevewright.pipeline.batch import Options, run_batch
from sleevewright.pipeline.engines import engine_for
from sleevewright.pipeline.job import files_of
from sleevewright.pipeline.library import Library
from sleevewright.pipeline.places import check_places, output_name, variant_key
from sleevewright.reading import read_pattern


def read(
    files: Path | str | Sequence[Path | str], labels: Path | str | None = None
) -> tuple[Pattern, ...]:
    """Return the block of each size in the files.

    Args:
        files: DXF or SVG, one or several: all sizes in one file, or a file a size.
        labels: a label map.

    Raises:
        ReadError: a file cannot be read as what it claims to be.
        LabelError: pieces or edges cannot be told.
    """
    many = [files] if isinstance(files, Path | str) else list(files)
    return read_pattern(many, labels).patterns


def write(
    results: Result | Iterable[Result],
    out: Path | str,
    formats: Sequence[str] = ("dxf", "svg", "json"),
    *,
    inputs: Iterable[Path | str] = (),
    proofread: bool = True,
) -> tuple[Path, ...]:
    """Write results to OUT/BLOCK/RECIPE/[SETTINGS/]SIZE.ending; all files or none.

    Of several sizes of one variant, paperwork of all of them is written beside (see
    `writing.of_all_sizes`).

    Args:
        results: of `convert`, one or several.
        out: the folder.
        formats: names in `FORMATS`.
        inputs: files that were read; none of them may be written.
        proofread: read every output again and compare it with its result before it is written.

    Returns:
        The paths, result by result, format by format; then those of all sizes.

    Raises:
        WriteError: a file cannot be written, two would be one, or one does not read as what was made.
    """
    from sleevewright.writing import write_files  # noqa: PLC0415
    from sleevewright.writing.sheet import title_of  # noqa: PLC0415

    folder, read_files = Path(out), [Path(name) for name in inputs]
    names = tuple(dict.fromkeys(formats))
    keyed = [
        (variant_key(result.block, result.recipe, result.settings, result.size), result)
        for result in ([results] if isinstance(results, Result) else results)
    ]
    places = [(title_of(result), output_name(key, name)) for key, result in keyed for name in names]
    check_places(places, folder, inputs=read_files)
    files = [
        file for key, result in keyed for file in files_of(key, result, names, proofread=proofread)
    ]
    besides = _of_all_sizes(keyed, names, proofread=proofread)
    of_all = [("all its sizes", file) for file, _ in besides]
    check_places(of_all, folder, standing=places, inputs=read_files)
    paths = {folder / file: data for file, data in (*files, *besides)}
    write_files(paths, inputs=read_files, within=folder, durability="file")
    return tuple(paths)


def _of_all_sizes(
    keyed: Sequence[tuple[str, Result]], formats: Sequence[str], *, proofread: bool
) -> list[tuple[str, bytes]]:
    """Return the files that sizes of one variant have together."""
    from sleevewright.pipeline.proofread import proofread_of_all_sizes  # noqa: PLC0415
    from sleevewright.writing import of_all_sizes  # noqa: PLC0415

    variants: dict[tuple[str, object], list[Result]] = {}
    for key, result in keyed:
        variant = (result.block, result.recipe, result.settings)
        variants.setdefault((key.rpartition("/")[0], variant), []).append(result)
    found: list[tuple[str, bytes]] = []
    for (place, _), sizes in variants.items():
        for name, data in of_all_sizes(sizes, formats).items():
            if proofread:
                proofread_of_all_sizes(name, data, sizes)
            found.append((f"{place}/{name}", data))
    return found


@dataclass(frozen=True, slots=True)
class Built:
    """What became of a library.

    Attributes:
        variants: how many it has.
        made: keys of those that were made now, BLOCK/RECIPE/[SETTINGS/]SIZE; the others were up to date.
        failed: key -> what is wrong with it.
        fell_short: key -> messages of the checks that did.
        moved: key -> what moved since it was last made.
        removed: keys of those that the library has no more.
    """

    variants: int
    made: tuple[str, ...]
    failed: Mapping[str, str] = field(default_factory=dict)
    fell_short: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    moved: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    removed: tuple[str, ...] = ()

    @property
    def ok(self) -> bool:
        """Whether every variant is there and every check of those made now held."""
        return not self.failed and not self.fell_short


def build(
    library: Path | str,
    *,
    workers: int | None = None,
    scheduler: str = "",
    force: bool = False,
    prune: bool = False,
) -> Built:
    """Bring every variant of a library up to date.

    Args:
        library: its file.
        workers: processes; one a core if not given.
        scheduler: address of a dask cluster that shall do it; "" for processes of this machine.
        force: make every variant, stale or not.
        prune: delete outputs of variants that are no more.

    Raises:
        RecipeError: the library as a whole is wrong.
        HeldError: another run holds its output folder.
        WriteError: an output cannot be written; what was written stands.
    """
    loaded = Library.load(library)
    name = "dask" if scheduler else "local"
    engine = partial(engine_for, loaded.limits, workers, name, scheduler)
    operations = partial(Registry.installed, loaded.plugins, Place(str(loaded.file)))
    events = list(run_batch(loaded, engine, operations, Options(force=force, prune=prune)))
    made = [event for event in events if event.kind == "made"]
    return Built(
        variants=events[-1].details["variants"],
        made=tuple(event.key for event in made),
        failed={event.key: event.details["problem"] for event in events if event.kind == "failed"},
        fell_short={e.key: tuple(e.details["short"]) for e in made if e.details["short"]},
        moved={e.key: tuple(e.details["moved"]) for e in made if e.details["moved"]},
        removed=tuple(e.key for e in events if e.kind in ("removed", "pruned", "kept")),
    )
