"""Blocks and recipes of a library: read when a job needs them, remembered by their content.

What is kept of a source (sizes and digests of a block; name, params and operations of a recipe)
is enough to see that nothing has to be done, without reading a drawing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sleevewright.errors import Place, Problem, ReadError, RecipeError
from sleevewright.formats.strict_yaml import yaml_bytes
from sleevewright.limits import Limits
from sleevewright.pipeline.fingerprint import (
    digest_of,
    digest_of_bytes,
    package_version,
    pinned,
    tool_version,
)
from sleevewright.pipeline.library import BlockSource
from sleevewright.pipeline.state import State

if TYPE_CHECKING:
    from sleevewright.operations.registry import Registry
    from sleevewright.pattern import Pattern
    from sleevewright.recipe import Recipe


@dataclass
class Block:
    """A block of a library at its present content.

    Attributes:
        source: where it is read from.
        state: where facts are kept.
        limits: of one drawing.
    """

    source: BlockSource
    state: State
    limits: Limits
    _patterns: dict[str, "Pattern"] = field(default_factory=dict)

    @cached_property
    def content(self) -> str:
        """The digest of its files and of the tool that reads them."""
        return self._content()

    def _content(self) -> str:
        parts = [tool_version()]
        for path in self.source.paths:
            try:
                parts.append(digest_of_bytes(path.read_bytes()))
            except OSError as error:
                raise ReadError(
                    Problem(f"cannot be read: {error.strerror}", Place(str(path)))
                ) from None
        return digest_of(tuple(parts))

    @cached_property
    def sizes(self) -> Mapping[str, str]:
        """Digest of the pattern of each size, in the order of the files.

        Raises:
            ReadError, LabelError: it cannot be read.
        """
        key = f"block {self.source.name}"
        kept: dict[str, str] | None = self.state.facts(key, self.content)
        if kept is None:
            kept = {size: digest_of(pattern) for size, pattern in self.patterns.items()}
            self.state.keep_facts(key, self.content, kept)
        return kept

    @property
    def patterns(self) -> Mapping[str, "Pattern"]:
        """Its patterns by size, under the library's name of it.

        Raises:
            ReadError, LabelError: it cannot be read, or is not of that content any more.
        """
        if not self._patterns:
            from dataclasses import replace  # noqa: PLC0415

            from sleevewright.reading import read_pattern  # noqa: PLC0415

            reading = read_pattern(self.source.files, self.source.labels, self.limits)
            if self._content() != self.content:
                raise ReadError(
                    Problem("has changed since the run began", Place(str(self.source.files[0])),
                            "", "run again")
                )  # fmt: skip
            self._patterns = {p.size: replace(p, name=self.source.name) for p in reading.patterns}
        return self._patterns


@dataclass
class RecipeSource:
    """A recipe of a library at its present content.

    Attributes:
        path: its file.
        state: where facts are kept.
        registry: of the operations.
    """

    path: Path
    state: State
    registry: "Registry"

    @cached_property
    def text(self) -> bytes:
        """Its bytes."""
        return yaml_bytes(self.path, RecipeError)

    @cached_property
    def content(self) -> str:
        """The digest of its text and of the tool that reads it."""
        return digest_of((tool_version(), digest_of_bytes(self.text)))

    @cached_property
    def facts(self) -> Mapping[str, Any]:
        """Name, params and operations.

        Raises:
            RecipeError: it is wrong.
        """
        key = f"recipe {self.path.name!a} {digest_of(str(self.path))[:8]}"  # it need not be UTF-8
        kept: dict[str, Any] | None = self.state.facts(key, self.content)
        if kept is None:
            recipe = self.recipe
            kept = {
                "name": recipe.name,
                "params": list(recipe.params),
                "operations": sorted({step.name for step in recipe.steps}),
                "formats": list(recipe.output_settings.formats),
            }
            self.state.keep_facts(key, self.content, kept)
        return kept

    @cached_property
    def packages(self) -> str:
        """The packages of its operations that are not ours, with their versions."""
        entries = [self.registry.entry(name) for name in self.facts["operations"]]
        return " ".join(
            f"{e.name}={e.distribution}:{package_version(e.distribution)}"
            for e in entries
            if not e.is_ours
        )

    @cached_property
    def plugins(self) -> tuple[tuple[str, str], ...]:
        """The plug-ins that it uses; see `fingerprint.pinned`."""
        return pinned(self.registry.plugins_of(self.facts["operations"]))

    @cached_property
    def recipe(self) -> "Recipe":
        """The recipe, loaded."""
        from sleevewright.recipe import Recipe  # noqa: PLC0415

        return Recipe.parse(self.text, str(self.path), self.registry)
