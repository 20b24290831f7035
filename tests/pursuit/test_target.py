"""Where the disc is: path time, circles, wander paths. Millimetres, seconds."""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.target import Circle, Line, Wander, path_time, position

T_S = np.linspace(-1.0, 22.0, 4001)
CIRCLE = Circle(40.0, 8.0, 1, np.pi / 2)

# Battery `clinic` version 1 as the protocol lists it: multiples of 1/20 Hz, amplitudes in mm, phases in rad.
X_LINES = ((2, 20.44), (5, 13.54), (11, 9.49))
Y_LINES = ((3, 20.28), (8, 13.04), (13, 10.48))
PHASES = {
    "A1": ((5.328, 5.450, 2.857), (0.668, 4.647, 5.213)),
    "A2": ((4.097, 3.975, 0.284), (5.615, 1.636, 1.070)),
    "B1": ((0.955, 0.833, 3.426), (2.473, 4.778, 4.212)),
    "B2": ((2.186, 2.308, 5.999), (3.810, 1.505, 2.071)),
}


def _sum(lines, phases, s, order=0):
    """A sum of cosines or its derivative of this order, by hand."""
    rate = 2 * np.pi / 20
    return sum(a * (k * rate)**order * np.cos(k * rate * s + p + order * np.pi / 2)
               for (k, a), p in zip(lines, phases, strict=True))


def test_path_time_is_the_integral_of_the_smoothstep():
    t = np.linspace(0, 3, 300_001)
    q = np.clip(t / 2.0, 0, 1)
    speed = 3 * q**2 - 2 * q**3
    integral = np.concatenate([[0], np.cumsum((speed[1:] + speed[:-1]) / 2) * (t[1] - t[0])])
    assert np.allclose(path_time(t, 2.0, 19.0), integral, atol=1e-9)


def test_the_run_in_covers_half_of_its_time_and_then_the_path_runs_evenly():
    assert path_time([2.0, 3.0, 18.0], 2.0, 19.0).tolist() == [1.0, 2.0, 17.0]


def test_the_disc_rests_before_it_sets_off_and_after_it_stops():
    x, y = position(CIRCLE, [-5.0, 0.0, 19.0, 30.0], 2.0, 19.0)
    assert (x[0], y[0]) == (x[1], y[1]) == (pytest.approx(0, abs=1e-12), 40.0)
    assert (x[2], y[2]) == (x[3], y[3])


def test_counter_clockwise_goes_from_twelve_to_nine_o_clock():
    quarter_s = 2.0 + 1.0  # 1 s of path in the run-in, then one more: a quarter of 8 s
    x, y = position(CIRCLE, quarter_s, 2.0, 19.0)
    assert (x, y) == (pytest.approx(-40.0), pytest.approx(0.0, abs=1e-9))


def test_turning_a_circle_turns_every_position():
    turned = Circle(40.0, 8.0, 1, np.pi / 2 + 0.7)
    x, y = position(CIRCLE, T_S, 2.0, 19.0)
    u, v = position(turned, T_S, 2.0, 19.0)
    assert np.allclose(u + 1j * v, (x + 1j * y) * np.exp(0.7j))


def test_the_speed_in_the_window_is_the_circumference_over_the_period():
    t = np.array([5.0, 5.001])
    x, y = position(CIRCLE, t, 2.0, 19.0)
    assert np.hypot(np.diff(x), np.diff(y)) / 0.001 == pytest.approx(2 * np.pi * 40 / 8, rel=1e-6)


@pytest.mark.parametrize("name", PHASES)
def test_a_wander_path_is_the_listed_sum_of_cosines(name):
    x, y = load_battery().wander[name].at(T_S)
    assert np.allclose(x, _sum(X_LINES, PHASES[name][0], T_S), atol=1e-9)
    assert np.allclose(y, _sum(Y_LINES, PHASES[name][1], T_S), atol=1e-9)


@pytest.mark.parametrize("name", PHASES)
def test_the_peaks_of_every_wander_path_are_those_of_the_protocol(name):
    s = np.arange(0, 20, 0.0005)
    distance, speed, acceleration = (
        np.hypot(_sum(X_LINES, PHASES[name][0], s, order), _sum(Y_LINES, PHASES[name][1], s, order)).max()
        for order in (0, 1, 2))
    assert (distance, speed, acceleration) == (
        pytest.approx(40.0, abs=0.05), pytest.approx(78.2, abs=0.1), pytest.approx(276, abs=0.6))


@pytest.mark.parametrize(("name", "across", "up"), [("A2", -1, 1), ("B1", 1, -1), ("B2", -1, -1)])
def test_the_four_wander_paths_are_one_under_mirroring_and_time_reversal(name, across, up):
    s = np.arange(0, 20, 0.01)
    paths = load_battery().wander
    x, y = paths[name].at(s)
    time = 1 if name == "B2" else -1
    x_1, y_1 = paths["A1"].at(time * s)
    assert np.allclose(x, across * x_1, atol=0.05)  # phases are listed to 0.001 rad
    assert np.allclose(y, up * y_1, atol=0.05)


@pytest.mark.parametrize("name", PHASES)
def test_a_wander_path_does_not_repeat_reversed_after_half_a_window(name):
    s = np.arange(0, 10, 0.01)
    x, y = load_battery().wander[name].at(s)
    x_later, y_later = load_battery().wander[name].at(s + 10)
    for ours, later in ((x, x_later), (y, y_later)):
        assert np.abs(ours + later).max() > 10 and np.abs(ours - later).max() > 10


def test_a_wander_path_of_one_line_is_a_plain_cosine():
    path = Wander("one", 20.0, (Line(2, 10.0, 0.0),), (Line(1, 0.0, 0.0),))
    x, y = path.at(np.array([0.0, 2.5, 5.0]))
    assert x == pytest.approx([10.0, 0.0, -10.0], abs=1e-12)
    assert y.tolist() == [0.0, 0.0, 0.0]
