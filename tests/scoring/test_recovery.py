"""A hand that is known in advance is recovered; device latency and offset move what they should.

A first-order hand answers the disc after a pure delay d through y' = (g x - y) / tau: at angular speed w its
gain is g / sqrt(1 + (w tau)^2) and its phase lag w d + atan(w tau) (any text on linear systems; common
practice, no source). XCORR: the lag of three sines found by cross-correlation with a parabolic peak.
"""

import numpy as np
import pytest
from scipy.signal import correlate

from kiosk.pursuit.target import Circle, Line, Wander
from kiosk.scoring.grid import instants
from kiosk.scoring.score import score_trial
from kiosk.scoring.timing import fit_wander
from tests.scoring.hands import disc_of, plan_of, record_of, times, wobbling

TAU_S, DELAY_S, GAIN = 0.06, 0.10, 0.93


def answer(speed):
    """What the hand makes of a movement at this angular speed: a complex factor."""
    return GAIN * np.exp(-1j * speed * DELAY_S) / (1 + 1j * speed * TAU_S)


def first_order(plan, t_s):
    """Where the hand is, settled, at times in the window; path time is t less half the run-in."""
    s, path = t_s - plan.run_in_s / 2, plan.path
    if isinstance(path, Circle):
        speed = path.direction * 2 * np.pi / path.period_s
        return answer(speed) * path.radius_mm * np.exp(1j * (path.start_rad + speed * s))
    return waves(path.x, path.period_s, s) + 1j * waves(path.y, path.period_s, s)


def waves(lines, period_s, s):
    speeds = [2 * np.pi * line.multiple / period_s for line in lines]
    return sum((answer(w) * line.amplitude_mm * np.exp(1j * (w * s + line.phase_rad))).real
               for w, line in zip(speeds, lines, strict=True))


def expected(plan):
    """Lag or delay in ms, and gain."""
    path = plan.path
    if isinstance(path, Circle):
        speed = 2 * np.pi / path.period_s
        return -1000 * np.angle(answer(speed)) / speed, abs(answer(speed))
    lines = (*path.x, *path.y)
    speed = np.array([2 * np.pi * line.multiple / path.period_s for line in lines])
    squares = np.array([line.amplitude_mm**2 for line in lines])
    delay_s = -speed @ np.angle(answer(speed)) / (speed @ speed)
    return 1000 * delay_s, squares @ (answer(speed) * np.exp(1j * speed * delay_s)).real / squares.sum()


@pytest.mark.parametrize("rate_hz", [60, 120, 240])
@pytest.mark.parametrize("block", ["steady", "brisk", "wander"])
@pytest.mark.parametrize("number", [1, 2])
def test_a_first_order_hand_is_recovered_with_one_sample_in_twenty_missing(block, number, rate_hz):
    plan = plan_of(block, number=number)
    t_s = times(plan, rate_hz)
    t_s = t_s[np.random.default_rng(7).random(t_s.size) >= 0.05]
    values = score_trial(record_of(plan, t_s, first_order(plan, t_s))).values
    behind_ms, gain = expected(plan)
    assert values["delay" if block == "wander" else "lag"].value == pytest.approx(behind_ms, abs=2.0)
    assert values["gain"].value == pytest.approx(gain, rel=0.02)
    assert 150 < behind_ms < 170 and 0.80 < gain < 0.93


@pytest.mark.parametrize("block", ["steady", "brisk", "wander"])
@pytest.mark.parametrize("latency_ms", [20, 50, 87, 150])
def test_latency_moves_lag_and_delay_by_just_itself_and_scatter_not_at_all(block, latency_ms):
    """The error repeats with the window, so that a later window holds the same one: < 0.5 ms, < 1 %."""
    plan = plan_of(block)
    late, plain = (periodic(plan, shift_s) for shift_s in (latency_ms / 1000, 0.0))
    timing = "delay" if block == "wander" else "lag"
    assert late[timing].value - plain[timing].value == pytest.approx(latency_ms, abs=0.5)
    for name in ("scatter", "along_sd", "across_sd"):
        assert late[name].value == pytest.approx(plain[name].value, rel=0.01), name


def periodic(plan, shift_s):
    """Scores of a hand whose error is made of harmonics of the window, all shifted by shift_s."""
    t_s = times(plan) - shift_s
    rng = np.random.default_rng(3)
    harmonics = np.arange(1, 30)
    way = np.exp(2j * np.pi * rng.uniform(size=29)) * 4.0 / np.sqrt(29)
    turn = np.outer(t_s, harmonics) / plan.window_s + rng.uniform(size=29)
    hand = disc_of(plan, np.maximum(t_s, 0.0) - 0.1) + np.cos(2 * np.pi * turn) @ way
    return score_trial(record_of(plan, times(plan), hand)).values


@pytest.mark.parametrize("latency_ms", [0, 40, 150])
def test_prediction_is_free_of_latency(latency_ms):
    values = {block: periodic(plan_of(block), latency_ms / 1000) for block in ("steady", "brisk", "wander")}
    lag = (values["steady"]["lag"].value + values["brisk"]["lag"].value) / 2
    plain = {block: periodic(plan_of(block), 0.0) for block in ("steady", "brisk", "wander")}
    lag_0 = (plain["steady"]["lag"].value + plain["brisk"]["lag"].value) / 2
    moved = values["wander"]["delay"].value - lag - (plain["wander"]["delay"].value - lag_0)
    assert moved == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("block", ["steady", "wander"])
@pytest.mark.parametrize("offset", [3 + 0j, 0 - 7j, 6 + 8j])
def test_touching_beside_the_disc_changes_neither_scatter_nor_timing(block, offset):
    plan = plan_of(block)
    hand = wobbling(plan, 12)
    beside = score_trial(record_of(plan, times(plan), hand + offset)).values
    plain = score_trial(record_of(plan, times(plan), hand)).values
    timing = "delay" if block == "wander" else "lag"
    for name in ("scatter", "along_sd", "across_sd", timing):
        assert beside[name].value == pytest.approx(plain[name].value, rel=1e-9), name


@pytest.mark.parametrize("block", ["steady", "brisk", "wander"])
def test_ten_thousand_instants_a_second_give_the_same_scores(block):
    """Brute force: the same smooth hand looked at 10,000 times a second, by the plain definitions."""
    plan = plan_of(block)
    t_s = plan.run_in_s + np.arange(int(10_000 * plan.window_s)) / 10_000
    hand, disc = wobbling_at(plan, t_s), disc_of(plan, t_s)
    values = score_trial(record_of(plan, times(plan), wobbling_at(plan, times(plan)))).values
    distance = np.abs(hand - disc)
    cut = np.sqrt(np.mean(np.minimum(distance, 40) ** 2))
    assert values["error_rms"].value == pytest.approx(cut, rel=1e-3)
    assert values["time_on_target"].value == pytest.approx(100 * np.mean(distance <= 12), abs=0.1)
    behind_s, followed = best_follow(plan, t_s, hand)
    assert values["delay" if block == "wander" else "lag"].value == pytest.approx(1000 * behind_s, abs=2.0)
    left = hand - followed
    left -= left.mean()
    assert values["scatter"].value == pytest.approx(np.sqrt(np.mean(np.abs(left) ** 2)), rel=0.01)
    way = np.gradient(followed)
    along = (left * np.conj(way / np.abs(way))).real
    assert values["along_sd"].value == pytest.approx(np.sqrt(np.mean(along**2)), rel=0.01)
    square = values["along_sd"].value**2 + values["across_sd"].value**2
    assert square == pytest.approx(values["scatter"].value**2, rel=1e-9)


def wobbling_at(plan, t_s):
    rng = np.random.default_rng(21)
    f_hz = rng.uniform(0.2, 2, 20)
    turn = 2 * np.pi * (np.outer(t_s, f_hz) + rng.uniform(size=20))
    way = 0.8 * np.exp(2j * np.pi * rng.uniform(size=20))
    return disc_of(plan, t_s - 0.12) + (1.5 - 1j) + np.cos(turn) @ way


def best_follow(plan, t_s, hand):
    """On a circle the turn, on a wander path the regression of phase on speed, written out anew."""
    if isinstance(plan.path, Circle):
        disc = disc_of(plan, t_s)
        turn = np.angle(np.sum((hand - hand.mean()) * np.conj(disc - disc.mean())))
        return -plan.path.direction * turn * plan.path.period_s / (2 * np.pi), disc * np.exp(1j * turn)
    s, path = t_s - plan.run_in_s / 2, plan.path
    above = below = 0.0
    for lines, axis in ((path.x, hand.real), (path.y, hand.imag)):
        for line in lines:
            speed = 2 * np.pi * line.multiple / path.period_s
            at_line = np.mean(axis * np.exp(-1j * speed * s)) / np.exp(1j * line.phase_rad)
            above, below = above - speed * np.angle(at_line), below + speed**2
    return above / below, disc_of(plan, t_s - above / below)


def test_the_fit_at_lines_finds_the_lag_that_cross_correlation_finds():
    """XCORR: sines of .31, .53 and .77 Hz, 0.137 s late."""
    path = Wander("three", 100.0, tuple(Line(k, 10.0, 0.4 * k) for k in (31, 53, 77)), ())
    t_s = instants(0.0, 20.0)
    asked, made = path.at(t_s)[0], path.at(t_s - 0.137)[0]
    found = correlate(made - made.mean(), asked - asked.mean())
    top = int(np.argmax(found))
    before, at, after = found[top - 1:top + 2]
    parabola = top + (before - after) / 2 / (before - 2 * at + after) - (t_s.size - 1)
    fit = fit_wander(made + 0j, np.ones(t_s.size, bool), path, 0.0, 20.0)
    assert fit.delay_s == pytest.approx(0.137, abs=0.0005)
    assert fit.delay_s == pytest.approx(parabola / 240, abs=0.01)
