"""Half pieces unfolded to whole ones, about the edge on the fold."""

from dataclasses import replace

from sleevewright.geometry import Affine, Curve
from sleevewright.pattern import Edge, InternalLine, Piece

LEFT = ".left"


def unfolded(piece: Piece, left: Piece | None = None) -> Piece:
    """Return a half piece with a mirror image as its other half; itself where nothing is on the fold.

    Args:
        piece: the wearer's right half.
        left: the half whose image becomes the left one, drawn as a right one; the same when left out.

    The edges of the image have ".left" behind their names; an edge that meets the fold is one
    with its image (hem, neckline).
    """
    if not piece.fold:
        return piece
    left = left or piece
    half, fold = _from_fold(piece)
    other, _ = _from_fold(left)
    mirror = Affine.reflection(fold.start, fold.end - fold.start)
    image = tuple(_image(edge, mirror) for edge in reversed(other))
    # half runs from the fold's end round to its start; the image back again.
    top = _joined(image[-1], half[0])
    low = _joined(half[-1], image[0])
    edges = (top, *half[1:-1], low, *image[1:-1])
    return replace(
        piece,
        edges=edges,
        fold="",
        internal=(
            *piece.internal,
            *(
                InternalLine(curve=line.curve.transformed(mirror), name=line.name)
                for line in left.internal
            ),
        ),
        drill_holes=(
            *piece.drill_holes,
            *((float(x), float(y)) for x, y in (mirror.apply(p) for p in left.drill_holes)),
        ),
        finish=None,
    )


def _from_fold(piece: Piece) -> tuple[tuple[Edge, ...], Curve]:
    """Return the edges of a half from the fold's end round to its start, and the fold."""
    at = [edge.name for edge in piece.edges].index(piece.fold)
    return piece.edges[at + 1 :] + piece.edges[:at], piece.edges[at].curve


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
