"""A finished pattern to files: front doors `FORMATS` and `write_files`.

`FORMATS` is the one table of formats: name -> function that gives the bytes of a file.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from sleevewright.pattern.result import Result
from sleevewright.writing.dxf import write_dxf
from sleevewright.writing.json import write_json
from sleevewright.writing.overlay import overlay_svg
from sleevewright.writing.sheet import Sheet, lay_out
from sleevewright.writing.svg import write_svg
from sleevewright.writing.whole_files import write_files

#: Name of a format, which is the ending of its files -> the function that makes its bytes.
FORMATS: Mapping[str, Callable[[Result], bytes]] = MappingProxyType(
    {"dxf": write_dxf, "svg": write_svg, "json": write_json}
)

__all__ = ["FORMATS", "Sheet", "lay_out", "overlay_svg", "write_files"]
