"""A recipe as a value: loaded whole, every literal checked, before any block is read."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from sleevewright.errors import Place, Problem, RecipeError, did_you_mean
from sleevewright.formats.path_parts import ALLOWED, safe
from sleevewright.formats.strict_yaml import Node, load_yaml, unknown_keys, yaml_bytes
from sleevewright.limits import MOST_PARAMS, MOST_STEPS
from sleevewright.operations.registry import Registry
from sleevewright.quantities import Quantity
from sleevewright.recipe.finish import OutputSettings, read_finish, read_outputs
from sleevewright.recipe.json_schema import recipe_schema
from sleevewright.recipe.values import UNKNOWN, Scope, expression_of, parameter, read_settings

__all__ = ["OutputSettings", "Recipe", "Step", "recipe_schema"]

#: Sides of the body that a step can be kept to.
SIDES = ("left", "right")

KEYS = ("name", "title", "params", "steps", "finish", "outputs")


@dataclass(frozen=True, slots=True)
class Step:
    """One step: an operation and its settings as written.

    Attributes:
        name: of the operation.
        operation: its class.
        settings: the mapping of settings; None where there is none.
        when: the condition; None where the step always runs.
        side: the side of the body it is done on, "left" or "right"; "" for both.
        place: where the operation is named.
    """

    name: str
    operation: type
    settings: Node | None
    when: Node | None
    side: str
    place: Place


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe, checked as far as it can be without a block.

    Attributes:
        file: where it was read from.
        name: names the output folder.
        title: for people.
        params: settings that --set may change, name -> value as written.
        steps: in order.
        finish, outputs: as written; None where left out.
        registry: where its operations come from.
    """

    file: str
    name: str
    title: str
    params: Mapping[str, Node]
    steps: tuple[Step, ...]
    finish: Node | None
    outputs: Node | None
    registry: Registry

    @classmethod
    def load(cls, path: Path | str, registry: Registry | None = None) -> "Recipe":
        """Read a recipe file.

        Args:
            path: of the file.
            registry: where operations come from; those of sleevewright itself if not given.
                `Registry.installed(plugins=["NAME==VERSION"])` also has those of a plug-in.

        Raises:
            RecipeError: every mistake at once, each with line and column.
        """
        path = Path(path)
        text = yaml_bytes(path, RecipeError)
        return cls.parse(text, str(path), registry or Registry.installed())

    @classmethod
    def parse(cls, text: bytes, file: str, registry: Registry) -> "Recipe":
        """Read a recipe from its text; see `load`."""
        root = load_yaml(text, file, RecipeError)
        if not root.is_map:
            raise RecipeError(
                Problem("a recipe is a mapping", root.place, f"keys: {', '.join(KEYS)}")
            )
        problems = unknown_keys(root, KEYS, "key of a recipe")
        params = _params(root, problems)
        steps = tuple(_steps(root, registry, problems))
        name = _name(root, file, problems)
        title = root.get("title")
        if title is not None and not title.is_text:
            problems.append(Problem("title must be words", title.place))
        recipe = cls(
            file, name, title.text if title else name, params, steps,
            root.get("finish"), root.get("outputs"), registry,
        )  # fmt: skip
        problems += recipe._trial()
        if not problems:
            problems += recipe._unread_params()
        if problems:
            raise RecipeError(sorted(set(problems), key=lambda p: (p.place.line, p.place.column)))
        return recipe

    @property
    def output_settings(self) -> OutputSettings:
        """What is written."""
        return read_outputs(self.outputs)

    def _trial(self) -> list[Problem]:
        """Check every literal and expression without a block."""
        problems: list[Problem] = []
        names: dict[str, Quantity | bool] = {}
        for name, node in self.params.items():
            try:
                value = parameter(node, Scope(names, None, trial=True))
                if value is not UNKNOWN:
                    names[name] = value
            except RecipeError as error:
                problems += error.problems
        scope = Scope(names, None, trial=True)
        for step in self.steps:
            try:
                read_settings(step.operation, step.settings, step.place, scope)
                if step.when is not None:
                    expression_of(step.when)
            except RecipeError as error:
                problems += error.problems
        for read in (lambda: read_finish(self.finish, scope, None), lambda: self.output_settings):
            try:
                read()
            except RecipeError as error:
                problems += error.problems
        return problems

    def _unread_params(self) -> Iterator[Problem]:
        """A param that nothing reads is a mistake: changing it would change nothing."""
        nodes = [n for n in (self.finish, self.outputs, *self.params.values()) if n is not None]
        nodes += [step.settings for step in self.steps if step.settings is not None]
        read = {name for node in nodes for name in _names_in(node)}
        for step in self.steps:
            if step.when is not None:
                read |= expression_of(step.when).names
        for name, node in self.params.items():
            if name not in read:
                near = get_close_matches(name, sorted(read - self.params.keys()), n=1)
                remedy = f"{near[0]!r}, which is read, may be meant" if near else "remove it"
                yield Problem(f"no step reads the param {name!r}", node.place, "", remedy)


def _names_in(node: Node) -> Iterator[str]:
    if node.is_map:
        for _key, value in node.items():  # noqa: PERF102 (a Node, no dict)
            yield from _names_in(value)
    elif node.is_list:
        for item in node.list():
            yield from _names_in(item)
    elif node.text.lstrip().startswith("="):
        yield from expression_of(node).names


def _params(root: Node, problems: list[Problem]) -> dict[str, Node]:
    node = root.get("params")
    if node is None or (node.is_text and not node.text):
        return {}
    if not node.is_map:
        problems.append(Problem("params must be a mapping of names to values", node.place))
        return {}
    names = node.key_nodes()
    if len(names) > MOST_PARAMS:
        problems.append(
            Problem(f"{len(names)} params", names[MOST_PARAMS].place, f"{MOST_PARAMS} are allowed")
        )
        return {}
    for key in names:
        if not (key.text.isidentifier() and key.text.isascii()):
            problems.append(
                Problem(f"{key.text!r} is no param name", key.place, "letters, digits and _")
            )
    return dict(node.items())


def _name(root: Node, file: str, problems: list[Problem]) -> str:
    node = root.get("name")
    name = node.text if node is not None else Path(file).stem
    if safe(name) != name:
        place = node.place if node is not None else Place(file)
        problems.append(Problem(f"{name!r} cannot name a folder", place, ALLOWED))
    return name


def _steps(root: Node, registry: Registry, problems: list[Problem]) -> Iterator[Step]:
    node = root.get("steps")
    if node is None or not node.is_list or not node.list():
        place = node.place if node is not None else root.place
        problems.append(Problem("a recipe needs steps", place, "a list of operations"))
        return
    if len(node.list()) > MOST_STEPS:
        place = node.list()[MOST_STEPS].place
        problems.append(Problem(f"{len(node.list())} steps", place, f"{MOST_STEPS} are allowed"))
        return
    for item in node.list():
        try:
            yield _step(item, registry)
        except RecipeError as error:
            problems += error.problems


def _step(item: Node, registry: Registry) -> Step:
    if item.is_text:
        return Step(
            item.text, registry.operation(item.text, item.place), None, None, "", item.place
        )
    pairs: list[tuple[str, Node, Place]] = []
    when: Any = None
    side = ""
    for key, (_, value) in zip(item.key_nodes(), item.items(), strict=True):
        if key.text == "when":
            when = value
        elif key.text == "side":
            side = _side(value)
        else:
            pairs.append((key.text, value, key.place))
    if not item.is_map or len(pairs) != 1:
        names = [name for name, _, _ in pairs]
        found = f"a step with {' and '.join(map(repr, names))}" if names else "a step without one"
        raise RecipeError(Problem(f"{found}: one operation a step", item.place))
    name, value, place = pairs[0]
    return Step(name, registry.operation(name, place), value, when, side, place)


def _side(node: Node) -> str:
    if node.text not in SIDES:
        raise RecipeError(
            Problem(f"side: {node.text!r} is no side{did_you_mean(node.text, SIDES)}", node.place,
                    f"{' or '.join(SIDES)}; leave it out for both")
        )  # fmt: skip
    return node.text


def unknown_param(name: str, recipe: Recipe) -> Problem:
    """Say that --set names no param of the recipe."""
    allowed = ", ".join(recipe.params) or "none"
    return Problem(
        f"--set {name}: {recipe.name} has no param {name!r}{did_you_mean(name, recipe.params)}",
        Place(recipe.file),
        f"params are {allowed}",
    )
