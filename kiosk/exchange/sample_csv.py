"""Reference and retest visits as the sample file from which norms builds a table.

One line a visit and measure (columns: norms/build/sample.py). Persons bear running numbers instead of their
codes, ages are rounded to a hundredth of a year, dates are only days since the person's first visit. People
of 90 years and more are left out and counted, as so high an age tells who someone is. Decision norms-7.
"""

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TextIO

from kiosk.exchange.deidentification import DECIMALS, age_at, day_since, running_code, why_left_out
from kiosk.scoring.catalogue import is_fact
from kiosk.scoring.trial_scores import BlockScore
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit
from norms.build.sample import SAMPLE
from norms.judge.lookup import SCORES_WITH_LATENCY

COLUMNS: Final = (*SAMPLE.columns, *SAMPLE.optional)
NOT_NAMED: Final = "not named"  # a tablet whose panel the site has not named: it could be any


@dataclass(frozen=True)
class SampleVisit:
    """One visit with what a line needs: the panel, the version and the scores of its latest scoring."""

    visit: Visit
    device_class: str
    scoring_version: int
    blocks: Mapping[str, BlockScore]


@dataclass
class SampleCount:
    """How many lines of how many people were written; left out: visits or scores by the code of a reason."""

    lines: int
    people: int
    left_out: dict[str, int]


def write_header(out: TextIO) -> None:
    """The header row."""
    csv.writer(out, lineterminator="\n").writerow([column.name for column in COLUMNS])


def write_person(
    person: Person, number: int, visits: Sequence[SampleVisit], out: TextIO, count: SampleCount
) -> None:
    """The lines of one person, visits oldest first; `number` stands for who they are."""
    writer, first, before = csv.writer(out, lineterminator="\n"), visits[0].visit, count.lines
    for one in visits:
        if one.device_class == NOT_NAMED:
            _leave(count, "panel_not_named")
            continue
        age_years = age_at(person, one.visit)
        reason = why_left_out(age_years)
        if age_years is None or reason is not None:
            _leave(count, reason or "age_not_known")
            continue
        shared = _shared(person, number, one, age_years, first)
        for block in _usable(one, count):
            writer.writerow([*shared, *_score(block), _cell(person.education_years)])
            count.lines += 1
    count.people += count.lines > before


def _usable(one: SampleVisit, count: SampleCount) -> Iterable[BlockScore]:
    """Block scores that a table may judge: no facts, and none that needs a latency nobody knows."""
    for block in one.blocks.values():
        if block.value is None or block.scaled is None or is_fact(block.measure):
            continue
        score = block.measure.rpartition(".")[2]
        if one.visit.latency_ms is None and score in SCORES_WITH_LATENCY:
            _leave(count, "latency_unknown")
            continue
        yield block


def _shared(
    person: Person, number: int, one: SampleVisit, age_years: float, first: Visit
) -> list[str | int | float]:
    visit = one.visit
    return [
        running_code(number),
        visit.earlier_visits + 1,
        visit.purpose,
        visit.research_use,
        round(age_years, DECIMALS),
        person.sex,
        one.device_class,
        visit.input,
        round(day_since(first, visit), DECIMALS),
        visit.earlier_visits,
        visit.battery,
        visit.battery_version,
        one.scoring_version,
    ]


def _score(block: BlockScore) -> list[str | int]:
    figures = [_cell(value) for value in (block.value, block.scaled, block.trial_variance)]
    return [block.measure, *figures, block.n_trials]


def _cell(value: float | None) -> str:
    return "" if value is None else repr(float(value))


def _leave(count: SampleCount, code: str) -> None:
    count.left_out[code] = count.left_out.get(code, 0) + 1
