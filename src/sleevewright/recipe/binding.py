"""A recipe bound to one block and size: operations as values, nothing left to look up."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sleevewright.errors import Place, Problem, RecipeError, did_you_mean
from sleevewright.formats.strict_yaml import Node
from sleevewright.pattern.finish_settings import FinishSettings
from sleevewright.quantities import Quantity
from sleevewright.recipe.finish import OutputSettings, read_finish, read_outputs
from sleevewright.recipe.schema import Recipe, Step
from sleevewright.recipe.values import Scope, evaluate, parameter, read_settings


@dataclass(frozen=True, slots=True)
class BoundStep:
    """One operation ready to apply.

    Attributes:
        name: as the recipe writes it.
        operation: the operation with its settings, mm and degrees.
        place: where the recipe names it.
        side: the side of the body it is done on; "" for both.
    """

    name: str
    operation: Any
    place: Place
    side: str = ""


@dataclass(frozen=True, slots=True)
class BoundRecipe:
    """A recipe for one block and size.

    Attributes:
        name, title: of the recipe.
        steps: those whose condition holds.
        finish, outputs: settings.
        settings: (name, value as written) of params that were set from outside.
    """

    name: str
    title: str
    steps: tuple[BoundStep, ...]
    finish: FinishSettings
    outputs: OutputSettings
    settings: tuple[tuple[str, str], ...]


def bind(
    recipe: Recipe,
    names: Mapping[str, Quantity | bool],
    size: str,
    settings: Mapping[str, str],
) -> BoundRecipe:
    """Bind a recipe.

    Args:
        recipe: the recipe.
        names: measurements and facts of the block, by name.
        size: for tables by size.
        settings: params set from outside, name -> text.

    Raises:
        RecipeError: a setting names no param, or a value cannot be had for this block and size.
    """
    problems: list[Problem] = []
    params = dict(recipe.params)
    for name, text in settings.items():
        if name not in params:
            problems.append(
                Problem(
                    f"--set {name}: there is no param {name!r}{did_you_mean(name, params)}",
                    Place(recipe.file),
                    f"params are {', '.join(params) or 'none'}",
                )
            )
        else:
            params[name] = Node(text, False, Place("--set", within=name))
    known: dict[str, Quantity | bool] = dict(names)
    for name, node in params.items():
        _collect(
            problems, lambda n=name, v=node: known.update({n: parameter(v, Scope(known, size))})
        )
    if problems:
        raise RecipeError(problems)
    scope = Scope(known, size)
    steps: list[BoundStep] = []
    for step in recipe.steps:
        _collect(problems, lambda s=step: steps.extend(_bound(s, scope)))
    outputs = read_outputs(recipe.outputs)
    whole = {"half": False, "whole": True, "as-read": None}[outputs.pieces]
    finish = FinishSettings()
    try:
        finish = read_finish(recipe.finish, scope, whole)
    except RecipeError as error:
        problems += error.problems
    if problems:
        raise RecipeError(problems)
    return BoundRecipe(
        recipe.name, recipe.title, tuple(steps), finish, outputs, tuple(sorted(settings.items()))
    )


def _bound(step: Step, scope: Scope) -> list[BoundStep]:
    if step.when is not None:
        holds = evaluate(step.when, scope)
        if not isinstance(holds, bool):
            raise RecipeError(
                Problem(
                    f"when: {step.when.text!r} is neither true nor false",
                    step.when.place,
                    "such as has_bust_dart or armhole > 450 mm",
                )
            )
        if not holds:
            return []
    operation = read_settings(step.operation, step.settings, step.place, scope)
    return [BoundStep(step.name, operation, step.place, step.side)]


def _collect(problems: list[Problem], act: Any) -> None:
    try:
        act()
    except RecipeError as error:
        problems += error.problems
