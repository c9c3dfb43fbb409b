"""Laws of the sleeve family: drawn settings, every block; promises kept, soundness, or a clear refusal."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from samples_of_ours import all_blocks
from sleevewright.checking import check, promise_findings
from sleevewright.errors import OperationError
from sleevewright.operations.cap_height import LowerCap, RaiseCap
from sleevewright.operations.centre_pleat import CentrePleat
from sleevewright.operations.cuff_band import Cuff
from sleevewright.operations.dart_pivot import DartPivot
from sleevewright.operations.dart_to_gather import DartToGather
from sleevewright.operations.dart_to_seam import DartToSeam
from sleevewright.operations.drop_shoulder import DropShoulder
from sleevewright.operations.elbow_dart import ElbowDart
from sleevewright.operations.extend_shoulder import ExtendShoulder
from sleevewright.operations.facing import Facing
from sleevewright.operations.gusset import Gusset
from sleevewright.operations.hem import Hem
from sleevewright.operations.kimono import Kimono
from sleevewright.operations.panels import Panels
from sleevewright.operations.petal import Petal
from sleevewright.operations.placket import Placket
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.raglan_angle import RaglanAngle
from sleevewright.operations.tiers import Tiers
from sleevewright.operations.true_dart import TrueDart
from sleevewright.pattern import Pattern

BLOCKS = all_blocks()
blocks = st.sampled_from(BLOCKS)
mm = lambda lo, hi: st.floats(lo, hi).map(lambda v: round(v, 2))  # noqa: E731
part = lambda lo, hi: st.floats(lo, hi).map(lambda v: round(v, 3))  # noqa: E731

ON_A_BLOCK = st.one_of(
    st.builds(RaiseCap, by=mm(1, 40), ease=st.none() | mm(0, 40)),
    st.builds(LowerCap, by=mm(1, 80), ease=st.none() | mm(0, 30)),
    st.builds(ExtendShoulder, by=mm(3, 40), drop=mm(0, 12)),
    st.builds(DropShoulder, by=mm(15, 90), drop=mm(0, 20), lower=st.none() | mm(0, 60)),
    st.builds(RaglanAngle, overarm_angle=part(25, 60), front_steeper=part(0, 5)),
    st.builds(
        CentrePleat,
        piece=st.sampled_from(["front", "back"]),
        kind=st.sampled_from(["box", "inverted"]),
        depth=mm(3, 60),
    ),
    st.builds(
        Kimono,
        overarm_angle=st.none() | part(5, 55),
        beyond=mm(0, 25),
        depth=st.none() | mm(0, 180),
        underarm_radius=st.none() | mm(25, 160),
        length=st.none() | mm(60, 500),
    ),
    st.builds(Kimono, sleeve=st.just("one-piece"), depth=st.none() | mm(0, 150)),
    st.builds(
        DartPivot,
        to=st.sampled_from(["shoulder", "side_seam", "hem", "neckline"]),
        at=part(0.1, 0.9),
        share=st.just(1.0) | part(0.2, 0.9),
        short=mm(10, 50),
    ),
    st.builds(DartToGather, piece=st.sampled_from(["front", "back"]), fullness=st.just("gather")),
    st.builds(DartToSeam, to=st.sampled_from(["hem", "side_seam", "shoulder"]), at=part(0.2, 0.8)),
    st.builds(TrueDart, piece=st.sampled_from(["front", "back"]), short=mm(0, 50)),
    st.builds(ElbowDart, width=mm(5, 30), length=st.none() | mm(30, 120)),
    st.builds(Panels, count=st.integers(2, 6)),
    st.builds(
        Tiers,
        count=st.integers(2, 5),
        ratio=part(1, 3),
        piece=st.sampled_from(["sleeve", "front", "back"]),
        begin=st.sampled_from(["top", "elbow"]),
    ),
    st.builds(Placket, length=mm(40, 150), at=part(0.1, 0.45)),
    st.builds(Petal, overlap=mm(20, 160)),
    st.builds(Cuff, depth=mm(20, 120), to=st.none() | mm(120, 300), blouse=st.none() | mm(0, 60)),
    st.builds(Facing, depth=mm(25, 100)),
    st.builds(
        Hem,
        edge=st.sampled_from(["hem", "wrist"]),
        kind=st.sampled_from(["turned", "rolled", "faced", "bound"]),
        depth=st.none() | mm(3, 80),
    ),
)
ON_A_KIMONO = st.builds(
    Gusset,
    kind=st.sampled_from(["diamond", "triangles", "strip"]),
    length=mm(60, 120),
    width=mm(40, 130),
)


def assert_kept(operation: object, before: Pattern) -> Pattern | None:
    """Apply; every promise is kept and the result is sound, or it is refused in words."""
    try:
        after = operation.apply(before)  # type: ignore[attr-defined]
    except OperationError as error:
        assert len(str(error)) > 20
        return None
    promised = promise_findings("x", operation.promises(before, after))
    assert promised
    bad = [f.message for f in promised if f.fell_short]
    assert not bad, bad
    sound = ("seam-length", "outline", "notches-meet", "smooth-edge")
    bad = [f.message for f in check(after) if f.fell_short and f.check in sound]
    assert not bad, bad
    return after


@given(ON_A_BLOCK, blocks)
def test_on_a_block(operation: object, block: Pattern) -> None:
    assert_kept(operation, block)


@given(ON_A_KIMONO, blocks, part(35, 55))
def test_gussets_on_a_kimono(gusset: Gusset, block: Pattern, angle: float) -> None:
    kimono = assert_kept(Kimono(overarm_angle=angle, depth=0.0, underarm_radius=30.0), block)
    assume(kimono is not None)
    assert_kept(gusset, kimono)


@pytest.mark.parametrize("sleeve", ["two-piece", "one-piece"])
@pytest.mark.parametrize("finish", [(Placket(), Cuff(to=120.0)), (Facing(),), (Hem(kind="faced"),)])
def test_finishes_on_a_raglan(sleeve: str, finish: tuple[object, ...]) -> None:
    for block in BLOCKS:
        pattern = Raglan(sleeve=sleeve).apply(block)
        for operation in finish:
            made = assert_kept(operation, pattern)
            assert made is not None
            pattern = made


def test_usual_settings_are_never_refused() -> None:
    for block in BLOCKS:
        for operation in (
            RaiseCap(by=10), LowerCap(by=20), RaglanAngle(), Kimono(), Kimono(sleeve="one-piece"),
            ElbowDart(), Panels(count=2), Tiers(count=2), Placket(), Cuff(), Facing(), Hem(),
            Petal(),
        ):  # fmt: skip
            assert assert_kept(operation, block) is not None
