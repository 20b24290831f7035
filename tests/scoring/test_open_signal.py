"""A real signal through grid, spectrum and validity: carbon dioxide on Mauna Loa, weekly, 1958 to 2001.

statsmodels.datasets.co2 (public domain; Keeling and Whorf 2004), in a package the tests have anyway. It fits
because what must come out is known from outside: it is measured, with noise and a drift; weeks are missing,
alone and for months on end, as touches are; and it has one cycle, whose frequency is exactly one a year, with
an overtone. It is taken as a hand's distance to the side of the disc, a year as 0.23 s: 1/0.23 = 4.348 Hz.
"""

import numpy as np
import pytest
from scipy.signal import lombscargle
from statsmodels.datasets import co2

from kiosk.pursuit.samples import Samples
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.block_facts import shake_facts
from kiosk.scoring.grid import instants, on_grid
from kiosk.scoring.score import score_trial
from tests.scoring.hands import disc_of, plan_of

YEAR_S = 0.23
PLAN = plan_of("familiarise")  # a window of 8 s holds 35 of the 43 years


def weeks():
    """Seconds and parts per million of the weeks that were measured, March 1958 at 1.95 s."""
    series = co2.load_pandas().data["co2"]
    years = np.asarray((series.index - series.index[0]).days) / 365.2425
    kept = np.asarray(series.notna())
    return years[kept] * YEAR_S + 1.95, np.asarray(series)[kept]


def recorded(rows=slice(None), **facts):
    """1 ppm beside the disc as 1 mm, the drift of a century left in."""
    t_s, ppm = (column[rows] for column in weeks())
    hand = disc_of(PLAN, t_s) + (ppm - ppm.mean()) * 0.5
    samples = Samples(t_s, hand.real, hand.imag, np.ones(t_s.size, bool))
    return TrialRecord(PLAN, samples, TrialFacts(**facts))


def test_the_weeks_come_as_they_were_measured():
    t_s, ppm = weeks()
    assert (t_s.size, round(ppm[0], 1), round(ppm[-1], 1)) == (2225, 316.1, 371.5)
    assert np.diff(t_s).max() > 10 * np.median(np.diff(t_s))


def test_missing_weeks_are_joined_or_held_and_the_rest_is_as_measured():
    """Joined as numpy joins them up to 2.5 weeks; over longer silences held, until a week before the next."""
    record = recorded()
    t_s, hand = record.samples.t_s, record.samples.x_mm + 1j * record.samples.y_mm
    window = on_grid(record.samples, PLAN)
    week_s = np.median(np.diff(t_s))
    assert window.nominal_s == pytest.approx(week_s, rel=1e-6)
    before = np.searchsorted(t_s, window.t_s, side="right") - 1
    gap_s = t_s[before + 1] - t_s[before]
    joined = gap_s <= 2.5 * week_s
    plain = np.interp(window.t_s, t_s, hand.real) + 1j * np.interp(window.t_s, t_s, hand.imag)
    assert np.allclose(window.hand[joined], plain[joined], atol=1e-9)
    held = ~joined & (window.t_s < t_s[before + 1] - week_s)
    assert np.array_equal(window.hand[held], hand[before][held])
    assert held.sum() > 30 and window.contact.all() and joined.mean() > 0.95


def test_the_year_is_found_and_nothing_else():
    """One a year to 0.3 %; a periodogram for uneven times (scipy) has its peak at the same place."""
    scores = score_trial(recorded(input_fuzz=0.0, smoothing_ms=0.0))
    hz, mm, excess = shake_facts("familiarise.preferred", [(PLAN, scores)], "")
    assert hz.value == pytest.approx(1 / YEAR_S, rel=3e-3)
    assert excess.value > 3.0
    t_s, ppm = weeks()
    inside = (t_s >= 2.0) & (t_s < 10.0)
    level = ppm[inside] - np.polyval(np.polyfit(t_s[inside], ppm[inside], 2), t_s[inside])
    f_hz = np.linspace(3.0, 12.0, 3601)
    power = lombscargle(t_s[inside], level, 2 * np.pi * f_hz)
    assert hz.value == pytest.approx(f_hz[np.argmax(power)], abs=0.02)
    size_ppm = np.sqrt(4 * power.max() / inside.sum()) / np.sqrt(2)
    assert mm.value == pytest.approx(0.5 * size_ppm, rel=0.1)


def test_the_record_is_covered_and_even_enough_and_thinned_it_is_not():
    validity = score_trial(recorded()).validity
    assert validity.valid and [one.code for one in validity.cautions] == []
    codes = {one.code for one in score_trial(recorded(slice(None, None, 5))).validity.reasons}
    assert codes == {"low_touch_rate"}
    half = score_trial(recorded(slice(None, 1100))).validity
    assert "window_cut_short" in {one.code for one in half.reasons}


def test_the_size_is_not_told_where_the_filter_is_not_known():
    _, mm, _ = shake_facts("familiarise.preferred", [(PLAN, score_trial(recorded()))], "")
    assert (mm.value, mm.reason) == (None, "shake_needs_filter")
    assert instants(2.0, 8.0).size == 1920
