"""Facts of file formats that reader and writer share."""

#: Formats that can be written: names in recipes, libraries and on the command line, and file endings.
NAMES = ("dxf", "svg", "json")
