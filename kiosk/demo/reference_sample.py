"""A sample of simulated people, and the demo's reference table made from it.

Every person is a simulated hand of pursuit/simulated_hand.py that does the whole battery; recordings are
scored like any other. Ages are spread evenly over seven bands. The numbers say nothing about real
people. Decision norms-8.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.random import Generator

from kiosk.pursuit.battery import Battery
from kiosk.pursuit.simulated_hand import Hand, day_to_day, later, move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.catalogue import SCORING_VERSION
from kiosk.scoring.score import score_trial
from kiosk.scoring.trial_scores import BlockScore
from norms import write_folder
from norms.build.build import build_table
from norms.build.sample import SAMPLE, read_sample
from norms.build.template import template

PEOPLE: Final = 720
PAIRS: Final = 140
BANDS: Final = (18.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 91.0)
DAYS: Final = (150, 210)
DAYS_IN_A_YEAR: Final = 365.25
CREATED: Final = "2026-01-05T00:00:00Z"
ABOUT: Final = {
    "name": "harbour-street-simulated",
    "id": "harbour-street-simulated-2",
    "title": "Simulated reference table of the demo",
    "description": "Made from simulated hands by the kiosk's own pipeline. Not for use with people.",
    "version": "2.0.0",
    "contributors": [{"title": "Harbour Street demonstration clinic (invented)", "roles": ["author"]}],
    "lms": "never",
}


@dataclass(frozen=True)
class Sitter:
    """One simulated person's visit: who, when, and at what age."""

    person: str
    visit: int
    purpose: str
    age_years: float
    day: int


def write_demo_norms(folder: Path, seed: int, battery: Battery) -> None:
    """Simulate the sample, build its table and write the folder."""
    sample = read_sample("sample.csv", sample_csv(seed, battery).encode())
    write_folder(folder, build_table(sample, template(_about(seed, battery), CREATED), seed).files)


def _about(seed: int, battery: Battery) -> dict[str, object]:
    reference = {
        "status": "synthetic",
        "population": f"simulated hands of {PEOPLE + PAIRS} invented people",
        "country": "none",
        "setting": "simulation",
        "sampling": f"seed {seed}, ages even over the bands",
        "exclusions": "none",
        "tested_from": "2026-01-05",
        "tested_to": "2026-01-05",
        "window_s": {block.id: block.window_s for block in battery.blocks if block.scored},
    }
    sources = [{"title": "simulated hands of the pursuit kiosk (kiosk demo --norms)"}]
    return ABOUT | {"sources": sources, "reference_table": reference}


def sample_csv(seed: int, battery: Battery, people: int = PEOPLE, pairs: int = PAIRS) -> str:
    """The sample as CSV of norms/build/sample.py: `people` reference visits, then `pairs` retest pairs."""
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow([column.name for column in SAMPLE.columns])
    for index in range(people + pairs):
        rng = np.random.default_rng([seed, index])
        age_years = float(rng.uniform(*_band(index)))
        sitters = _reference(index, age_years) if index < people else _pair(index, age_years, rng)
        out.writerows(_rows(sitters, typical_hand(age_years, rng), battery, rng))
    return text.getvalue()


def _band(index: int) -> tuple[float, float]:
    place = index % (len(BANDS) - 1)
    return BANDS[place], BANDS[place + 1]


def _reference(index: int, age_years: float) -> list[Sitter]:
    return [Sitter(f"S{index:04d}", 1, "reference", age_years, 0)]


def _pair(index: int, age_years: float, rng: Generator) -> list[Sitter]:
    """Two visits; the later one still within the ages of the table."""
    days = int(rng.integers(DAYS[0], DAYS[1] + 1))
    first = min(age_years, BANDS[-1] - 0.01 - days / DAYS_IN_A_YEAR)
    return [
        Sitter(f"S{index:04d}", 1, "retest", first, 0),
        Sitter(f"S{index:04d}", 2, "retest", first + days / DAYS_IN_A_YEAR, days),
    ]


def _rows(sitters: Sequence[Sitter], hand: Hand, battery: Battery, rng: Generator) -> Iterator[list[object]]:
    for sitter in sitters:
        today = day_to_day(later(hand, sitter.visit - 1), rng)
        form = "A" if sitter.visit % 2 else "B"
        for score in simulate_visit(today, battery, form, rng).values():
            if score.value is not None:
                yield _row(sitter, score, battery)


def simulate_visit(hand: Hand, battery: Battery, form: str, rng: Generator) -> dict[str, BlockScore]:
    """Block scores of one whole battery of this hand, practice left out."""
    plans = [
        battery.plan(block.id, block.hand, number, form=form)
        for block in battery.blocks
        if block.scored
        for number in range(1, block.trials + 1)
    ]
    return score_blocks(
        [(plan, score_trial(_record(hand, plan, rng, place))) for place, plan in enumerate(plans, start=1)],
        battery,
    )


def _record(hand: Hand, plan: TrialPlan, rng: Generator, place: int) -> TrialRecord:
    facts = TrialFacts(latency_ms=0.0, latency_source="simulated", calibrated=True)
    return TrialRecord(plan, move(hand, plan, rng, trial_index=place), facts)


def _row(sitter: Sitter, score: BlockScore, battery: Battery) -> list[object]:
    variance = "" if score.trial_variance is None else repr(score.trial_variance)
    return [
        sitter.person,
        sitter.visit,
        sitter.purpose,
        "yes",
        repr(sitter.age_years),
        "not_asked",
        "simulated",
        "finger",
        sitter.day,
        sitter.visit - 1,
        battery.id,
        battery.version,
        SCORING_VERSION,
        score.measure,
        repr(score.value),
        repr(score.scaled),
        variance,
        score.n_trials,
    ]
