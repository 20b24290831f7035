"""Lines along a ruler: a simulated panel's faults are found with the size that they were given."""

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import Samples
from kiosk.touch.line_check import Line, check_lines, of_line, response_ms, smoothing_ms
from kiosk.touch.simulated_panel import SimulatedPanel, reported

ENDS_MM = {"across": ((-90.0, 20.0), (90.0, 20.0)), "up": ((10.0, -55.0), (10.0, 55.0)),
           "corners": ((-90.0, -56.0), (90.0, 56.0))}


def drawn(line, ends=ENDS_MM):
    """The true finger: at even speed along an edge that holds it, 30 or 100 mm a second; or at rest."""
    if line is Line.STILL:
        t_s = np.arange(0, 4, 0.001)
        return Samples(t_s, 0 * t_s + 3.0, 0 * t_s - 4.0, np.ones(t_s.size, dtype=bool))
    kind, pace = line.value.split("_")
    (x0, y0), (x1, y1) = ends[kind]
    seconds = np.hypot(x1 - x0, y1 - y0) / (30.0 if pace == "slow" else 100.0)
    t_s = np.arange(0, seconds, 0.001)
    through = t_s / seconds
    return Samples(t_s, x0 + through * (x1 - x0), y0 + through * (y1 - y0), np.ones(t_s.size, dtype=bool))


def checked(panel, seed=1):
    rng = np.random.default_rng(seed)
    return check_lines([of_line(line, reported(drawn(line), panel, rng)) for line in Line])


def codes(panel):
    return {one.code: (one.verdict, one.values) for one in checked(panel).reasons}


@pytest.mark.parametrize("rate_hz", [60.0, 120.0, 240.0])
def test_a_good_panel_gives_no_reason(rate_hz):
    assert codes(SimulatedPanel(rate_hz=rate_hz, jitter_mm=0.15)) == {}


def test_a_panel_that_jitters_only_in_motion_is_named_with_both_figures():
    found = codes(SimulatedPanel(jitter_mm=0.05, moving_jitter_mm=0.7))
    assert set(found) == {"jitter_in_motion"} and found["jitter_in_motion"][0] == "warn"
    values = found["jitter_in_motion"][1]
    assert values["moving_mm"] == pytest.approx(np.hypot(0.7, 0.05), rel=0.08)
    assert values["still_mm"] == pytest.approx(0.05, rel=0.1)


def test_a_panel_that_always_jitters_is_not_said_to_do_so_in_motion_only():
    assert set(codes(SimulatedPanel(jitter_mm=0.7))) == {"touch_noisy"}
    assert codes(SimulatedPanel(jitter_mm=1.3))["touch_noisy"][0] == "refuse"


@pytest.mark.parametrize("tau_ms", [20.0, 30.0, 60.0])
def test_a_filter_is_found_with_its_time_constant_from_the_noise_that_passed_it(tau_ms):
    found = checked(SimulatedPanel(rate_hz=120.0, jitter_mm=0.3, smoothing_s=tau_ms / 1000))
    assert smoothing_ms(found.lines) == pytest.approx(tau_ms, rel=0.3)
    assert next(one for one in found.reasons if one.code == "panel_smooths").verdict == (
        "refuse" if tau_ms > 45 else "warn")


def test_without_a_filter_none_is_found():
    found = [smoothing_ms(checked(SimulatedPanel(jitter_mm=0.3), seed).lines) for seed in range(12)]
    assert found == [None] * 12


def test_a_row_that_feels_nothing_is_named_with_its_place():
    found = codes(SimulatedPanel(dead_rows_mm=(29.0, 33.0), jitter_mm=0.1, rate_hz=120.0))
    verdict, values = found["dead_zone"]
    assert verdict == "refuse" and values["y_mm"] == pytest.approx(29.0, abs=1.0)
    assert values["gap_mm"] == pytest.approx(4 * np.hypot(180, 112) / 112, abs=1.5)  # from corner to corner


def test_edges_that_pull_bend_the_line_from_corner_to_corner():
    panel = SimulatedPanel(edge_bias_mm=12.0, edge_mm=25.0, half_mm=(92.0, 200.0), jitter_mm=0.1)
    assert "edges_pulled" in codes(panel)


def test_a_bowed_line_is_told_by_its_height():
    true = drawn(Line.ACROSS_SLOW)
    bow = 3.0 * (1 - (true.x_mm / 54.0) ** 2)  # 3 mm over the middle 108 mm of 180
    bent = Samples(true.t_s, true.x_mm, true.y_mm + bow, true.contact)
    assert of_line(Line.ACROSS_SLOW, bent).bow_mm == pytest.approx(2.0, abs=0.1)  # least squares: 2/3 and 1/3


def test_what_was_not_drawn_as_asked_is_refused():
    short = drawn(Line.UP_SLOW, {"up": ((0.0, 0.0), (0.0, 30.0))})
    with pytest.raises(Refused) as caught:
        of_line(Line.UP_SLOW, short)
    assert caught.value.code == "line_too_short"
    with pytest.raises(Refused) as caught:
        of_line(Line.STILL, drawn(Line.UP_SLOW))
    assert caught.value.code == "finger_did_not_rest"


@pytest.mark.parametrize(("panel", "found_ms"), [
    (SimulatedPanel(jitter_mm=0.2), 0.0), (SimulatedPanel(), None),
    (SimulatedPanel(jitter_mm=0.3, smoothing_s=0.03), pytest.approx(30, rel=0.3))])
def test_the_response_is_known_only_where_noise_shows_it(panel, found_ms):
    assert response_ms(checked(panel).lines) == found_ms
