"""Half pieces unfolded to whole ones, about the edge on the fold."""

from dataclasses import replace

from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import Edge, InternalLine, Piece

LEFT = ".left"


def unfolded(piece: Piece) -> Piece:
    """Return a half piece with its mirror image; itself where nothing is on the fold.

    The edges of the image have ".left" behind their names; an edge that meets the fold is one
    with its image (hem, neckline).
    """
    if not piece.fold:
        return piece
    at = [edge.name for edge in piece.edges].index(piece.fold)
    fold = piece.edges[at].curve
    half = piece.edges[at + 1 :] + piece.edges[:at]
    mirror = Affine.reflection(fold.start, fold.end - fold.start)
    image = tuple(_image(edge, mirror) for edge in reversed(half))
    first, last = half[0], half[-1]
    # half runs from the fold's end round to its start; the image back again.
    top = _joined(image[-1], first)
    low = _joined(last, image[0])
    edges = (top, *half[1:-1], low, *image[1:-1])
    return replace(
        piece,
        edges=edges,
        fold="",
        internal=(
            *piece.internal,
            *(
                InternalLine(curve=line.curve.transformed(mirror), name=line.name)
                for line in piece.internal
            ),
        ),
        drill_holes=(
            *piece.drill_holes,
            *((float(x), float(y)) for x, y in (mirror.apply(p) for p in piece.drill_holes)),
        ),
        finish=None,
    )


def _image(edge: Edge, mirror: Affine) -> Edge:
    turned = edge.transformed(mirror).reversed
    return replace(turned, name=edge.name + LEFT)


def _joined(first: Edge, second: Edge) -> Edge:
    """Join an edge and its image at the fold under the name of the half's edge."""
    keep = second if first.name.endswith(LEFT) else first
    run = first.length
    controls = Curve.joined(
        [
            first.curve,
            second.curve.transformed(Affine.translation(first.curve.end - second.curve.start)),
        ]
    )
    notches = (*first.notches, *(replace(n, at=n.at + run) for n in second.notches))
    return replace(keep, curve=controls, notches=notches)
