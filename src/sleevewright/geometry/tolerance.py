"""Every geometric tolerance of the project: its name, its unit, its reason."""

#: mm. Arc lengths are right to this; a thousandth of what a cutter can mark, a millionth of a metre.
ARC_LENGTH = 1e-6

#: mm. End points nearer than this are one point (chaining inside the tool, not of foreign files).
SAME_POINT = 1e-6

#: mm. Chord tolerance of polylines made of curves, at the doors (booleans, offsets, DXF).
FLATTEN = 0.02

#: mm. An offset lies this near its distance along its whole length.
OFFSET = 0.02

#: degrees. A turn sharper than this between two segments of a curve is a corner.
CORNER = 10.0
