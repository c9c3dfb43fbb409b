"""A library brought up to date: front door `run_batch`, which yields what happens as events.

The side that runs the batch owns the records; workers only make bytes (or, where the library says
so, store them on a disk they share).
"""

from collections import Counter
from collections.abc import Callable, Generator, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sleevewright.errors import WriteError
from sleevewright.pipeline.fingerprint import digest_of_bytes
from sleevewright.pipeline.library import Library
from sleevewright.pipeline.lock import held
from sleevewright.pipeline.standing import note_standing, sources_digest, standing
from sleevewright.pipeline.state import Output, Record, State

if TYPE_CHECKING:
    from sleevewright.operations.registry import Registry
    from sleevewright.pipeline.engines import Engine
    from sleevewright.pipeline.job import Job, Made
    from sleevewright.pipeline.plan import Plan, Stale


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened.

    Attributes:
        kind: planned, noted, would-make, made, failed, removed, pruned, kept, gallery or finished.
        key: the variant (or block or recipe) it happened to; "" for the whole run.
        details: what there is to say, plain values.
    """

    kind: str
    key: str = ""
    details: dict[str, Any] = field(default_factory=dict)

    def record(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {"event": self.kind, "key": self.key, **self.details}


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a library is built.

    Attributes:
        force: make everything, whether stale or not.
        dry_run: only say what would be made, and why.
        prune: delete the outputs of variants that the library has no more.
    """

    force: bool = False
    dry_run: bool = False
    prune: bool = False


def run_batch(
    library: Library,
    engine: Callable[[], "Engine"],
    registry: Callable[[], "Registry"],
    options: Options = Options(),
) -> Iterator[Event]:
    """Bring a library up to date.

    Args:
        library: the library.
        engine, registry: make what runs jobs, and the operations that are installed; not called where
            nothing has changed since the last run.
        options: how.

    Raises:
        RecipeError: the library as a whole is wrong.
        HeldError: another run holds its output folder.
        WriteError: an output cannot be written; what was written stands, and the next run goes on.
    """
    if options.dry_run:
        from sleevewright.pipeline.plan import make_plan  # noqa: PLC0415

        with State(library.folder, read_only=True) as state:
            plan = make_plan(library, state, registry(), force=options.force)
        variants, stale, removed = len(plan.variants), len(plan.stale), len(plan.removed)
        yield _planned(variants, stale, removed)
        yield from _notes(plan)
        yield from _faults(plan)
        for item in plan.stale:
            yield Event("would-make", item.variant.key, {"reasons": list(item.reasons)})
        for record in plan.removed:
            yield Event("removed", record.key)
        yield _finished(variants, stale, removed, Counter(failed=len(plan.faults)))
        return
    with held(library.folder), State(library.folder) as state:
        yield from _run(library, engine, registry, options, state)


def _run(
    library: Library,
    engine: Callable[[], "Engine"],
    registry: Callable[[], "Registry"],
    options: Options,
    state: State,
) -> Iterator[Event]:
    name = library.name
    sources = sources_digest(library)
    count = None if options.force else standing(library, state, name, sources)
    if count is not None:
        yield _planned(count, 0, 0)
        yield _finished(count, 0, 0, Counter())
        return
    from sleevewright.pipeline.plan import make_plan  # noqa: PLC0415

    worker = engine()
    state.drop_damaged()
    plan = make_plan(library, state, registry(), force=options.force)
    state.commit()
    yield _planned(len(plan.variants), len(plan.stale), len(plan.removed))
    yield from _notes(plan)
    yield from _faults(plan)
    if plan.stale:
        _check_places(library, plan)
    _clear_remains(library, plan, everywhere=not state.trusts_stamps(name))
    if plan.stale or library.gallery or (plan.removed and options.prune):
        keys = (item.variant.key for item in plan.stale)
        state.begin(name, keys, lasting=library.durability == "file")
    counts, failed = yield from _counted(library, worker, plan, state)
    gone = yield from _removed(library, plan, prune=options.prune)
    if library.gallery:  # also where none is stale: the last run may not have got to it
        from sleevewright.pipeline.gallery_of import put_gallery  # noqa: PLC0415

        state.commit()
        yield Event("gallery", "", {"page": str(put_gallery(library, plan, state, failed))})
    done = not (failed or plan.removed or plan.notes)
    _end(library, plan, state, gone, sources if done else "")
    yield _finished(len(plan.variants), len(plan.stale), len(plan.removed), counts)


def _counted(
    library: Library, engine: "Engine", plan: "Plan", state: State
) -> Generator[Event, None, tuple[Counter[str], dict[str, str]]]:
    """Make what is stale; return the counts of what happened, and what failed and why."""
    counts = Counter(failed=len(plan.faults))
    failed = dict(plan.faults)
    for event in _made(library, engine, plan, state) if plan.stale else ():
        counts[event.kind] += 1
        if event.kind == "failed":
            failed[event.key] = event.details["problem"]
        counts["fell short"] += bool(event.details.get("short"))
        counts["moved"] += bool(event.details.get("moved"))
        yield event
    return counts, failed


def _removed(library: Library, plan: "Plan", *, prune: bool) -> Generator[Event, None, list[str]]:
    """Tell of variants that are no more, or delete their files; return the keys of those that are gone."""
    gone = []
    for record in plan.removed:
        event = _pruned(library, record) if prune else Event("removed", record.key)
        if event.kind == "pruned":
            gone.append(record.key)
        yield event
    return gone


def _end(library: Library, plan: "Plan", state: State, gone: list[str], sources: str) -> None:
    """Make safe what the library's durability wants safe; let its records vouch for all outputs again.

    They do not where this run has not looked at all of them, and a power cut may have taken some.

    Args:
        library: whose run it was.
        plan: what it had to do.
        state: of its output folder.
        gone: variants whose files are deleted, to be forgotten once that is safe.
        sources: `sources_digest` where nothing is left to do or to tell; else "".
    """
    name, lasting = library.name, library.durability != "none"
    if lasting and (gone or not state.lasts(name)):
        from sleevewright.writing.whole_files import sync_folder  # noqa: PLC0415

        state.commit()
        sync_folder(library.folder)
    for key in gone:
        state.forget(key)
    note_standing(library, state, name, sources)
    unseen = plan.faults or len(gone) < len(plan.removed)
    if not unseen or state.trusts_stamps(name):
        state.end(name, lasting=lasting)
    else:
        state.commit()


def _check_places(library: Library, plan: "Plan") -> None:
    """Refuse the whole plan where an output cannot go to its place.

    Raises:
        WriteError: before anything is written.
    """
    from sleevewright.pipeline.places import check_places, output_name  # noqa: PLC0415
    from sleevewright.pipeline.plan import formats_of  # noqa: PLC0415

    stale = {item.variant.key for item in plan.stale}
    wanted: dict[bool, list[tuple[str, str]]] = {True: [], False: []}
    for key, variant in plan.variants.items():
        names = formats_of(library, variant)
        wanted[key in stale] += [(key, output_name(key, name)) for name in dict.fromkeys(names)]
    if library.gallery:
        from sleevewright.writing.gallery import DATA_FOLDER, INDEX  # noqa: PLC0415

        wanted[False] += [("the gallery", INDEX), ("the gallery", DATA_FOLDER)]
    inputs = [library.file, *library.recipes]
    inputs += [path for block in library.blocks for path in block.paths]
    check_places(wanted[True], library.folder, standing=wanted[False], inputs=inputs)


def _clear_remains(library: Library, plan: "Plan", *, everywhere: bool) -> None:
    """Delete what a run that was killed left half written, where this one will write or everywhere."""
    folder = library.folder
    places = {(folder / item.variant.key).parent for item in plan.stale}
    if library.gallery:
        from sleevewright.writing.gallery import DATA_FOLDER  # noqa: PLC0415

        places |= {folder, folder / DATA_FOLDER}
    if everywhere:
        keys = (*plan.variants, *(record.key for record in plan.removed))
        places |= {(folder / key).parent for key in keys}
    if not places:
        return
    from sleevewright.writing.whole_files import remains  # noqa: PLC0415

    for place in places:
        for path in remains(place, within=folder):
            with suppress(OSError):
                path.unlink()


def _planned(variants: int, stale: int, removed: int) -> Event:
    return Event("planned", "", {"variants": variants, "stale": stale, "removed": removed})


def _notes(plan: "Plan") -> Iterator[Event]:
    for text in plan.notes:
        yield Event("noted", "", {"message": text})


def _faults(plan: "Plan") -> Iterator[Event]:
    for name, problem in plan.faults:
        yield Event("failed", name, {"problem": problem})


def _finished(variants: int, stale: int, removed: int, counts: Counter[str]) -> Event:
    details = {
        "variants": variants,
        "made": counts["made"],
        "up_to_date": variants - stale,
        "failed": counts["failed"],
        "fell_short": counts["fell short"],
        "moved": counts["moved"],
        "removed": removed,
    }
    return Event("finished", "", details)


def _made(library: Library, engine: "Engine", plan: "Plan", state: State) -> Iterator[Event]:
    from sleevewright.pipeline.job import Made, Unstored  # noqa: PLC0415

    stale = {item.variant.key: item for item in plan.stale}
    name = library.name
    for outcome in engine.run(_jobs(library, plan, state)):
        if outcome is None:  # nothing has ended for a while
            state.commit()
            continue
        item = stale[outcome.key]
        if isinstance(outcome, Unstored):
            raise WriteError(outcome.problems)
        if not isinstance(outcome, Made):
            yield Event("failed", outcome.key, {"problem": outcome.problem})
            continue
        outputs = _stored(library, outcome)
        summary = {
            "status": outcome.status,
            "short": list(outcome.short),
            "profile": outcome.profile,
        }
        parts = {**item.parts, "recipe": outcome.settings}
        state.keep(Record(outcome.key, name, parts, outputs, summary))
        yield Event("made", outcome.key, _said(item, outcome))


def _said(item: "Stale", made: "Made") -> dict[str, Any]:
    return {
        "reasons": list(item.reasons),
        "status": made.status,
        "short": list(made.short),
        "moved": list(made.moved),
        "seconds": round(made.seconds, 3),
    }


def _jobs(library: Library, plan: "Plan", state: State) -> Iterator["Job"]:
    """Make jobs as they are wanted; a block that is not wanted any more is let go."""
    from sleevewright.pipeline.job import Job, pickled  # noqa: PLC0415

    block: tuple[str, str] = ("", "")
    data = b""
    for item in sorted(plan.stale, key=lambda i: (i.variant.key.split("/")[0], i.variant.size)):
        variant = item.variant
        wanted = (variant.block.source.name, variant.size)
        if wanted != block:
            block, data = wanted, pickled(variant.block.patterns[variant.size])
        yield Job(
            key=variant.key,
            pattern=data,
            recipe=variant.recipe.text,
            recipe_file=str(variant.recipe.path),
            settings=variant.settings,
            formats=library.formats,
            printing=library.printing,
            folder=library.folder.resolve() if library.stored_by == "workers" else None,
            before=state.summary(variant.key).get("profile", {}),
            plugins=variant.recipe.plugins,
            proofread=library.proofread,
            durability=library.durability,
        )


def _stored(library: Library, made: "Made") -> tuple[Output, ...]:
    """Put the files in place, where the worker has not, and say what they are."""
    if library.stored_by == "workers":
        return made.stored
    from sleevewright.pipeline.job import store  # noqa: PLC0415

    return store(made.files, library.folder, library.durability)


def _pruned(library: Library, record: Record) -> Event:
    """Delete the outputs of a variant that is no more, unless somebody has edited them."""
    edited = []
    for output in record.outputs:
        path = library.folder / output.name
        try:
            if digest_of_bytes(path.read_bytes()) != output.digest:
                edited.append(output.name)
                continue
            path.unlink()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise WriteError(f"{path}: cannot be deleted: {error.strerror}") from None
    if edited:
        return Event("kept", record.key, {"edited": ", ".join(edited)})
    for folder in (library.folder / record.key).parents:
        if folder == library.folder or not _removed_if_empty(folder):
            break
    return Event("pruned", record.key)


def _removed_if_empty(folder: Path) -> bool:
    try:
        folder.rmdir()
    except OSError:
        return False
    return True
