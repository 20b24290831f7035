"""A visit stopped early is judged by the measures it has: the chances are those of these measures alone.

Chances are computed anew from the correlations in the table's own file: of two measures, one or both below
-41/30 (standard score 79 or less), in a bivariate normal (textbook: 2 P(a) - P(a and b)).
"""

import csv
import re
from io import BytesIO

import pytest
from pypdf import PdfReader
from scipy.stats import multivariate_normal, norm

from kiosk.base.settings import demo_norms_folder
from kiosk.staff.observations import ObservationAction
from tests.app.fake_kiosk import FakeKiosk, hand_over, intake, new_person, sit_through

LOW_Z = -41 / 30
TWO = ("steady.preferred.scatter", "steady.other.scatter")


def correlation(one: str, other: str) -> float:
    with (demo_norms_folder() / "correlations.csv").open() as lines:
        for row in csv.DictReader(lines):
            if row["kind"] == "visit" and {row["measure_1"], row["measure_2"]} == {one, other}:
                return float(row["r"])
    raise AssertionError("the table must hold the correlation")


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    """Stopped by the person after the fourth scored trial: three steady ones, one with the other hand."""
    kiosk = FakeKiosk(tmp_path, device_class="simulated")
    kiosk.unlock()
    new_person(kiosk)
    intake(kiosk, purpose="training")
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=6, press_stop=True)
    kiosk.unlock()
    kiosk.do(ObservationAction.NOTHING)
    return kiosk


def test_the_chances_are_those_of_the_measures_scored(kiosk):
    profile = kiosk.driver.made.findings.profile
    assert profile.measures == TWO and profile.n_scored == 2
    both = float(multivariate_normal.cdf([LOW_Z, LOW_Z], cov=[[1, (r := correlation(*TWO))], [r, 1]]))
    either = 2 * norm.cdf(LOW_Z) - both
    assert profile.chances_percent == pytest.approx((100 * either, 100 * both), abs=0.2)


def test_results_and_page_say_how_many_of_how_many_with_that_chance(kiosk):
    content, profile = kiosk.stage.results[-1][0], kiosk.driver.made.findings.profile
    headline = content.headlines[0]
    assert headline.sentence.startswith(f"{profile.n_low} of 2 scores ")
    assert f"About {round(profile.chance_percent)} in 100 people" in headline.chance
    assert "Stopped by the person after trial 4. 2 of 6 measures scored." in content.cautions
    page = " ".join(PdfReader(BytesIO(kiosk.driver.made.pdf)).pages[0].extract_text().split())
    assert headline.sentence in page and headline.chance in page
    assert "2 of 6 measures scored" in page
    assert len(re.findall("not scored", page)) >= 4


def test_the_archive_holds_what_was_done_and_how_it_ended(kiosk):
    visit = kiosk.driver.visit
    assert kiosk.store.visit_end(visit.id).how == "stopped_by_person"
    assert [one.record.plan.block for one in kiosk.store.trials_of(visit.id)] == [
        "familiarise", "steady", "steady", "steady", "steady"]
