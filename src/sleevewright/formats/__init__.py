"""Facts of file formats that reader and writer share."""

#: Formats that can be written, as recipes, libraries and the command line name them -> the ending of their files.
ENDINGS = {
    "dxf": "dxf", "svg": "svg", "json": "json", "pdf": "pdf", "plot": "plot.pdf",
    "report": "html", "xlsx": "xlsx", "csv": "csv",
}  # fmt: skip

NAMES = tuple(ENDINGS)

#: Formats that are written where nobody says which.
USUAL = ("dxf", "svg", "json")
