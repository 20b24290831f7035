"""Drift: today's check beside what is usual."""

import pytest

from kiosk.visits.panel_drift import drifts, trend
from kiosk.visits.passport import MeasuredBy
from tests.visits.test_passport import measured


def checks(figure, values, by=MeasuredBy.PANEL):
    return [measured(by, day, **{figure: value}) for day, value in enumerate(values)]


@pytest.mark.parametrize(("by", "figure", "values", "codes"), [
    (MeasuredBy.PANEL, "rate_hz", [120, 121, 119, 120], []),
    (MeasuredBy.PANEL, "rate_hz", [120, 121, 119, 100], ["rate_drifts"]),
    (MeasuredBy.PANEL, "rate_hz", [120, 100], []),                       # too few to say what is usual
    (MeasuredBy.PANEL, "rate_hz", [120, 60, 121, 119, 120], []),         # one odd day is no usual value
    (MeasuredBy.PANEL, "noise_mm", [0.1, 0.2, 0.1, 0.6], ["jitter_drifts"]),
    (MeasuredBy.PANEL, "noise_mm", [0.6, 0.6, 0.6, 0.1], []),            # less jitter is no fault
    (MeasuredBy.CROSSES, "mean_mm", [1.0, 1.5, 1.2, 3.4], ["offset_drifts"]),
    (MeasuredBy.CROSSES, "mean_mm", [1.0, 1.5, 1.2, 2.9], [])])
def test_what_is_beyond_its_limit_from_the_median_of_the_earlier_checks_drifts(by, figure, values, codes):
    assert [one.code for one in drifts(checks(figure, values, by))] == codes


def test_only_the_last_ten_say_what_is_usual():
    assert trend(checks("rate_hz", [60] * 20 + [120] * 10 + [118])) == (("rate_hz", 118, 120),)
