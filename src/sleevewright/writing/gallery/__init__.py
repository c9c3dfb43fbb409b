"""A library to look through in a browser: front door `write_gallery`.

The gallery is one page and a folder of data, to be put into the output folder beside the files it
links to. It works from a folder, without a server and without a network: data come as scripts,
because a page that was opened from a folder may load these and nothing else.
"""

from sleevewright.writing.gallery.data import PER_CHUNK
from sleevewright.writing.gallery.entry import STATES, Entry, Outline, outlines_from
from sleevewright.writing.gallery.page import DATA_FOLDER, INDEX, write_gallery

__all__ = [
    "DATA_FOLDER",
    "INDEX",
    "PER_CHUNK",
    "STATES",
    "Entry",
    "Outline",
    "outlines_from",
    "write_gallery",
]
