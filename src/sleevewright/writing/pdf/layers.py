"""Layers (optional content): one a size and one a kind of line, so that a reader shows or hides them.

Readers differ in what they do with a hidden layer, so nothing relies on one: all are shown.
"""

from collections.abc import Sequence

import pikepdf
from pikepdf import Dictionary, Name, String

from sleevewright.formats.line_styles import LineKind

#: The kinds that have a layer; marks lie on the layer of the line they belong to.
KINDS = tuple(kind for kind in LineKind if kind is not LineKind.MARK)


def of_size(index: int) -> str:
    """Return the name that content streams have for the layer of a size."""
    return f"S{index}"


def of_kind(kind: LineKind) -> str:
    """Return the name that content streams have for the layer of a kind of line."""
    return f"K{kind.value}"


def add_layers(pdf: pikepdf.Pdf, sizes: Sequence[str]) -> Dictionary:
    """Add the layers to a document; return the resource dictionary that names them."""

    def group(name: str) -> pikepdf.Object:
        return pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(name)))

    of_sizes = [group(f"size {size}") for size in sizes]
    of_kinds = [group(kind.value) for kind in KINDS]
    pdf.Root.OCProperties = Dictionary(
        OCGs=[*of_sizes, *of_kinds],
        D=Dictionary(
            Name=String("Sizes and lines"),
            BaseState=Name.ON,
            Order=[[String("Sizes"), *of_sizes], [String("Lines"), *of_kinds]],
        ),
    )
    named = {of_size(i): layer for i, layer in enumerate(of_sizes)}
    named |= {of_kind(kind): layer for kind, layer in zip(KINDS, of_kinds, strict=True)}
    return Dictionary({f"/{name}": layer for name, layer in named.items()})
