"""One variant as a value that can be sent to a worker, and what comes back.

A job holds all that it needs (the block of its size, the recipe's text), so that a worker reads no
file; what comes back is the bytes of the outputs, or one clear problem.
"""

import pickle
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sleevewright.errors import Problem, SleevewrightError, WriteError

if TYPE_CHECKING:
    from sleevewright.pattern import Pattern
    from sleevewright.pattern.result import Result
    from sleevewright.pipeline.state import Output
    from sleevewright.print_settings import PrintSettings
    from sleevewright.recipe import Recipe


@dataclass(frozen=True, slots=True)
class Job:
    """A variant to make.

    Attributes:
        key: BLOCK/RECIPE/[SETTINGS/]SIZE.
        pattern: the block of this size, pickled.
        recipe: the recipe's text.
        recipe_file: its file, for messages.
        settings: (param, value as written).
        formats: what to write; None for what the recipe says.
        printing: what it is printed on; None for what the recipe says.
        folder: where the worker stores the files; None to send their bytes back.
        before: the profile of the variant as it was last made; empty without one.
        plugins: the plug-ins that the recipe uses, as `fingerprint.pinned` gives them.
        proofread: whether outputs are read again and compared before they are given away.
        durability: of the files, where the worker stores them; see `writing.write_files`.
    """

    key: str
    pattern: bytes
    recipe: bytes
    recipe_file: str
    settings: tuple[tuple[str, str], ...]
    formats: tuple[str, ...] | None
    printing: "PrintSettings | None"
    folder: Path | None
    before: Mapping[str, Any]
    plugins: tuple[tuple[str, str], ...]
    proofread: bool = True
    durability: str = "run"


@dataclass(frozen=True, slots=True)
class Made:
    """A variant that was made.

    Attributes:
        key: its key.
        status: the worst of its findings.
        short: messages of the findings that fell short.
        files: (name relative to the output folder, bytes), where they are to be stored.
        stored: what the worker has stored.
        settings: digest of the settings that the recipe comes to for this block and size.
        profile: its edges and measurements, for comparison with the next one.
        moved: what moved since it was last made, one line each; empty where nothing did.
        seconds: what it took.
    """

    key: str
    status: str
    short: tuple[str, ...]
    files: tuple[tuple[str, bytes], ...]
    stored: tuple["Output", ...]
    settings: str
    profile: Mapping[str, Any]
    moved: tuple[str, ...]
    seconds: float


@dataclass(frozen=True, slots=True)
class Lost:
    """A variant that could not be made.

    Attributes:
        key: its key.
        problem: one line or several, each with what was wrong and where.
    """

    key: str
    problem: str


@dataclass(frozen=True, slots=True)
class Unstored:
    """A variant whose files the worker could not store: the disk is at fault, not the variant.

    Attributes:
        key: its key.
        problems: why.
    """

    key: str
    problems: tuple[Problem, ...]


Outcome = Made | Lost | Unstored


def run_job(job: Job) -> Outcome:
    """Make a variant, and store it where the job says so; whatever goes wrong comes back as such."""
    outcome = _tried(job)
    if job.folder is None or not isinstance(outcome, Made):
        return outcome
    try:
        stored = store(outcome.files, job.folder, job.durability)
    except WriteError as error:
        return Unstored(job.key, error.problems)
    return replace(outcome, files=(), stored=stored)


def _tried(job: Job) -> Made | Lost:
    try:
        return _made(job)
    except SleevewrightError as error:
        return Lost(job.key, str(error))
    except MemoryError:
        return Lost(job.key, "needs more memory than limits: memory_mb allows")
    except Exception as error:  # noqa: BLE001 (a fault of ours hurts this variant alone)
        where = error.__traceback__
        while where is not None and where.tb_next is not None:
            where = where.tb_next
        at = (
            f" at {Path(where.tb_frame.f_code.co_filename).name}:{where.tb_lineno}" if where else ""
        )
        return Lost(job.key, f"a fault of sleevewright itself: {type(error).__name__}: {error}{at}")


def _made(job: Job) -> Made:
    from sleevewright.findings import worst  # noqa: PLC0415
    from sleevewright.pipeline.compare import compare_profiles, profile_of  # noqa: PLC0415
    from sleevewright.pipeline.convert import convert, fell_short  # noqa: PLC0415
    from sleevewright.pipeline.fingerprint import refuse_other_code  # noqa: PLC0415

    began = time.perf_counter()
    refuse_other_code(job.plugins)
    recipe = _recipe(job.recipe, job.recipe_file, tuple(plugin for plugin, _ in job.plugins))
    pattern, settings = _pattern(job.pattern), dict(job.settings)
    result = convert(pattern, recipe, settings)
    if job.printing is not None:
        result = replace(result, printing=job.printing)
    formats = recipe.output_settings.formats if job.formats is None else job.formats
    files = tuple(files_of(job.key, result, formats, proofread=job.proofread))
    profile = profile_of(result.pattern, result.measurements)
    moved = compare_profiles(job.before, profile).lines() if job.before else ()
    return Made(
        key=job.key,
        status=str(worst(result.findings)),
        short=tuple(finding.message for finding in fell_short(result.findings)),
        files=files,
        stored=(),
        settings=settings_digest(recipe, pattern, settings),
        profile=profile,
        moved=moved,
        seconds=time.perf_counter() - began,
    )


def settings_digest(recipe: "Recipe", pattern: "Pattern", settings: Mapping[str, str]) -> str:
    """Return the digest of all settings that a recipe comes to for a block of one size."""
    from sleevewright.pipeline.convert import facts_of  # noqa: PLC0415
    from sleevewright.pipeline.fingerprint import digest_of  # noqa: PLC0415
    from sleevewright.recipe import bind  # noqa: PLC0415

    bound = bind(recipe, facts_of(pattern), pattern.size, settings)
    return digest_of((bound.name, bound.steps, bound.finish, bound.outputs, bound.settings))


def files_of(
    key: str, result: "Result", formats: Iterable[str], *, proofread: bool
) -> Iterator[tuple[str, bytes]]:
    """Yield the files of a result: name relative to the output folder, and bytes; each format once.

    Raises:
        WriteError: one is proofread, and does not read as what was made.
    """
    from sleevewright.pipeline.places import output_name  # noqa: PLC0415
    from sleevewright.pipeline.proofread import proofread as check  # noqa: PLC0415
    from sleevewright.writing import FORMATS  # noqa: PLC0415

    for name in dict.fromkeys(formats):
        data = FORMATS[name](result)
        if proofread:
            check(name, data, result)
        yield output_name(key, name), data


def store(
    files: tuple[tuple[str, bytes], ...], folder: Path, durability: str
) -> tuple["Output", ...]:
    """Put files, (name, bytes), into an output folder; return them as a record names them.

    Raises:
        WriteError: one cannot be written; then none is.
    """
    from sleevewright.pipeline.fingerprint import digest_of_bytes  # noqa: PLC0415
    from sleevewright.pipeline.state import Output  # noqa: PLC0415
    from sleevewright.writing import write_files  # noqa: PLC0415

    write_files({folder / name: data for name, data in files}, within=folder, durability=durability)
    found = []
    for name, data in files:
        there = (folder / name).stat()
        found.append(Output(name, digest_of_bytes(data), there.st_size, there.st_mtime_ns))
    return tuple(found)


# Workers meet the same block and recipe many times in a row.


@lru_cache(maxsize=16)
def _pattern(data: bytes) -> "Pattern":
    pattern: Pattern = pickle.loads(data)
    return pattern


@lru_cache(maxsize=64)
def _recipe(text: bytes, file: str, plugins: tuple[str, ...]) -> "Recipe":
    from sleevewright.recipe import Recipe  # noqa: PLC0415

    return Recipe.parse(text, file, _registry(plugins))


@lru_cache(maxsize=4)
def _registry(plugins: tuple[str, ...]) -> Any:
    from sleevewright.operations.registry import Registry  # noqa: PLC0415

    return Registry.installed(plugins)


def pickled(pattern: "Pattern") -> bytes:
    """Return a block of one size, ready to be sent."""
    return pickle.dumps(pattern, protocol=5)
