"""Affine maps: closed forms, and numpy's matrices as judge."""

import numpy as np
import pytest

from sleevewright.geometry import Affine

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

DRAWN = [Affine(*row) for row in np.random.default_rng(3).uniform(-50, 50, (20, 6))]


def matrix(m: Affine) -> np.ndarray:
    return np.array([[m.a, m.c, m.e], [m.b, m.d, m.f], [0, 0, 1]])


def near(m: Affine, *six: float) -> bool:
    return np.allclose(tuple(m), six, rtol=0, atol=1e-12)


def test_six_numbers_stand_in_the_order_of_svg() -> None:
    assert Affine(2, 3, 5, 7, 11, 13).apply((1, 10)).tolist() == [63, 86]


@pytest.mark.parametrize("shape", [(2,), (4, 2), (3, 4, 2), (0, 2)])
def test_points_of_any_shape_keep_it(shape: tuple[int, ...]) -> None:
    points = np.arange(np.prod(shape), dtype=np.int8).reshape(shape)
    moved = Affine(1, 0, 0, 1, 0.5, -0.25).apply(points)
    assert moved.shape == shape
    assert moved.dtype == np.float64
    assert np.array_equal(moved, points + np.array([0.5, -0.25]))


def test_lists_and_narrow_numbers_are_points_as_good_as_any() -> None:
    assert Affine(0.1, 0, 0, 0.1, 0, 0).apply([[1, 2], [3, 4]]) == pytest.approx(
        np.array([[0.1, 0.2], [0.3, 0.4]]), abs=1e-15
    )
    single = np.array([0.1, 0.7], dtype=np.float32)  # widened first, then computed with
    assert Affine(0.1, 0, 0, 0.1, 0, 0).apply(single) == pytest.approx(
        0.1 * single.astype(float), abs=1e-16
    )


def test_identity_moves_nothing() -> None:
    assert Affine.identity() == (1, 0, 0, 1, 0, 0)


def test_translation() -> None:
    assert Affine.translation((3, -4.5)) == (1, 0, 0, 1, 3, -4.5)
    assert Affine.translation(np.array([1, 2])).apply((0.5, 0.25)).tolist() == [1.5, 2.25]


def test_its_numbers_are_floats_whatever_was_given() -> None:
    whole, single = np.array([3, 250], dtype=np.uint8), np.array([0.1, 0.7], dtype=np.float32)
    for offset in ((3, 4), whole, single):
        assert all(isinstance(number, float) for number in Affine.translation(offset))
    assert Affine.translation(single)[4:] == tuple(single.astype(float))


def test_rotation_turns_counter_clockwise() -> None:
    half, root = 0.5, np.sqrt(3) / 2
    assert near(Affine.rotation(30), root, half, -half, root, 0, 0)
    assert Affine.rotation(90, (1, 2)).apply((3, 2)) == pytest.approx(np.array([1, 4]), abs=1e-12)
    assert Affine.rotation(-90, (1, 2)).apply((3, 2)) == pytest.approx(np.array([1, 0]), abs=1e-12)
    assert Affine.rotation(37, (5, -7)).apply((5, -7)) == pytest.approx(
        np.array([5, -7]), abs=1e-12
    )


def test_scaling_keeps_its_point() -> None:
    assert Affine.scaling(2, 3) == (2, 0, 0, 3, 0, 0)
    grown = Affine.scaling(2, 3, (10, 20))
    assert grown.apply((10, 20)).tolist() == [10, 20]
    assert grown.apply((11, 22)).tolist() == [12, 26]


def test_reflection_in_a_slanting_line() -> None:
    mirror = Affine.reflection((1, 2), (6, 8))  # direction of any size
    assert mirror.apply([(1, 2), (4, 6)]) == pytest.approx(np.array([(1, 2), (4, 6)]), abs=1e-12)
    across = np.array([-4, 3])  # square to the line
    assert mirror.apply(np.array([1, 2]) + across) == pytest.approx(
        np.array([1, 2]) - across, abs=1e-12
    )
    assert mirror.determinant == pytest.approx(-1, abs=1e-12)
    assert near(mirror @ mirror, 1, 0, 0, 1, 0, 0)
    assert near(Affine.reflection((3, 0), (0, 1)), -1, 0, 0, 1, 6, 0)
    assert near(Affine.reflection((0, 3), (1, 0)), 1, 0, 0, -1, 0, 6)


def test_reflection_takes_its_numbers_wide() -> None:
    """Whole numbers of a narrow type neither overflow nor lose digits."""
    small = np.array([100, 100], dtype=np.int8)
    assert near(Affine.reflection(small, small), 0, 1, 1, 0, 0, 0)
    third = np.array([0.1, 0.3], dtype=np.float32)
    assert near(Affine.reflection(third, third), *Affine.reflection(third.tolist(), third.tolist()))


def test_moving_takes_the_first_point_and_the_direction_along() -> None:
    move = Affine.moving(((1, 1), (1, 3)), ((10, 10), (15, 10)))
    assert move.apply((1, 1)) == pytest.approx(np.array([10, 10]), abs=1e-12)
    assert move.apply((1, 3)) == pytest.approx(np.array([12, 10]), abs=1e-12)  # rigid: 2 mm stay 2
    assert move.apply((2, 1)) == pytest.approx(np.array([10, 9]), abs=1e-12)
    assert move.determinant == pytest.approx(1, abs=1e-12)
    back = Affine.moving(((0, 0), (1, 1)), ((5, 0), (5, -3)))
    root = np.sqrt(0.5)
    assert back.apply((0, 2)) == pytest.approx(np.array([5 + 2 * root, -2 * root]), abs=1e-12)


def test_moving_takes_its_numbers_wide() -> None:
    far = np.array([200, 100], dtype=np.uint8)
    near_ = np.array([100, 200], dtype=np.uint8)
    move = Affine.moving((far, near_), (near_, far))
    assert move.apply(far) == pytest.approx(near_.astype(float), abs=1e-9)
    assert move.apply(near_) == pytest.approx(far.astype(float), abs=1e-9)


@pytest.mark.parametrize(("m", "n"), list(zip(DRAWN[::2], DRAWN[1::2], strict=True)))
def test_composition_is_the_product_of_matrices(m: Affine, n: Affine) -> None:
    """m @ n does n first."""
    assert matrix(m @ n) == pytest.approx(matrix(m) @ matrix(n), abs=1e-9)
    assert (m @ n).apply((3, 5)) == pytest.approx(m.apply(n.apply((3, 5))), abs=1e-9)


@pytest.mark.parametrize("m", DRAWN[::2])
def test_determinant_and_inverse_are_numpys(m: Affine) -> None:
    assert m.determinant == pytest.approx(np.linalg.det(matrix(m)[:2, :2]), abs=1e-9)
    assert matrix(m.inverse) == pytest.approx(np.linalg.inv(matrix(m)), rel=1e-9, abs=1e-9)


def test_a_map_that_flattens_the_plane_has_no_inverse() -> None:
    with pytest.raises(ZeroDivisionError):
        _ = Affine(1, 2, 2, 4, 5, 6).inverse
