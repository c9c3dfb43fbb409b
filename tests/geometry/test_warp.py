"""Warped curves: maps with images in closed form."""

import numpy as np
import pytest
from scipy.interpolate import BPoly

from sleevewright.geometry import Affine, Curve
from sleevewright.geometry.warp import eased_start, warped

#: A division by nothing that numpy would tell of is a fault.
pytestmark = pytest.mark.filterwarnings("error")

WAVE = Curve(
    [[(0, 0), (30, 40), (70, 0), (100, 10)], [(100, 10), (130, 20), (160, -30), (150, -80)]]
)


def same(a: object, b: object, within: float = 1e-9) -> None:
    assert np.asarray(a, dtype=float) == pytest.approx(np.asarray(b, dtype=float), abs=within)


def bow(p: np.ndarray) -> np.ndarray:
    """Smooth, nearly the identity over a few millimetres."""
    x, y = p[:, 0], p[:, 1]
    return np.stack([x + 3 * np.sin(y / 80), y + 20 * np.sin(x / 90)], axis=1)


def bow_jacobian(p: np.ndarray) -> np.ndarray:
    return np.array([[1, 3 / 80 * np.cos(p[1] / 80)], [20 / 90 * np.cos(p[0] / 90), 1]])


def test_an_affine_map_is_exact() -> None:
    """Every quarter of every segment is the affine image of that quarter."""
    shear = Affine(1.1, 0.2, -0.1, 0.9, 5, 7)
    image = warped(WAVE, shear.apply)
    assert len(image.controls) == 4 * len(WAVE.controls)
    for i, segment in enumerate(WAVE.controls):
        whole = BPoly(shear.apply(segment)[:, None], [0, 1])
        for j in range(4):
            part = BPoly(np.array(image.controls[4 * i + j])[:, None], [0, 1])
            for u in (0.0, 0.3, 0.7, 1.0):
                same(part(u), whole((j + u) / 4), 1e-7)


def test_the_image_of_a_smooth_map_is_followed_to_micrometres() -> None:
    image = warped(WAVE, bow)
    for i, segment in enumerate(WAVE.controls):
        path = BPoly(np.array(segment)[:, None], [0, 1])
        for j in range(4):
            part = BPoly(np.array(image.controls[4 * i + j])[:, None], [0, 1])
            for u in np.linspace(0, 1, 11):
                same(part(u), bow(path([(j + u) / 4]))[0], 5e-3)


def test_joints_and_their_directions_are_exact() -> None:
    image = warped(WAVE, bow)
    for i, segment in enumerate(WAVE.controls):
        path = BPoly(np.array(segment)[:, None], [0, 1])
        for j in range(4):
            control = image.controls[4 * i + j]
            for at, end, handle in ((j / 4, control[0], control[1] - control[0]),
                                    ((j + 1) / 4, control[3], control[3] - control[2])):  # fmt: skip
                p = path(at)
                same(end, bow(p[None])[0])
                same(handle, bow_jacobian(p) @ path(at, nu=1) / 12, 1e-7)


def test_a_handle_on_its_end_stays_there() -> None:
    soft = Curve.cubic((0, 0), (0, 0), (60, 20), (100, 20))
    image = warped(soft, bow)
    assert np.isfinite(image.controls).all()
    same(image.controls[0, 1], image.controls[0, 0], 1e-9)


def test_a_short_handle_far_away_keeps_its_direction() -> None:
    """Fifty nanometres of it, 2 m from the origin: the step of the derivative is not as short."""
    start = np.array([1200.0, 1600.0])
    tight = Curve.cubic(start, *(start + p for p in [(3e-5, 4e-5), (60, 20), (100, 20)]))
    image = warped(tight, bow)
    wanted = bow_jacobian(start) @ (0.6, 0.8)
    same(image.start_direction, wanted / np.hypot(*wanted), 1e-5)


@pytest.mark.parametrize("onset", [0.2, 0.5, 1.0])
def test_a_ramp_starts_without_slope_and_ends_at_one(onset: float) -> None:
    t = np.linspace(0, 1, 1001)
    ramp = eased_start(t, onset)
    assert ramp[0] == 0
    assert ramp[-1] == pytest.approx(1, abs=1e-12)
    slope = np.gradient(ramp, t)
    assert slope[1] < 0.01 / onset
    # Straight after the onset, a parabola before it: the slope grows evenly to 1 / (1 - onset / 2).
    steep = 1 / (1 - onset / 2)
    same(slope[2:-2], np.minimum(t[2:-2] / onset, 1) * steep, 2e-3 / onset)


def test_a_ramp_keeps_the_shape_and_goes_on_beyond_one() -> None:
    t = np.array([[0.0, 0.25], [0.5, 2.0]])
    assert eased_start(t, 0.5).shape == (2, 2)
    same(eased_start(t, 0.5), [[0, 1 / 12], [1 / 3, 1.75 / 0.75]], 1e-12)


def test_level_and_upright_lines_are_followed_as_well_as_any() -> None:
    for line in (Curve.line((0, 20), (120, 20)), Curve.line((30, 0), (30, -90))):
        image = warped(line, bow)
        for i, control in enumerate(image.controls):
            run = (line.end - line.start) / 12
            for at, handle in (
                (i / 4, control[1] - control[0]),
                ((i + 1) / 4, control[3] - control[2]),
            ):
                same(handle, bow_jacobian(line.start + at * (line.end - line.start)) @ run, 1e-7)
