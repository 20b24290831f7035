"""The spectrum of the error and the rule of the regular shake.

Published and recomputed values: WELCH_2_5, WELCH_offbin (power A^2 / 2 of a tone, on and off a bin) and LEAK
(a disc at 0.7 turns/s leaking into 4-12 Hz), executed with scipy.signal.welch; the values stand for any rate.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import welch

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.block_facts import block_facts, shake_facts
from kiosk.scoring.grid import GRID_HZ
from kiosk.scoring.movement import measure
from kiosk.scoring.score import score_trial
from kiosk.scoring.tremor import error_spectrum, find_shake, shake_errors
from kiosk.scoring.validity import SHAKE_SMOOTHING_MS
from tests.scoring.hands import disc_of, plan_of, record_of, times

BATTERY = load_battery()
T_S = np.arange(20 * GRID_HZ) / GRID_HZ
DOWN = np.ones(T_S.size, bool)


def spectrum(error):
    return error_spectrum(error.astype(complex), DOWN, 0.95, 3)


@pytest.mark.parametrize(("f_hz", "peak_hz", "power"), [(5.0, 5.0, 2.0), (5.3, 5.25, 1.99998)])
def test_a_tone_has_half_its_squared_amplitude_as_power(f_hz, peak_hz, power):
    """WELCH_2_5 and WELCH_offbin: amplitude 2, Hann, 4 s."""
    found = spectrum(2 * np.sin(2 * np.pi * f_hz * T_S))
    near = np.abs(found.f_hz - f_hz) <= 1.0
    assert found.f_hz[np.argmax(found.power)] == peak_hz
    assert found.power[near].sum() * 0.25 == pytest.approx(power, abs=1e-3)
    assert find_shake([found]).hz == pytest.approx(f_hz, abs=0.005)


def test_a_disc_hardly_leaks_into_the_frequencies_of_a_shake():
    """LEAK: amplitude 100 at 0.7 turns/s, RMS in 4-12 Hz 0.0087 with Hann (3.87 without)."""
    found = spectrum(100 * np.sin(2 * np.pi * 0.7 * T_S))
    inside = (found.f_hz >= 4) & (found.f_hz <= 12)
    assert np.sqrt(found.power[inside].sum() * 0.25) == pytest.approx(0.0087, abs=1e-3)


@pytest.mark.parametrize("block", ["steady", "wander"])
def test_the_spectrum_is_that_of_a_general_library(block):
    """scipy.signal.welch on x and on y, added."""
    plan = plan_of(block)
    samples = move(typical_hand(70, np.random.default_rng(4)), plan, np.random.default_rng(5))
    record = TrialRecord(plan, samples, TrialFacts())
    left, found = measure(record).timed.left, score_trial(record).spectrum
    f_hz, x = welch(left.real, fs=GRID_HZ, window="hann", nperseg=4 * GRID_HZ, detrend="constant")
    y = welch(left.imag, fs=GRID_HZ, window="hann", nperseg=4 * GRID_HZ, detrend="constant")[1]
    kept = np.isin(f_hz, found.f_hz)
    assert found.power == pytest.approx((x + y)[kept], rel=1e-9)
    assert found.segments == (plan.window_s - 4) / 2 + 1


def test_size_is_the_root_mean_square_of_the_shake():
    """1 mm RMS: amplitude sqrt 2 from side to side, or 1 mm round and round."""
    rng = np.random.default_rng(1)
    noise = 0.01 * (rng.standard_normal(T_S.size) + 1j * rng.standard_normal(T_S.size))
    for shake in (np.sqrt(2) * np.cos(2 * np.pi * 6 * T_S), np.exp(2j * np.pi * 6 * T_S)):
        assert find_shake([spectrum(noise + shake)]).rms_mm == pytest.approx(1.0, rel=1e-3)


def test_the_line_is_not_pulled_up_by_a_peak():
    """Noise that falls with the fourth power of frequency keeps its slope with a shake in it."""
    fall = np.fft.rfftfreq(T_S.size, 1 / GRID_HZ)
    fall[0] = np.inf
    noises = [np.fft.irfft(np.fft.rfft(np.random.default_rng(seed).standard_normal(T_S.size)) / fall**2)
              for seed in range(12)]
    shake = np.cos(2 * np.pi * 5 * T_S)
    plain, shaken = (find_shake([spectrum(noise + mm * shake) for noise in noises]) for mm in (0.0, 1.0))
    slope = [np.diff(one.line_nat)[0] / np.diff(np.log(one.f_hz))[0] for one in (plain, shaken)]
    assert slope[0] == pytest.approx(-4.0, abs=0.2)
    assert slope[1] == pytest.approx(slope[0], abs=0.4)
    assert shaken.excess_nat > 5 > 1.2 > plain.excess_nat


# -- false alarms and finds of whole blocks ---------------------------------------------------------------

def white(plan, rng):
    t_s = times(plan, 120)
    noise = 2.0 * (rng.standard_normal(t_s.size) + 1j * rng.standard_normal(t_s.size))
    return record_of(plan, t_s, disc_of(plan, t_s) + noise, calibrated=True, input_fuzz=0.0, smoothing_ms=0.0)


def healthy(plan, rng, hand, rms_mm):
    samples = move(hand, plan, rng)
    shake_mm = rms_mm * np.sqrt(2) * np.cos(2 * np.pi * 5.0 * samples.t_s + rng.uniform(0, 2 * np.pi))
    shaken = Samples(samples.t_s, samples.x_mm + shake_mm, samples.y_mm, samples.contact)
    return TrialRecord(plan, shaken, TrialFacts(input_fuzz=0.0, smoothing_ms=0.0))


def found_in(block, made) -> float | None:
    """The frequency told of one block of trials."""
    hand = "other" if block == "other" else "preferred"
    name = "steady" if block == "other" else block
    plans = [plan_of(name, hand, number) for number in range(1, BATTERY.block(name, hand).trials + 1)]
    facts = block_facts([(plan, score_trial(made(plan))) for plan in plans], BATTERY)
    return facts[f"{name}.{hand}.tremor_hz"].value


BLOCKS = ("steady", "brisk", "wander", "other")


def alarms(count):
    rngs = [np.random.default_rng([41, number]) for number in range(count)]
    return sum(found_in(BLOCKS[k % 4], lambda plan, rng=rng: white(plan, rng)) is not None
               for k, rng in enumerate(rngs))


def finds(count, rms_mm):
    found = []
    for number in range(count):
        rng = np.random.default_rng([43, number])
        hand = replace(typical_hand(rng.uniform(20, 88), rng), tremor_mm=0.0)
        made = found_in(BLOCKS[number % 4], lambda plan, r=rng, h=hand: healthy(plan, r, h, rms_mm))
        found.append(made)
    return [one for one in found if one is not None]


def test_noise_without_a_shake_shows_none():
    assert alarms(80) == 0


def test_a_millimetre_at_five_hertz_is_found_and_a_hand_without_it_is_not():
    found = finds(40, 1.0)
    assert len(found) >= 38
    assert found == pytest.approx([5.0] * len(found), abs=0.15)
    assert finds(40, 0.0) == []


@pytest.mark.long
def test_in_a_thousand_blocks_of_noise_less_than_one_in_a_hundred_shows_a_shake():
    assert alarms(1000) < 10


@pytest.mark.long
def test_in_a_thousand_healthy_blocks_a_millimetre_at_five_hertz_is_found_in_more_than_nine_of_ten():
    assert len(finds(1000, 1.0)) > 900
    assert len(finds(400, 0.0)) < 4


# -- what is not told -------------------------------------------------------------------------------------

def shaken_record(rate_hz=240, contact=None, **facts):
    plan = plan_of("steady")
    t_s = times(plan, rate_hz)
    hand = disc_of(plan, t_s) + np.cos(2 * np.pi * 5 * t_s)
    return plan, record_of(plan, t_s, hand, None if contact is None else contact(t_s), **facts)


def told(rate_hz=240, contact=None, **facts):
    plan, record = shaken_record(rate_hz, contact, **facts)
    return shake_facts("steady.preferred", [(plan, score_trial(record))], "too_few_valid_trials")


def test_the_size_is_told_only_from_a_hundred_touches_a_second_through_a_known_filter():
    hz, mm, _ = told(input_fuzz=2.0, smoothing_ms=6.4)
    assert (hz.value, mm.value) == (pytest.approx(5.0, abs=0.01), pytest.approx(np.sqrt(0.5), rel=0.02))
    known = {"input_fuzz": 0.0, "smoothing_ms": 0.0}
    for rate_hz, facts, reason in (
            (240, {}, "shake_needs_filter"), (90, known, "shake_needs_rate"),
            (240, {"input_fuzz": 0.0}, "shake_needs_filter"),
            (240, {"smoothing_ms": 0.0}, "shake_needs_filter"),
            (240, known | {"smoothing_ms": 7.0}, "shake_smoothed")):
        hz, mm, _ = told(rate_hz, **facts)
        assert hz.value == pytest.approx(5.0, abs=0.01)
        assert (mm.value, mm.reason) == (None, reason)


def test_the_filter_allowed_leaves_nine_tenths_of_the_fastest_shake():
    """A first-order filter passes 1 / sqrt(1 + (2 pi f tau)^2) of a tone (textbook)."""
    left = 1 / np.sqrt(1 + (2 * np.pi * 12.0 * SHAKE_SMOOTHING_MS / 1000) ** 2)
    assert left == pytest.approx(0.9, abs=0.002)


def test_a_shake_is_judged_from_three_stretches_of_enough_contact_on():
    assert score_trial(shaken_record(contact=lambda t: (t < 4.1) | (t > 5.0))[1]).spectrum.segments == 5
    gone = [lambda t, a=a: ~((t > a) & (t < a + 0.45)) for a in (5.0, 8.0, 11.0, 14.0)]
    plan, record = shaken_record(contact=lambda t: np.all([one(t) for one in gone], axis=0))
    scores = score_trial(record)
    assert scores.values["contact"].value > 80
    assert scores.spectrum is None
    found = shake_facts("steady.preferred", [(plan, scores)], "")
    assert [one.reason for one in found] == ["shake_not_judged"] * 3


def test_without_a_peak_the_height_alone_is_told():
    plan = plan_of("steady")
    scores = score_trial(white(plan, np.random.default_rng(3)))
    hz, mm, excess = shake_facts("steady.preferred", [(plan, scores)], "")
    assert (hz.reason, mm.reason) == ("no_regular_shake", "no_regular_shake")
    assert 0.0 < excess.value < 1.2


@pytest.mark.parametrize(("rms_mm", "reason"), [(0.08, "no_regular_shake"), (0.12, None)])
def test_a_peak_smaller_than_the_noise_of_a_panel_is_no_shake(rms_mm, reason):
    """A still finger of 0.01 mm scatter would otherwise be told to shake by whichever line is tallest."""
    t_s = np.arange(-2 * 120, 18 * 120) / 120
    plan, rng = plan_of("steady"), np.random.default_rng(8)
    noise = 0.01 * (rng.standard_normal(t_s.size) + 1j * rng.standard_normal(t_s.size))
    shake = rms_mm * np.sqrt(2) * np.cos(2 * np.pi * 6.0 * t_s)
    record = record_of(plan, t_s, disc_of(plan, t_s) + noise + shake, calibrated=True, input_fuzz=0.0,
                       smoothing_ms=0.0)
    hz, mm, excess = shake_facts("steady.preferred", [(plan, score_trial(record))], "")
    assert (hz.reason, mm.reason) == (reason, reason)
    assert excess.value > 1.2


def test_the_errors_of_a_shake_are_the_spread_of_many_blocks():
    """Size and frequency differ from trial to trial: mean jackknife SE against the SD of 200 blocks."""
    rng, blocks = np.random.default_rng(12), []
    for _ in range(200):
        hz, mm = 6.0 + 0.3 * rng.standard_normal(3), 1.0 + 0.2 * rng.standard_normal(3)
        noise = 0.2 * (rng.standard_normal((3, T_S.size)) + 1j * rng.standard_normal((3, T_S.size)))
        spectra = [spectrum(noise[k] + mm[k] * np.exp(2j * np.pi * hz[k] * T_S)) for k in range(3)]
        shake = find_shake(spectra)
        blocks.append((shake.rms_mm, shake_errors(spectra, shake)[1], shake_errors(spectra, shake)[0]))
    sizes, told, hz_told = np.array(blocks).T
    assert np.sqrt(np.mean(told**2)) == pytest.approx(sizes.std(ddof=1), rel=0.25)
    assert np.all(hz_told > 0) and np.median(hz_told) < 0.5
    assert shake_errors([spectrum(np.exp(2j * np.pi * 5 * T_S))], shake) == (None, None)
