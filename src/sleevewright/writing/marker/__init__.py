"""A marker: the pieces of a finished pattern laid on cloth; front doors `lay_marker`, `marker_svg`.

The cloth lies open, one layer, its length along x. Every piece is laid as often as it is cut.
"""

from sleevewright.writing.marker.drawing import marker_svg
from sleevewright.writing.marker.lay import GAP, Marker, Placed, lay_marker

__all__ = ["GAP", "Marker", "Placed", "lay_marker", "marker_svg"]
