"""What the results draw of each trial's movement, from a recording whose movement is known."""

import numpy as np
import pytest

from kiosk.app.replay import curves_of
from kiosk.scoring.traces import traces_of
from tests.scoring.hands import disc_of, plan_of, record_of, times


def shaking(t_s):
    """5 Hz from side to side, 3 mm to either side."""
    return 3.0 * np.sin(2 * np.pi * 5.0 * t_s)


def test_a_shake_across_the_way_is_drawn_across_it_and_at_its_frequency():
    plan = plan_of("steady")
    t_s = times(plan, 240)
    disc = disc_of(plan, t_s)
    curves = curves_of(traces_of(record_of(plan, t_s, disc * (1.0 + shaking(t_s) / 40.0))))
    at = plan.run_in_s + np.arange(960) / 60.0
    assert curves.along_mm == pytest.approx(np.zeros(960), abs=0.1)
    assert np.abs(curves.across_mm) == pytest.approx(np.abs(shaking(at)), abs=0.15)
    assert curves.f_hz[np.argmax(curves.power / curves.fitted_power)] == pytest.approx(5.0, abs=0.26)
    assert curves.disc_mm_s == pytest.approx(np.full(960, 2 * np.pi * 40.0 / 8.0), rel=0.01)
    assert not curves.along_mm.flags.writeable


def test_a_recording_that_does_not_reach_over_the_window_has_no_curves():
    plan = plan_of("steady")
    t_s = times(plan, 240)
    short = t_s < 9.0
    assert curves_of(traces_of(record_of(plan, t_s[short], disc_of(plan, t_s[short])))) is None
