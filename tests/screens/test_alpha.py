"""Shapes have their areas in square millimetres (plane geometry), on panels whose axes differ too."""

import numpy as np
import pytest

from kiosk.screens import alpha
from kiosk.touch.calibration import PANEL_A, PANEL_B, Calibration

UNEQUAL = Calibration(5.6, 6.1, 1280, 800)


def area_mm2(shape, half, calibration=PANEL_A):
    picture = alpha.picture(calibration, half, half, shape)
    return picture.sum() / (calibration.px_per_mm_x * calibration.px_per_mm_y)


@pytest.mark.parametrize("calibration", [PANEL_A, PANEL_B, UNEQUAL])
def test_disc_ring_and_arcs_have_the_areas_of_plane_geometry(calibration):
    assert area_mm2(alpha.disc(12.0), 12.0, calibration) == pytest.approx(np.pi * 144, rel=0.003)
    assert area_mm2(alpha.ring(14.0, 18.0), 18.0, calibration) == pytest.approx(402.1, rel=0.003)
    # six arcs of 40 of 360 degrees, 134 mm2, less the corners that round ends leave: 12 (1 - pi / 4) x 1 mm2
    arcs = 6 * 40 / 360 * np.pi * (17**2 - 15**2)
    assert arcs == pytest.approx(134, abs=0.1)
    assert area_mm2(alpha.arcs(15.0, 17.0, 40.0), 17.0, calibration) == pytest.approx(arcs - 5.15, rel=0.01)


def test_arcs_have_a_gap_at_the_top_and_meet_at_sixty_degrees():
    around = np.radians(np.arange(0.0, 360.0, 0.5))
    x, y = 16.0 * np.sin(around), 16.0 * np.cos(around)
    inside = alpha.arcs(15.0, 17.0, 40.0)(x, y) < 0
    assert not inside[np.isin(np.arange(0.0, 360.0, 0.5) % 60, (0.0, 5.0, 55.0))].any()
    assert inside[np.isin(np.arange(0.0, 360.0, 0.5) % 60, (12.0, 30.0, 48.0))].all()
    assert inside.mean() == pytest.approx(40 / 60, abs=0.02)
    assert (alpha.arcs(15.0, 17.0, 60.0)(x, y) < 0).all()


def test_a_rounded_rectangle_lacks_its_corners_only():
    expected = 20 * 10 - (4 - np.pi) * 3.0**2
    picture = alpha.picture(PANEL_A, 10.0, 5.0, alpha.rounded(10.0, 5.0, 3.0))
    assert picture.sum() / 5.88**2 == pytest.approx(expected, rel=0.005)


def test_a_mirrored_shape_is_its_mirror_image():
    shape = alpha.capsule((0.0, 0.0), (5.0, 3.0), 2.0)
    plain = alpha.picture(PANEL_A, 8.0, 8.0, shape)
    assert np.allclose(plain[:, ::-1], alpha.picture(PANEL_A, 8.0, 8.0, alpha.mirrored(shape)))
