"""What a built table is worth, in a word and its reasons: usable, usable with caution, not yet.

not yet       the people are too few for a curve: at more than half of the ages a primary measure is as good
              as fewer than floor_n people. No table is written; how many more people of what age is said
usable        every age of every primary measure is as good as warn_n people or more, a retest study of 50 or
              more, nothing odd in the checks, and the table says who was tested
with caution  all between

Decision norms-4.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from norms.build.fit_checks import BY_SEX, Check, check_of
from norms.build.recruiting import RecruitmentNeed, parabola_effective_n, recruitment_needs
from norms.build.retest_study import RowsByMeasure
from norms.build.sample import Sample
from norms.build.template import Template
from norms.table.grade import GRADE_WORDS, row_grade
from norms.table.table import PRIMARY_MEASURES, Table

USABLE, CAUTION, NOT_YET = "usable", "usable with caution", "not yet"
RETEST_ENOUGH, FIRST_GRADE_ENOUGH = 50, 2
WIDE_GAP_YEARS, LEAST_SPAN_YEARS = 5.0, 5.0


@dataclass(frozen=True)
class Verdict:
    """The word, its reasons as sentences, people still needed, the checks, what was left out for what."""

    word: str
    reasons: tuple[str, ...]
    more: tuple[RecruitmentNeed, ...]
    people: int
    checks: tuple[Check, ...]
    left_out: Mapping[str, int]
    thin: Mapping[str, int]


def too_few(sample: Sample, measures: Sequence[str], template: Template) -> Verdict | None:
    """Not yet, where the ages of the people alone show it; None where a table may be tried."""
    if template.method == "bands" or not measures:
        return None
    judged = [name for name in PRIMARY_MEASURES if name in measures] or list(measures)
    scarce = min(judged, key=lambda name: len(sample.lines_of(name, again=False)))
    ages = sample.people(scarce).age_years
    if len(ages) < 2 or np.ptp(ages) < LEAST_SPAN_YEARS:
        of = f" of {ages.min():.1f} to {ages.max():.1f} years" if len(ages) > 1 else ""
        reason = (
            f"{scarce}: {len(ages)} people{of}; a curve over age needs {LEAST_SPAN_YEARS:g} years or more "
            "between the youngest and the oldest"
        )
        return _not_yet(sample, (reason,), ())
    at = np.linspace(ages.min(), ages.max(), 61)
    good = parabola_effective_n(ages, float(ages.min()), float(ages.max()), at)
    if (good >= template.floor_n).mean() >= 0.5:
        return None
    more = recruitment_needs(ages, float(ages.min()), float(ages.max()), template.floor_n)
    reason = (
        f"{scarce}: {len(ages)} people of {ages.min():.0f} to {ages.max():.0f} years are worth "
        f"{good.min():.0f} to {good.max():.0f}, depending on the age; {template.floor_n} are needed"
    )
    return _not_yet(sample, (reason,), more)


def verdict_of(
    sample: Sample, book: RowsByMeasure, table: Table, template: Template, thin: Mapping[str, int]
) -> Verdict:
    """The verdict on a built table."""
    checks = tuple(check_of(sample, name, rows) for name, rows in book.items())
    judged = [name for name in PRIMARY_MEASURES if name in book] or list(book)
    people = min(check.people for check in checks if check.measure in judged)
    worth = {
        name: [row.n_of_mean for row in table.rows_of_measure[name] if row.sex == "any"] for name in judged
    }
    ages = sample.people(min(judged, key=lambda name: min(worth[name]))).age_years
    low, high = float(ages.min()), float(ages.max())
    if any(np.mean([n >= template.floor_n for n in of]) < 0.5 for of in worth.values()):
        more = recruitment_needs(ages, low, high, template.floor_n)
        return Verdict(
            NOT_YET, tuple(_thin_ages(worth, template.floor_n)), more, people, checks, sample.left_out, thin
        )
    cautions = [
        *_thin_ages(worth, template.floor_n, "no standing is given there"),
        *_thin_ages(worth, template.warn_n, "ranges are wide there"),
        *_of_the_table(table, judged),
        *_of_the_checks(checks, judged, book),
        *_of_the_sample(thin, book),
    ]
    wanting = any(min(of) < template.warn_n for of in worth.values()) and template.method != "bands"
    more = recruitment_needs(ages, low, high, template.warn_n) if wanting else ()
    return Verdict(
        CAUTION if cautions else USABLE, tuple(cautions), more, people, checks, sample.left_out, thin
    )


def _not_yet(sample: Sample, reasons: tuple[str, ...], more: tuple[RecruitmentNeed, ...]) -> Verdict:
    people = len(np.unique(sample.person[~sample.again]))
    return Verdict(NOT_YET, reasons, more, people, (), sample.left_out, {})


def _thin_ages(worth: Mapping[str, Sequence[float]], n: int, so: str = "") -> list[str]:
    """One sentence for all measures with ages that are as good as fewer than n people."""
    lowest = {name: min(of) for name, of in worth.items() if min(of) < n}
    if not lowest:
        return []
    ages = max(sum(one < n for one in worth[name]) for name in lowest)
    return [
        f"{len(lowest)} of {len(worth)} measures have ages ({ages} rows or fewer) that are as good as fewer "
        f"than {n} people, at the least {min(lowest.values()):.0f}" + (f": {so}" if so else "")
    ]


def _of_the_table(table: Table, judged: Iterable[str]) -> Iterable[str]:
    grade = min(row_grade(table, row) for row in table.rows)
    if grade < FIRST_GRADE_ENOUGH:
        yield f"size of the sample: grade {grade} of 4 ({GRADE_WORDS[grade]})"
    studies = {
        name: max((one.n for one in table.retest if one.measure == name), default=0) for name in judged
    }
    few = [name for name, n in studies.items() if n < RETEST_ENOUGH]
    if few:
        yield (
            f"the retest study of {len(few)} measures has fewer than {RETEST_ENOUGH} pairs (at the least "
            f"{min(studies[name] for name in few)}): a change is judged from 20 on, and unsurely below "
            f"{RETEST_ENOUGH}"
        )
    if table.not_stated:
        yield f"the table does not say: {', '.join(name.replace('_', ' ') for name in table.not_stated)}"


def _of_the_checks(checks: Iterable[Check], judged: Sequence[str], book: RowsByMeasure) -> Iterable[str]:
    for check in checks:
        if check.odd and check.measure in judged:
            yield f"{check.measure} does not fit everywhere: {'; '.join(check.odd)}"
        start, end = check.largest_gap
        if end - start > WIDE_GAP_YEARS and check.measure in judged:
            yield f"{check.measure}: nobody between {start:.0f} and {end:.0f} years"
        for effect in check.effects:
            held = effect.what == BY_SEX and len(book[check.measure]) > 1
            if effect.sure and not held and check.measure in judged:
                yield (
                    f"{check.measure} changes by {effect.size:+.2f} SD (SE {effect.se:.2f}) with "
                    f"{effect.what}, which the rows do not hold"
                )


def _of_the_sample(thin: Mapping[str, int], book: RowsByMeasure) -> Iterable[str]:
    missing = [name for name in PRIMARY_MEASURES if name not in book]
    if missing:
        yield f"no rows for {', '.join(missing)}"
    for name, n in thin.items():
        yield f"{name} is left out: {n} people"
