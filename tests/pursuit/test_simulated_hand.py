"""The simulated hand: closed forms, the laws of its noise, its people. Seeded; millimetres and seconds."""

from dataclasses import replace

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import Hand, day_to_day, later, move, move_at, typical_hand

BATTERY = load_battery()
STEADY = BATTERY.plan("steady", "preferred", 1)
OTHER = BATTERY.plan("steady", "other", 1)
WANDER = BATTERY.plan("wander", "preferred", 1)


def _rng(seed=0):
    return np.random.default_rng(seed)


def _error(hand, plan, rng, **options):
    samples = move(hand, plan, rng, **options)
    x, y = plan.position(samples.t_s)
    return samples, (samples.x_mm - x) + 1j * (samples.y_mm - y)


@pytest.mark.parametrize("plan", [STEADY, WANDER])
def test_a_hand_with_a_delay_alone_is_where_the_disc_was(plan):
    samples = move(Hand(delay_s=0.2), plan, _rng())
    x, y = plan.position(samples.t_s - 0.2)
    assert np.abs(samples.x_mm - x)[:-1].max() < 1e-12 and np.abs(samples.y_mm - y)[:-1].max() < 1e-12


def test_lead_shortens_the_delay_on_circles_and_nowhere_else():
    hand = Hand(delay_s=0.2, lead_s=0.15)
    on_circle, on_wander = move(hand, STEADY, _rng()), move(hand, WANDER, _rng())
    assert np.allclose(on_circle.x_mm[:-1], STEADY.position(on_circle.t_s - 0.05)[0][:-1])
    assert np.allclose(on_wander.x_mm[:-1], WANDER.position(on_wander.t_s - 0.2)[0][:-1])


def test_an_offset_moves_every_sample_by_itself():
    _, error = _error(Hand(offset_x_mm=3.0, offset_y_mm=-4.0), STEADY, _rng())
    assert np.allclose(error[:-1], 3.0 - 4.0j)


def test_the_finger_rests_on_the_disc_first_and_lifts_after_its_stop():
    samples = move(typical_hand(80.0, _rng(3)), WANDER, _rng(4))
    resting = samples.t_s <= 0
    distance = np.hypot(samples.x_mm - WANDER.position(0.0)[0], samples.y_mm - WANDER.position(0.0)[1])
    assert samples.t_s[0] == -0.8 and distance[resting].max() < 12.0
    assert samples.t_s[-1] >= WANDER.end_s and samples.contact[-2] and not samples.contact[-1]


def test_the_noise_has_the_size_asked_for():
    errors = [_error(Hand(noise_mm=2.0), STEADY, _rng(seed))[1][600:-60] for seed in range(60)]
    assert np.sqrt(np.mean(np.abs(errors)**2)) == pytest.approx(2.0, rel=0.04)


def test_noise_in_proportion_to_speed_doubles_on_a_circle_twice_as_fast():
    brisk = BATTERY.plan("brisk", "preferred", 1)
    sizes = [np.sqrt(np.mean([np.abs(_error(Hand(noise_s=0.1), plan, _rng(seed))[1][600:-200])**2
                              for seed in range(20)])) for plan in (STEADY, brisk)]
    assert sizes[0] == pytest.approx(0.1 * 2 * np.pi * 40 / 8, rel=0.06)
    assert sizes[1] / sizes[0] == pytest.approx(2.0, rel=0.01)


def test_the_noise_has_the_correlation_of_a_matern_3_2_process():
    """k(u) = (1 + u/l) exp(-u/l), with l = length / sqrt 3.

    Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, eq. 4.17 (number from memory).
    """
    errors = np.array([_error(Hand(noise_mm=1.0, noise_time_s=0.2), STEADY, _rng(seed))[1][400:2400]
                       for seed in range(150)])
    power = np.mean(np.abs(errors)**2)
    for lag in (12, 24, 48, 96):
        found = np.mean(errors[:, lag:] * np.conj(errors[:, :-lag])).real / power
        u = lag / 120 / 0.2
        assert found == pytest.approx((1 + u) * np.exp(-u), abs=0.03)


def test_the_time_within_the_disc_follows_rayleigh_s_law():
    """Share within r = 1 - exp(-r^2 / 2 s^2) for noise of SD s on each axis (Rayleigh distribution)."""
    sd_mm = 8.0
    hand = Hand(noise_mm=sd_mm * np.sqrt(2))
    errors = [_error(hand, STEADY, _rng(seed))[1][400:-60] for seed in range(150)]
    assert np.mean(np.abs(errors) <= 12.0) == pytest.approx(1 - np.exp(-12**2 / (2 * sd_mm**2)), abs=0.015)


def test_a_tremor_has_its_frequency_and_amplitude():
    _, error = _error(Hand(tremor_hz=5.0, tremor_mm=1.5), STEADY, _rng())
    spectrum = np.abs(np.fft.rfft(error.real[:1200])) / 600
    assert np.fft.rfftfreq(1200, 1 / 120)[spectrum.argmax()] == pytest.approx(5.0)
    assert spectrum.max() == pytest.approx(1.5, rel=0.01)


def test_lifts_come_at_their_rate_as_one_row_at_the_finger_s_last_place():
    hand, lifts = Hand(lifts_per_min=6.0, lift_s=0.3), 0
    for seed in range(100):
        samples = move(hand, STEADY, _rng(seed))
        rows = np.flatnonzero(~samples.contact)
        lifts += rows.size - 1
        assert np.array_equal(samples.x_mm[rows], samples.x_mm[rows - 1])
        assert (np.diff(rows) > 1).all()
    assert lifts == pytest.approx(100 * 6 * 17 / 60, rel=0.2)  # some run together


def test_in_a_stall_the_finger_stands_still_and_then_catches_up():
    hand = Hand(stalls_per_min=3.0, stall_s=0.5)
    samples, error = _error(hand, STEADY, _rng(5))
    still = np.hypot(np.diff(samples.x_mm), np.diff(samples.y_mm))[300:-30] < 1e-9
    assert 0.2 < still.sum() / 120 < 3.0
    assert np.abs(error).max() > 5.0 and np.median(np.abs(error)) < 1e-9


def test_a_lapse_falls_behind_by_its_lag_and_no_more():
    _, error = _error(Hand(lapses_per_min=2.0, lapse_s=1.5, lapse_lag_s=0.3), STEADY, _rng(2))
    assert np.abs(error).max() == pytest.approx(2 * 40 * np.sin(np.pi * 0.3 / 8), rel=0.01)


def test_the_movement_does_not_depend_on_when_it_is_sampled():
    hand = replace(typical_hand(60.0, _rng(1)), lifts_per_min=0.0)
    t_s = np.sort(_rng(9).uniform(-0.8, WANDER.end_s, 4000))
    fine, coarse = move(hand, WANDER, _rng(2), rate_hz=240.0), move(hand, WANDER, _rng(2), rate_hz=60.0)
    uneven = move_at(hand, WANDER, _rng(2), t_s)
    for other in (coarse, uneven):
        away = np.interp(other.t_s, fine.t_s, fine.x_mm) - other.x_mm
        assert np.sqrt(np.mean(away[:-1]**2)) < 0.05


def test_the_same_seed_moves_the_same_and_another_moves_otherwise():
    hand = typical_hand(50.0, _rng(1))
    first, again, otherwise = (move(hand, STEADY, _rng(seed)) for seed in (7, 7, 8))
    assert np.array_equal(first.x_mm, again.x_mm) and not np.array_equal(first.x_mm[:99], otherwise.x_mm[:99])


def test_the_other_hand_and_unforeseen_paths_multiply_the_noise():
    plain, hand = Hand(noise_mm=1.0), Hand(noise_mm=1.0, other_hand=1.5, unforeseen=2.0)
    for plan, factor in ((STEADY, 1.0), (OTHER, 1.5), (WANDER, 2.0)):
        assert np.allclose(_error(hand, plan, _rng(3))[1], factor * _error(plain, plan, _rng(3))[1])


def test_practice_takes_its_share_off_per_trial_and_half_as_much_each_later_visit():
    hand = Hand(noise_mm=1.0, delay_s=0.3, practice_per_trial=0.01, practice_per_visit=0.06)
    assert later(hand, 0) == hand
    assert later(hand, 1).noise_mm == pytest.approx(0.94) and later(hand, 2).noise_mm == pytest.approx(0.91)
    assert later(hand, 1).delay_s == pytest.approx(0.3 * 0.98)
    first, tenth = (_error(replace(hand, delay_s=0.0), STEADY, _rng(3), trial_index=i)[1] for i in (0, 10))
    assert np.allclose(tenth, first * 0.99**10)


def test_people_scatter_more_and_answer_later_with_age():
    young, old = ([typical_hand(age, _rng(seed)) for seed in range(300)] for age in (30.0, 80.0))
    for name, ratio in (("noise_mm", 1.4), ("noise_s", 1.5), ("delay_s", 1.3)):
        medians = [np.median([getattr(hand, name) for hand in people]) for people in (young, old)]
        assert medians[1] > ratio * medians[0]


def test_days_vary_less_than_people():
    people = [typical_hand(50.0, _rng(seed)) for seed in range(300)]
    days = [day_to_day(people[0], _rng(seed)) for seed in range(300)]
    between, within = (np.std(np.log([hand.noise_s for hand in hands])) for hands in (people, days))
    assert 0.05 < within < 0.5 * between
    assert np.std([hand.delay_s for hand in days]) < 0.5 * np.std([hand.delay_s for hand in people])


@pytest.mark.parametrize(("name", "value"), [
    ("noise_mm", -1.0), ("delay_s", float("nan")), ("lifts_per_min", -0.1), ("lead_s", float("inf"))])
def test_an_impossible_hand_is_refused_by_name_rule_and_value(name, value):
    with pytest.raises(ValueError, match=rf"{name} must be finite and not below 0, got {value}"):
        Hand(**{name: value})
