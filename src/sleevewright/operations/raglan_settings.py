"""The settings of `raglan`: what its steps and its promises read."""

from typing import Annotated, Literal

from sleevewright.operations.contract import Length, about, settings


@settings
class HalfLine:
    """The raglan line on one half; what is left out takes the usual of the line asked."""

    neck_drop: Annotated[
        Length | None,
        about(
            "where the line leaves, from the shoulder-neck point along the neckline"
            " (yoke: down the centre; half: along the shoulder)",
            at_least=0,
            at_most=300,
        ),
    ] = None
    pitch: Annotated[
        Length | None,
        about(
            "where it meets the armhole, from the underarm point along the armhole"
            " (deep: down the side seam)",
            at_least=0,
            at_most=400,
        ),
    ] = None
    bow: Annotated[
        Length | None, about("how far it bows towards the shoulder", at_least=0, at_most=40)
    ] = None


@settings
class RaglanSettings:
    """How a raglan is drawn, laid on the sleeve and made up."""

    line: Annotated[
        Literal["classic", "saddle", "yoke", "half", "deep"],
        about("where the line begins and ends"),
    ] = "classic"
    front: Annotated[HalfLine, about("the line on the front")] = HalfLine()
    back: Annotated[HalfLine, about("the line on the back")] = HalfLine()
    sleeve: Annotated[
        Literal["two-piece", "one-piece", "gathered"],
        about("overarm seam, shoulder dart, or fullness gathered into the neckline"),
    ] = "two-piece"
    cap_ease: Annotated[
        Literal["remove", "keep"], about("whether the cap is lowered to lose its ease first")
    ] = "remove"
    residual_ease: Annotated[
        Length, about("ease left in each half of the upper cap", at_least=0, at_most=6)
    ] = 3.0
    placement: Annotated[
        Literal["pitch", "crown", "fit"],
        about(
            "how sections are laid on the sleeve: held at the pitch point, at the crown, or fitted"
        ),
    ] = "pitch"
    crown_gap: Annotated[
        Length,
        about("how far the tips stand above the crown (placement: crown)", at_least=0, at_most=20),
    ] = 10.0
    overarm_blend: Annotated[
        Length,
        about(
            "how far below the crown the overarm meets the centre line", at_least=60, at_most=250
        ),
    ] = 120.0
    dart_length: Annotated[
        Length, about("of the shoulder dart below the crown (one-piece)", at_least=60, at_most=130)
    ] = 90.0
    raglan_ease: Annotated[
        Length, about("how much longer the sleeve's raglan seam is", at_least=0, at_most=6)
    ] = 0.0
    back_shoulder: Annotated[
        Literal["raglan", "ease", "closed"],
        about("where the longer back shoulder (or its dart) goes"),
    ] = "raglan"
    bust_dart: Annotated[
        Length,
        about(
            "where a bust dart in the way is moved to: down the side seam from the underarm point",
            at_least=20,
            at_most=300,
        ),
    ] = 75.0
