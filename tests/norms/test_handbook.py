"""The handbook's examples of the formulas give what they say, and T scores are those of the definition."""

import doctest

import numpy as np
import pytest
from scipy.stats import norm, t

import norms
from norms import Standing, standing
from norms.judge.single_case import t_score
from tests.norms.folders import EXAMPLE
from tests.sources import ROOT


def test_every_worked_example_of_the_handbook_gives_what_it_says() -> None:
    found = doctest.testfile(str(ROOT / "kiosk/handbook/norms.md"), module_relative=False)
    assert found.attempted >= 12 and not found.failed


@pytest.mark.parametrize(("z", "expected"), [(-2.326, 26.74), (-2, 30), (-1.645, 33.55), (0, 50), (1, 60)])
def test_t_scores_have_mean_50_and_sd_10(z: float, expected: float) -> None:
    assert t_score(z) == pytest.approx(expected, abs=1e-9)  # the definition, 50 + 10 z


def test_every_public_name_can_be_loaded_and_says_what_it_is() -> None:
    for name in norms.__all__:
        found = getattr(norms, name)
        assert not callable(found) or found.__doc__, name


def test_a_standing_has_the_t_score_of_its_percentile() -> None:
    """By scipy: the normal deviate of the t of Crawford & Howell."""
    table = norms.read_folder(EXAMPLE)
    measure = table.measures[0]
    row = next(row for row in table.rows if row.measure == measure.name)
    value = float(np.exp(row.mean + row.sd)) if measure.scale == "log" else row.mean + row.sd
    found = standing(table, measure.name, value, norms.ByHand((row.age_from + row.age_to) / 2))
    assert isinstance(found, Standing)
    assert found.t_score == pytest.approx(50 + 10 * norm.ppf(t.cdf(found.t_n, found.df_sd)), abs=1e-6)
