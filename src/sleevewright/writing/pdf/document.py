"""A PDF document: pages, forms, font, layers and what a reader is told; the same bytes every time."""

from collections.abc import Iterable, Sequence
from io import BytesIO

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from sleevewright.writing.numbers import Part, filled
from sleevewright.writing.pdf.layers import add_layers
from sleevewright.writing.pdf.strokes import FONT, IN_MILLIMETRES, MM
from sleevewright.writing.pdf.typeface import Letters, cleaned

Box = tuple[float, float, float, float]


class Document:
    """A document that is being made.

    Args:
        title: what readers show in the title bar.
        sizes: names of the layers of the sizes.
    """

    def __init__(self, title: str, sizes: Sequence[str]) -> None:
        self.letters = Letters()
        self._pdf = pikepdf.new()
        self._labels: list[str] = []
        self._forms = Dictionary()
        self._fonts = Dictionary()
        properties = add_layers(self._pdf, [cleaned(size) for size in sizes])
        self._resources = self._pdf.make_indirect(
            Dictionary(Font=self._fonts, XObject=self._forms, Properties=properties)
        )
        # a form draws no other form: a dictionary of its own, so that none can contain itself
        self._form_resources = self._pdf.make_indirect(
            Dictionary(Font=self._fonts, Properties=properties)
        )
        root = self._pdf.Root
        root.Lang = String("en")
        root.ViewerPreferences = Dictionary(
            PrintScaling=Name("/None"), Duplex=Name.Simplex, DisplayDocTitle=True
        )
        self._pdf.docinfo[Name.Title] = String(cleaned(title))

    def add_form(self, name: str, box: Box, parts: Iterable[Part]) -> None:
        """Add content that pages draw by its name; box: (left, bottom, right, top), mm."""
        form = self._pdf.make_stream(filled(parts).encode("ascii"))
        form.Type, form.Subtype = Name.XObject, Name.Form
        form.BBox = _numbers(box, 1.0)
        form.Resources = self._form_resources
        self._forms[f"/{name}"] = form

    def add_page(
        self, label: str, size: tuple[float, float], trim: Box, parts: Iterable[Part]
    ) -> None:
        """Add a page; its size and the box that is left when it is trimmed, mm."""
        content = filled((IN_MILLIMETRES, *parts)).encode("ascii")
        sheet = _numbers((0.0, 0.0, *size), MM)
        page = Dictionary(
            Type=Name.Page, MediaBox=sheet, CropBox=sheet, TrimBox=_numbers(trim, MM),
            Resources=self._resources, Contents=self._pdf.make_stream(content),
        )  # fmt: skip
        self._pdf.pages.append(pikepdf.Page(self._pdf.make_indirect(page)))
        self._labels.append(label)

    def to_bytes(self) -> bytes:
        """Return the file. Its /ID follows from what is in it; it bears no date."""
        self._fonts[f"/{FONT}"] = self.letters.embed(self._pdf)
        numbered = [(i, Dictionary(P=String(label))) for i, label in enumerate(self._labels)]
        self._pdf.Root.PageLabels = Dictionary(Nums=Array([x for pair in numbered for x in pair]))
        target = BytesIO()
        self._pdf.save(
            target,
            min_version="1.6",
            deterministic_id=True,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            compress_streams=True,
        )
        self._pdf.close()
        return target.getvalue()


def _numbers(box: Box, unit: float) -> Array:
    return Array([round(side * unit, 4) for side in box])
