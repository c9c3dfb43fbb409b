"""One job from start to end: a block of one size, by a recipe, to a checked result."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from sleevewright.checking import check, movement, promise_findings, seam_rows
from sleevewright.errors import OperationError, Place, Problem, SleevewrightError, Stopped
from sleevewright.findings import Finding, Status
from sleevewright.finishing import finish
from sleevewright.operations.marks import on_the_cloth
from sleevewright.operations.registry import Registry
from sleevewright.pattern import Pattern, measurements
from sleevewright.pattern.result import Result
from sleevewright.pipeline.guard import blame, refuse_broken_promises, refuse_unsound
from sleevewright.pipeline.two_sides import put_together
from sleevewright.quantities import Kind, Quantity
from sleevewright.recipe import BoundRecipe, BoundStep, Recipe, bind


def convert(block: Pattern, recipe: Recipe, settings: Mapping[str, str] | None = None) -> Result:
    """Convert a block.

    Args:
        block: as it was read.
        recipe: what to do.
        settings: params set from outside, name -> text ("40 mm").

    Raises:
        RecipeError: the recipe does not fit this block and size.
        OperationError: an operation cannot be done; says which step of the recipe.
    """
    bound = bind(recipe, facts_of(block), block.size, settings or {})
    sides = [""] if not any(step.side for step in bound.steps) else ["right", "left"]
    made = {side: _stepped(bound.steps, side, block, recipe.registry) for side in sides}
    findings = [finding for _, found in made.values() for finding in found]
    pattern = made[""][0] if "" in made else _together(made, bound, recipe.file)

    finished = _finished(pattern, bound.finish, recipe.file)
    findings += check(finished, before=block)

    figures: dict[str, float] = dict(finished.facts)
    for side, (half, _) in made.items():
        own = {**measurements(half), **movement(half, block)}
        figures |= {f"{side}.{name}" if side else name: value for name, value in own.items()}
    return Result(
        block=block.name,
        recipe=bound.name,
        size=block.size,
        settings=bound.settings,
        pattern=finished,
        findings=tuple(findings),
        seam_rows=seam_rows(finished),
        measurements=tuple(sorted(figures.items())),
        before=block,
        printing=bound.outputs.printing,
    )


def _stepped(
    steps: Sequence[BoundStep], side: str, block: Pattern, registry: Registry
) -> tuple[Pattern, list[Finding]]:
    """Do the steps of one side of the body; return its pattern and what was promised."""
    pattern, lost = on_the_cloth(block)
    findings = [_left_out("the block", *what) for what in lost]
    for step in steps:
        if step.side and step.side != side:
            continue
        after = _applied(step, pattern, registry)
        promised = promise_findings(step.name, step.operation.promises(pattern, after))
        refuse_broken_promises(promised, step, registry)
        findings += promised
        pattern, lost = on_the_cloth(after)
        findings += [_left_out(step.name, *what) for what in lost]
    return pattern, findings


def _left_out(step: str, piece: str, what: str) -> Finding:
    return Finding("marks", Status.NOTED, piece, f"{step}: {what} off the {piece} left out")


def _together(
    made: Mapping[str, tuple[Pattern, list[Finding]]], bound: BoundRecipe, file: str
) -> Pattern:
    if bound.finish.whole is False:
        raise OperationError(
            Problem("pieces: half is not possible where left and right differ", Place(file))
        )
    try:
        return put_together(made["right"][0], made["left"][0])
    except OperationError as error:
        raise OperationError(replace(p, place=Place(file)) for p in error.problems) from None


def facts_of(block: Pattern) -> dict[str, Quantity | bool]:
    """Return what expressions may name: measurements of a block, and whether it has darts."""
    names: dict[str, Quantity | bool] = {
        name: Quantity(value, Kind.LENGTH) for name, value in measurements(block).items()
    }
    for piece in block.pieces:
        names[f"has_{piece.name}_dart"] = any(True for _ in piece.darts())
    names["has_bust_dart"] = names.get("has_front_dart", False)
    names["has_shoulder_dart"] = names.get("has_back_dart", False)
    return names


def _applied(step: BoundStep, pattern: Pattern, registry: Registry) -> Pattern:
    """Apply one step; what goes wrong is put to its place in the recipe."""
    try:
        after = step.operation.apply(pattern)
    except OperationError as error:
        raise OperationError(_placed(problem, step) for problem in error.problems) from None
    except (SleevewrightError, MemoryError, Stopped):
        raise
    except (Exception, SystemExit) as error:
        if registry.entry(step.name, step.place).is_ours:
            raise
        whose, remedy = blame(step, registry)
        text = f"{whose}: it failed: {type(error).__name__}: {error}"
        raise OperationError(Problem(text, step.place, "", remedy)) from error
    if not isinstance(after, Pattern):
        whose, remedy = blame(step, registry)
        raise OperationError(Problem(f"{whose}: it returned no pattern", step.place, "", remedy))
    refuse_unsound(pattern, after, step, registry)
    return after


def _placed(problem: Problem, step: BoundStep) -> Problem:
    return replace(problem, found=f"{step.name}: {problem.found}", place=step.place)


def _finished(pattern: Pattern, settings: object, file: str) -> Pattern:
    try:
        return finish(pattern, settings)  # type: ignore[arg-type]
    except OperationError as error:
        raise OperationError(
            replace(problem, place=Place(file, within=problem.place.within or "finish"))
            for problem in error.problems
        ) from None


def fell_short(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings that end a run with exit status 1."""
    return tuple(finding for finding in findings if finding.fell_short)
