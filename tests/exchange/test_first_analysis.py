"""The first analysis in the researcher's handbook runs as it stands there, on an export of simulated people.

The mixed model is held to ordinary least squares of the same rows, computed here with numpy alone: in a
balanced design both estimate the same slopes.
"""

import csv
import re
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import numpy as np
import pytest

from kiosk.demo.reference_sample import simulate_visit
from kiosk.exchange.research_package import write_package
from kiosk.exchange.research_rows import ResearchVisit
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import day_to_day, later, typical_hand
from kiosk.visits.archive import StoredScores
from tests.storage.examples import Examples

PAGE = (Path(__file__).resolve().parents[2] / "kiosk" / "handbook" / "researcher.md").read_text("utf-8")
PEOPLE = 24


def program() -> str:
    between = PAGE.partition("<!-- analysis: begin -->")[2].partition("<!-- analysis: end -->")[0]
    found = re.search(r"```python\n(.*)```", between, re.DOTALL)
    assert found is not None
    return found[1]


def simulated_visits():
    """Two visits each of simulated people of 20 to 85, half a year apart."""
    battery, ex = load_battery(), Examples()
    for index in range(PEOPLE):
        rng = np.random.default_rng([2026, index])
        age = 20 + 65 * index / (PEOPLE - 1)
        hand = typical_hand(age, rng)
        for number in range(2):
            blocks = simulate_visit(day_to_day(later(hand, number), rng), battery, "AB"[number], rng)
            visit = replace(ex.visit, id=UUID(int=10 * index + number + 1), earlier_visits=number,
                            purpose="retest", form="AB"[number])
            scores = StoredScores(visit.id, 1, {}, blocks)
            yield ResearchVisit(f"P{index + 1:05d}", visit, age + number / 2, "not_asked", None,
                                182.0 * number, "simulated", None, (), scores, {}, ())


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("analysis")
    write_package(simulated_visits(), made / "visits", "0.1.0")
    return made


def test_it_is_short():
    assert len(program().strip().splitlines()) <= 40


def test_it_draws_a_figure_and_finds_what_was_simulated(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    given: dict = {}
    exec(program(), given)
    assert "Mixed Linear Model" in capsys.readouterr().out
    assert (folder / "scatter_over_age.png").read_bytes().startswith(b"\x89PNG")
    model = given["analysed"]("visits")
    assert model.nobs == 2 * PEOPLE and model.converged
    with (folder / "visits" / "block_scores.csv").open() as file:
        rows = [one for one in csv.DictReader(file) if one["measure"] == "steady.preferred.scatter"]
    x = [[1.0, (float(one["age_years"]) - 50) / 10, float(one["visit"]) - 1] for one in rows]
    slopes = np.linalg.lstsq(np.array(x), np.array([float(one["scaled"]) for one in rows]), rcond=None)[0]
    assert model.params["decade"] == pytest.approx(slopes[1], abs=0.01)
    assert model.params["later"] == pytest.approx(slopes[2], abs=0.01)
    assert model.params["decade"] / model.bse["decade"] > 3  # simulated scatter grows with age


def test_the_figure_and_the_model_follow_the_data(folder, tmp_path, monkeypatch):
    """Twice the scatter in the older half: the coefficient must grow, or the program reads nothing."""
    monkeypatch.chdir(folder)
    given: dict = {}
    exec(program(), given)
    copy = tmp_path / "visits"
    copy.mkdir()
    for name in ("visits.csv", "block_scores.csv"):
        text = (folder / "visits" / name).read_text()
        copy.joinpath(name).write_text(text)
    pd = given["pd"]
    scores = pd.read_csv(copy / "block_scores.csv")
    scores.loc[scores["age_years"] > 50, "scaled"] += np.log(2)
    scores.to_csv(copy / "block_scores.csv", index=False)
    assert given["analysed"](copy).params["decade"] > given["analysed"]("visits").params["decade"] + 0.1
