"""A library: which blocks, recipes, settings and sizes make which variants, and where they go.

Paths are relative to the folder of the library file, so that a library can be moved with its blocks.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from pathlib import Path

from sleevewright.errors import Problem, RecipeError, did_you_mean
from sleevewright.formats.path_parts import ALLOWED, safe
from sleevewright.formats.printing import KEYS as PRINT_KEYS
from sleevewright.formats.printing import read_printing
from sleevewright.formats.strict_yaml import Node, load_yaml, unknown_keys, yaml_bytes
from sleevewright.limits import LIMIT_NAMES, Limits
from sleevewright.pipeline.file_patterns import files_of, is_file
from sleevewright.pipeline.fingerprint import digest_of_bytes
from sleevewright.print_settings import PrintSettings

KEYS = (
    "blocks", "recipes", "matrix", "sizes", "include", "exclude", "outputs", "limits", "plugins",
)  # fmt: skip
BLOCK_KEYS = ("files", "labels")
OUTPUT_KEYS = (
    "folder", "formats", "stored_by", "durability", "proofread", "gallery", *PRINT_KEYS,
)  # fmt: skip
RULE_KEYS = ("block", "recipe", "size")
STORED_BY = ("here", "workers")
DURABILITY = ("run", "file", "none")


@dataclass(frozen=True, slots=True)
class BlockSource:
    """A block of a library.

    Attributes:
        name: names the output folder.
        files: all sizes in one file, or a file a size.
        labels: the label map; None without one.
    """

    name: str
    files: tuple[Path, ...]
    labels: Path | None

    @property
    def paths(self) -> tuple[Path, ...]:
        """Every file the block is read from."""
        return (*self.files, self.labels) if self.labels else self.files


@dataclass(frozen=True, slots=True)
class Rule:
    """A pattern of names (* and ?) for variants to take in or leave out.

    Attributes:
        block, recipe, size: "*" where the rule does not say.
    """

    block: str = "*"
    recipe: str = "*"
    size: str = "*"

    def __str__(self) -> str:
        said = {name: getattr(self, name) for name in RULE_KEYS if getattr(self, name) != "*"}
        return "{" + ", ".join(f"{name}: {value}" for name, value in said.items()) + "}"

    def takes(self, block: str, recipe: str, size: str) -> bool:
        """Whether a variant is meant."""
        pairs = ((block, self.block), (recipe, self.recipe), (size, self.size))
        return all(fnmatchcase(name, pattern) for name, pattern in pairs)


@dataclass(frozen=True, slots=True)
class Library:
    """A library as a value.

    Attributes:
        file: where it was read from.
        blocks: in the order written.
        recipes: recipe files, sorted.
        matrix: (param, values as written); each combination is a variant.
        sizes: only these; None for all.
        include: a variant must match one of these, where there is any.
        exclude: a variant that matches one of these is left out.
        folder: of the outputs.
        formats: None for what each recipe says.
        printing: None for what each recipe says.
        stored_by: "here" (the side that runs the batch) or "workers" (they share the disk).
        gallery: whether a page to look through is written into the folder.
        limits: of one job and of what it reads.
        durability: what a power cut may lose: nothing of a run that has ended ("run"), nothing of a
            file that is there ("file"), or whatever it takes ("none").
        proofread: whether every output is read again and compared before it is put in place.
        plugins: NAME==VERSION of packages whose operations recipes may use.
        content: digest of its text.
    """

    file: Path
    blocks: tuple[BlockSource, ...]
    recipes: tuple[Path, ...]
    matrix: tuple[tuple[str, tuple[str, ...]], ...]
    sizes: tuple[str, ...] | None
    include: tuple[Rule, ...]
    exclude: tuple[Rule, ...]
    folder: Path
    formats: tuple[str, ...] | None
    printing: PrintSettings | None
    stored_by: str
    gallery: bool
    limits: Limits
    durability: str
    proofread: bool
    plugins: tuple[str, ...]
    content: str = ""

    @classmethod
    def load(cls, path: Path | str) -> "Library":
        """Read a library file.

        Raises:
            RecipeError: every mistake at once, each with line and column.
        """
        path = Path(path)
        text = yaml_bytes(path, RecipeError)
        library = _Reader(path).library(load_yaml(text, str(path), RecipeError))
        return replace(library, content=digest_of_bytes(text))

    @property
    def name(self) -> str:
        """What records call it: its file as seen from the output folder."""
        from os.path import relpath  # noqa: PLC0415

        name = Path(relpath(self.file.resolve(), self.folder.resolve())).as_posix()
        # Records are UTF-8, names of files need not be.
        return name.encode(errors="backslashreplace").decode()

    def takes(self, block: str, recipe: str, size: str) -> bool:
        """Whether a variant is in the library by sizes, include and exclude."""
        if self.sizes is not None and size not in self.sizes:
            return False
        if self.include and not any(rule.takes(block, recipe, size) for rule in self.include):
            return False
        return not any(rule.takes(block, recipe, size) for rule in self.exclude)


class _Reader:
    """Reads the nodes of one library file; problems are kept so that all come at once."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def library(self, root: Node) -> Library:
        if not root.is_map:
            raise RecipeError(
                Problem("a library is a mapping", root.place, f"keys: {', '.join(KEYS)}")
            )
        self.problems += unknown_keys(root, KEYS, "key of a library")
        outputs = self._map(root.get("outputs"), OUTPUT_KEYS, "key of outputs")
        folder = outputs.get("folder")
        library = Library(
            file=self.file,
            blocks=tuple(self._blocks(root)),
            recipes=self._files(root.get("recipes"), root, "recipes"),
            matrix=tuple(self._matrix(root.get("matrix"))),
            sizes=self._sizes(root.get("sizes")),
            include=tuple(self._rules(root.get("include"))),
            exclude=tuple(self._rules(root.get("exclude"))),
            folder=self._path(self._text(folder, "folder") if folder else "out"),
            formats=self._formats(outputs.get("formats")),
            printing=read_printing(outputs, self.problems),
            stored_by=self._word(outputs.get("stored_by"), STORED_BY, "stored_by"),
            gallery=self._word(outputs.get("gallery"), ("false", "true"), "gallery") == "true",
            limits=self._limits(root.get("limits")),
            durability=self._word(outputs.get("durability"), DURABILITY, "durability"),
            proofread=self._word(outputs.get("proofread"), ("true", "false"), "proofread")
            == "true",
            plugins=tuple(self._plugins(root.get("plugins"))),
        )
        if self.problems:
            raise RecipeError(sorted(self.problems, key=lambda p: (p.place.line, p.place.column)))
        return library

    def _refuse(self, found: str, node: Node, allowed: str = "") -> None:
        self.problems.append(Problem(found, node.place, allowed))

    def _text(self, node: Node, what: str) -> str:
        """Return a word; a list or an empty word is refused."""
        if not node.text.strip():
            self._refuse(f"{what}: a word is wanted", node)
        return node.text

    def _path(self, text: str) -> Path:
        return self.file.parent / text

    def _map(self, node: Node | None, keys: tuple[str, ...], what: str) -> dict[str, Node]:
        if node is None:
            return {}
        if not node.is_map:
            self._refuse(f"{node.text!r} is no mapping", node, f"keys: {', '.join(keys)}")
            return {}
        self.problems += unknown_keys(node, keys, what)
        return dict(node.items())

    def _blocks(self, root: Node) -> Iterator[BlockSource]:
        node = root.get("blocks")
        if node is None or not node.is_map or not node.key_nodes():
            self._refuse("a library needs blocks", node or root, "name: {files: [...]}")
            return
        names: dict[str, str] = {}
        for key, (name, value) in zip(node.key_nodes(), node.items(), strict=True):
            if safe(name) != name:
                self._refuse(f"{name!r} cannot name a folder", key, ALLOWED)
            if name.casefold() in names:
                self._refuse(f"blocks {names[name.casefold()]!r} and {name!r} differ in case", key)
            names[name.casefold()] = name
            parts = self._map(value, BLOCK_KEYS, "key of a block")
            files = self._files(parts.get("files"), value, f"files of block {name}")
            labels = parts.get("labels")
            if labels is not None and not is_file(self._path(labels.text)):
                self._refuse(f"there is no label map {labels.text!r}", labels)
            yield BlockSource(name, files, self._path(labels.text) if labels else None)

    def _files(self, node: Node | None, around: Node, what: str) -> tuple[Path, ...]:
        if node is None or not node.list():
            self._refuse(
                f"{what}: there is none", around, "a list of files; * and ** stand for any"
            )
            return ()
        found: dict[Path, None] = {}
        for item in node.list():
            found.update(dict.fromkeys(self._matching(item, what)))
        return tuple(found)

    def _matching(self, item: Node, what: str) -> list[Path]:
        if not item.text:
            self._refuse(f"{what}: a file or a pattern of files is wanted", item)
            return []
        try:
            hits = files_of(self.file.parent, item.text)
        except ValueError as error:
            self._refuse(f"{what}: {item.text!r}: {error}", item)
            return []
        if not hits:
            self._refuse(f"{what}: nothing matches {item.text!r}", item)
        return hits

    def _matrix(self, node: Node | None) -> Iterator[tuple[str, tuple[str, ...]]]:
        if node is None:
            return
        if not node.is_map:
            self._refuse("matrix must be a mapping of params to lists of values", node)
            return
        for name, value in node.items():
            texts = tuple(item.text for item in value.list())
            if not texts or not all(texts) or value.is_map:
                self._refuse(f"matrix {name}: a list of values is wanted", value)
            elif len(set(texts)) != len(texts):
                self._refuse(f"matrix {name}: a value stands twice", value)
            yield name, texts

    def _sizes(self, node: Node | None) -> tuple[str, ...] | None:
        if node is None or node.text == "all":
            return None
        if not node.list():
            self._refuse("sizes: there is none", node, "a list of sizes, or all")
        return tuple(self._text(item, "sizes") for item in node.list())

    def _rules(self, node: Node | None) -> Iterator[Rule]:
        for item in node.list() if node is not None else ():
            parts = self._map(item, RULE_KEYS, "key of a rule")
            said = {name: self._text(v, name) for name, v in parts.items() if name in RULE_KEYS}
            yield Rule(**said)

    def _formats(self, node: Node | None) -> tuple[str, ...] | None:
        if node is None:
            return None
        from sleevewright.formats import NAMES  # noqa: PLC0415

        names = tuple(item.text for item in node.list())
        if not names:
            self._refuse("no format", node, ", ".join(NAMES))
        for item in node.list():
            if item.text not in NAMES:
                near = did_you_mean(item.text, NAMES)
                self._refuse(f"{item.text!r} is no format{near}", item, ", ".join(NAMES))
        return names

    def _word(self, node: Node | None, allowed: tuple[str, ...], what: str) -> str:
        if node is None:
            return allowed[0]
        if node.text not in allowed:
            self._refuse(f"{what}: {node.text!r}", node, f"one of {', '.join(allowed)}")
        return node.text

    def _limits(self, node: Node | None) -> Limits:
        parts = self._map(node, LIMIT_NAMES, "key of limits")
        values: dict[str, int] = {}
        for name, value in parts.items():
            if value.text.isdecimal() and value.text.isascii() and 0 < int(value.text[:10]) < 10**9:
                values[name] = int(value.text)
            else:
                self._refuse(
                    f"{name}: {value.text!r}", value, "a whole number, 1 or more, below 10^9"
                )
        return Limits(**{name: values[name] for name in LIMIT_NAMES if name in values})

    def _plugins(self, node: Node | None) -> Iterator[str]:
        for item in node.list() if node is not None else ():
            if not re.fullmatch(r"[\w.-]+==[\w.!+-]+", item.text, re.ASCII):
                self._refuse(f"plugins: {item.text!r}", item, "NAME==VERSION of a package")
            yield item.text
