"""Why something is not judged, and what is wrong with a table folder: codes with values.

A `Refusal` answers in place of a number; a warning is one of the codes in `WARNINGS` and stands
beside a number. A `Fault` names one thing wrong in a file: file, row (1 = the header row, None where
no row applies), column, rule and the value found. The messages here are the only English ones: the command
line of norms prints them, and whoever shows a reason in another language translates the same messages.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field


def N_(text: str) -> str:  # noqa: N802
    """Mark a message for translation, as gettext users know it: its literal is collected from the source."""
    return text


REFUSALS: Mapping[str, str] = {
    "synthetic_with_real_person": N_(
        "The reference data are simulated; they answer demonstration and training visits only."
    ),
    "expired": N_("The table %(table)s expired on %(expires)s."),
    "other_battery": N_("The table is for battery %(table_has)s, this visit used %(visit_has)s."),
    "other_battery_version": N_(
        "The table is for battery version %(table_has)s, this visit used version %(visit_has)s."
    ),
    "other_scoring_version": N_(
        "The table is for scoring version %(table_has)s, this visit was scored by version %(visit_has)s."
    ),
    "other_comparison_version": N_(
        "The table follows comparison rules version %(table_has)s, the rules here are version %(visit_has)s."
    ),
    "measure_missing": N_("The table %(table)s does not hold this measure."),
    "other_input": N_("The table is for %(table_has)s, this visit used %(visit_has)s."),
    "other_device_class": N_(
        "The table is for tablets of class %(table_has)s, this one is of class %(visit_has)s."
    ),
    "device_class_not_named": N_(
        "The table holds several classes of tablet (%(table_has)s); one must be named."
    ),
    "age_outside": N_("The table covers ages %(age_from)s to %(age_to)s, this person is %(age_years)s."),
    "birth_date_too_coarse": N_(
        "The birth date %(birth_date)s is too coarse: its possible days fall in different rows of the table."
    ),
    "no_row_for_sex": N_("The table has no row for sex %(sex)s at this age."),
    "n_below_floor": N_("The reference group is too small here (n %(n)s, at least %(floor_n)s are needed)."),
    "value_outside_scale": N_("The value lies outside the scale on which it is compared."),
    "latency_unknown": N_("The delay of this tablet is not known."),
    "ceiling": N_("At this age a quarter or more of the reference group is near the highest value."),
    "no_direction": N_("This measure has no better direction."),
    "not_comparable": N_("The two visits differ in %(what)s (%(before)s, then %(after)s)."),
    "change_not_bridged": N_(
        "The bridging study does not carry changes over to tablets of class %(visit_has)s."
    ),
    "no_retest_study": N_("The table holds no retest study of this measure."),
    "study_too_small": N_("The retest study is too small (n %(n)s, %(needed)s are needed)."),
    "interval_outside_study": N_(
        "No retest study covers an interval of %(interval)s (%(days_min)s to %(days_max)s days are studied)."
    ),
    "age_band_between": N_("The two visits fall in different age bands."),
    "one_trial_only": N_("It rests on one valid trial where two are the norm."),
    "beyond_percentiles": N_(
        "At one visit it lies below percentile 2 or above 98, where the table does not say how far."
    ),
    "too_few_visits": N_("A series needs %(needed)s visits; there are %(visits)s."),
    "too_many_measures": N_(
        "The correlations rest on too few people (n %(n)s) for %(measures)s measures together."
    ),
    "later_before_earlier": N_("The later visit does not come after the earlier one."),
    "correlation_missing": N_("The table does not say how %(measure_1)s and %(measure_2)s go together."),
    "correlation_not_positive_definite": N_(
        "The correlations in the table contradict each other (smallest eigenvalue %(smallest)s)."
    ),
    "nothing_to_count": N_("No measure is scored."),
    "lag_needs_both": N_("Lag needs both circles, and one is missing."),
}

WARNINGS: Mapping[str, str] = {
    "synthetic": N_("SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE."),
    "small_n": N_("The reference group is small: the ranges are wide."),
    "near_band_edge": N_("The age is near the edge of an age band; the next band answers differently."),
    "language_not_listed": N_("The reference group was not tested with instructions in this language."),
    "one_trial_only": N_("It rests on one valid trial where two are the norm."),
    "carried_over": N_(
        "The reference group used another kind of tablet; a bridging study carries the table over."
    ),
    "highest_value": N_("The value is the highest possible: read the percentile as this or higher."),
    "lowest_value": N_("The value is the lowest possible: read the percentile as this or lower."),
    "small_study": N_("The retest study is small: its limits are unsure."),
    "practice_beyond_study": N_(
        "More earlier visits than the retest study had: limits with its practice gain and with none."
    ),
    "practice_carried": N_("The practice gain of the second visit is taken off every later visit too."),
    "far_from_study": N_("The earlier value lies far from those of the retest study."),
    "small_correlation_n": N_("The correlations rest on few people: the number in 100 is unsure."),
}


@dataclass(frozen=True)
class Refusal:
    """No number is given: `code` says why (a key of `REFUSALS`), `values` holds the plain facts."""

    code: str
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a file."""

    file: str
    row: int | None
    column: str | None
    rule: str
    value: object = None


class TableFaults(ValueError):
    """A file or folder is refused; `faults` lists everything found wrong, not only the first."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(map(fault_sentence, self.faults)))


def sentence(refusal: Refusal) -> str:
    """One plain English sentence, after the measure where it is about one; numbers to two decimals.

    >>> sentence(Refusal("latency_unknown", {"measure": "wander.preferred.delay"}))
    'wander.preferred.delay: The delay of this tablet is not known.'
    >>> sentence(Refusal("interval_outside_study", {"days": 400.0, "days_min": 60, "days_max": 300}))
    'No retest study covers an interval of 400 days (60 to 300 days are studied).'
    """
    facts = {name: _fact(value) for name, value in refusal.values.items()}
    if "days" in facts:
        facts["interval"] = f"{facts['days']} days"
    about = f"{facts['measure']}: " if "measure" in facts else ""
    return about + REFUSALS[refusal.code] % facts


def fault_sentence(fault: Fault) -> str:
    """One plain English sentence naming file, row, column, rule and value.

    >>> fault_sentence(Fault("table.csv", 3, "sd", "must be above 0", "-1"))
    'table.csv row 3, sd: must be above 0, found "-1".'
    """
    place = fault.file
    if fault.row is not None:
        place += f" row {fault.row}"
    if fault.column is not None:
        place += f", {_short(fault.column)}"
    found = "" if fault.value is None else f', found "{_short(fault.value)}"'
    return f"{place}: {fault.rule}{found}."


def _short(value: object) -> str:
    text = "".join(c if c.isprintable() else "?" for c in str(value))
    return text if len(text) <= 60 else text[:57] + "..."


def _fact(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".")
    return "not known" if value is None else str(value)
