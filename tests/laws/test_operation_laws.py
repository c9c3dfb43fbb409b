"""Laws of all operations, with settings drawn from what they say they allow."""

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samples_of_ours import all_blocks
from sleevewright.checking import check, promise_findings
from sleevewright.errors import OperationError
from sleevewright.geometry import Affine
from sleevewright.operations.armhole import LowerArmhole
from sleevewright.operations.flare import Flare
from sleevewright.operations.raglan import Raglan
from sleevewright.operations.raglan_settings import HalfLine
from sleevewright.operations.sleeve_length import LengthenSleeve
from sleevewright.operations.taper import TaperCuff
from sleevewright.pattern import Pattern, Role, Side

BLOCKS = all_blocks()
blocks = st.sampled_from(BLOCKS)
mm = lambda lo, hi: st.floats(lo, hi).map(lambda v: round(v, 2))  # noqa: E731

raglans = st.builds(
    Raglan,
    line=st.sampled_from(["classic", "saddle", "yoke", "half", "deep"]),
    front=st.builds(HalfLine, neck_drop=st.none(), pitch=st.none(), bow=st.none() | mm(4, 14)),
    sleeve=st.sampled_from(["two-piece", "one-piece", "gathered"]),
    cap_ease=st.sampled_from(["remove", "keep"]),
    residual_ease=mm(0, 6),
    placement=st.sampled_from(["pitch", "crown", "fit"]),
    overarm_blend=mm(90, 200),
    dart_length=mm(70, 130),
    raglan_ease=mm(0, 4),
    back_shoulder=st.sampled_from(["raglan", "closed", "ease"]),
    bust_dart=mm(40, 150),
)
others = st.one_of(
    st.builds(
        LowerArmhole, by=mm(0, 40), out=mm(0, 15), lift=st.sampled_from(["none", "keep", "extra"])
    ),
    st.builds(LengthenSleeve, by=mm(-60, 100), at=st.sampled_from(["elbow", "wrist"])),
    st.builds(TaperCuff, by=mm(-40, 40), level=st.sampled_from(["biceps", "elbow"])),
    st.builds(Flare, by=mm(0, 300)),
)


def applied(operation: object, pattern: Pattern) -> Pattern | None:
    """Apply, or None where the operation refuses in words."""
    try:
        return operation.apply(pattern)  # type: ignore[attr-defined]
    except OperationError as error:
        assert len(str(error)) > 20
        return None


def assert_sound(pattern: Pattern) -> None:
    bad = [f for f in check(pattern) if f.fell_short and f.check in ("seam-length", "outline")]
    assert not bad, [f.message for f in bad]


@given(raglans, blocks)
def test_raglan_keeps_its_promises(raglan: Raglan, block: Pattern) -> None:
    before = pickle.dumps(block)
    after = applied(raglan, block)
    assert pickle.dumps(block) == before
    if after is None:
        return
    bad = [f for f in promise_findings("raglan", raglan.promises(block, after)) if f.fell_short]
    assert not bad, [f.message for f in bad]
    assert_sound(after)
    assert pickle.loads(pickle.dumps(after)) == after


@given(others, blocks, st.booleans())
def test_other_operations_keep_their_promises(
    operation: object, block: Pattern, on_raglan: bool
) -> None:
    pattern = Raglan().apply(block) if on_raglan else block
    after = applied(operation, pattern)
    if after is None:
        return
    bad = [f for f in promise_findings("x", operation.promises(pattern, after)) if f.fell_short]
    assert not bad, [f.message for f in bad]
    assert_sound(after)


def test_usual_raglan_is_never_refused() -> None:
    for block in BLOCKS:
        for sleeve in ("two-piece", "one-piece", "gathered"):
            Raglan(sleeve=sleeve).apply(block)


@given(blocks, mm(25, 50), mm(20, 40))
def test_a_classic_raglan_is_never_refused(block: Pattern, front: float, back: float) -> None:
    """Neck drops of common practice (25 to 50 front, 20 to 40 back): whatever lies between them does."""
    back = min(back, 0.59 * block["back"].length(Role.NECKLINE))  # a child's neck has less room
    raglan = Raglan(
        front=HalfLine(neck_drop=front), back=HalfLine(neck_drop=back), back_shoulder="closed"
    )
    after = raglan.apply(block)
    bad = [f for f in promise_findings("raglan", raglan.promises(block, after)) if f.fell_short]
    assert not bad, [f.message for f in bad]


def test_a_seam_that_is_just_long_enough() -> None:
    """The shortest line lies between two of the moves that are tried, and is short by 0.003 mm."""
    block = next(b for b in BLOCKS if (b.name, b.size) == ("women_overblock", "38"))
    Raglan(front=HalfLine(neck_drop=37.5)).apply(block)


@pytest.mark.parametrize("line", ["classic", "half", "deep"])
def test_commutes_with_moving_the_block(line: str) -> None:
    block = BLOCKS[2]
    move = Affine.translation((1234.5, -987.6)) @ Affine.rotation(37.0)
    moved = block.with_pieces([piece.transformed(move) for piece in block.pieces])
    one, other = Raglan(line=line).apply(block), Raglan(line=line).apply(moved)
    for piece in one.pieces:
        for edge in piece.edges:
            assert other[piece.name][edge.name].length == pytest.approx(edge.length, abs=0.02)
        assert other[piece.name].area == pytest.approx(piece.area, rel=1e-5)


def test_below_the_pitch_point_the_sleeve_is_the_set_in_sleeve() -> None:
    """Invariants 3 and 4: lower cap, underarm seams and wrist corners keep their coordinates."""
    for block in BLOCKS:
        after = Raglan().apply(block)
        for side in Side:
            old = block["sleeve"].with_role(Role.CAP, side)[0].curve
            piece = after[f"sleeve_{side}"]
            new = piece.with_role(Role.CAP, side)[0].curve
            for station in (0.0, 0.3, 0.7, 1.0):
                assert old.nearest(new.point_at(station * new.length))[1] < 1e-6
            seam = piece.with_role(Role.UNDERARM_SEAM, side)[0].curve
            was = block["sleeve"].with_role(Role.UNDERARM_SEAM, side)[0].curve
            assert seam.length == pytest.approx(was.length, abs=1e-9)


def test_lengthening_twice_is_lengthening_by_the_sum() -> None:
    pattern = Raglan().apply(BLOCKS[0])
    twice = LengthenSleeve(by=12.0).apply(LengthenSleeve(by=18.0).apply(pattern))
    once = LengthenSleeve(by=30.0).apply(pattern)
    for piece in once.pieces:
        for edge in piece.edges:
            assert twice[piece.name][edge.name].length == pytest.approx(edge.length, abs=1e-6)


def test_straight_underarm_seam_grows_as_trigonometry_says() -> None:
    block = BLOCKS[0]
    for by in (25.0, -40.0):
        after = LengthenSleeve(by=by).apply(block)
        for side in Side:
            old = block["sleeve"].with_role(Role.UNDERARM_SEAM, side)[0].curve
            new = after["sleeve"].with_role(Role.UNDERARM_SEAM, side)[0].length
            dx, dy = abs(old.end - old.start)
            assert new == pytest.approx((dx**2 + (dy + by) ** 2) ** 0.5, abs=1e-9)
