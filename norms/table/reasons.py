"""Why something is not judged, and what is wrong with a table folder: codes with values.

A `Refusal` answers in place of a number; a warning is one of the codes in `WARNINGS` and stands
beside a number. A `Fault` names one thing wrong in a file: file, row (1 = the header row, None where
no row applies), column, rule and the value found. The sentences here are the English of the command
line; whoever shows a reason in another language words it anew from the code and its values.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

REFUSALS: Mapping[str, str] = {
    "synthetic_with_real_person":
        "Table %(table)s is synthetic: it answers only visits of purpose demo or training, not %(purpose)s.",
    "expired": "Table %(table)s expired on %(expires)s, before the visit of %(visit_date)s.",
    "other_battery": "Table %(table)s is for battery %(table_has)s; this visit used %(visit_has)s.",
    "other_battery_version":
        "Table %(table)s is for battery version %(table_has)s; this visit used version %(visit_has)s.",
    "other_scoring_version":
        "Table %(table)s is for scoring version %(table_has)s; this visit was scored by version "
        "%(visit_has)s.",
    "other_comparison_version":
        "Table %(table)s follows comparison rules version %(table_has)s; the rules here are version "
        "%(visit_has)s.",
    "measure_missing": "Table %(table)s holds no measure %(measure)s.",
    "other_input": "Table %(table)s is for input %(table_has)s; this visit used %(visit_has)s.",
    "other_device_class":
        "Table %(table)s holds %(measure)s for device class %(table_has)s, not for %(visit_has)s.",
    "device_class_not_named":
        "Table %(table)s holds %(measure)s for several device classes (%(table_has)s): name one of them.",
    "age_outside": "Age %(age_years).2f is outside the ages %(age_from)g to %(age_to)g of table %(table)s "
                   "for %(measure)s.",
    "birth_date_too_coarse":
        "The birth date %(birth_date)s is too coarse: its possible days fall in different rows of table "
        "%(table)s.",
    "no_row_for_sex": "Table %(table)s has no row of %(measure)s for sex %(sex)s and none for any sex "
                      "at age %(age_years).2f.",
    "n_below_floor": "The row of %(measure)s rests on n %(n)g, below the floor of %(floor_n)d.",
    "value_outside_scale": "The value %(value)s of %(measure)s is outside its scale %(scale)s (%(rule)s).",
    "latency_unknown": "The device's latency is not known, so %(measure)s is not compared.",
    "ceiling": "%(measure)s has no standing at this age: a quarter or more of the reference group is near "
               "its highest value.",
    "no_direction": "%(measure)s has no better direction, so a change in it is not judged.",
    "not_comparable": "The two visits differ in %(what)s (%(before)s, then %(after)s), so change is not "
                      "judged.",
    "change_not_bridged": "The bridging study of %(measure)s does not carry changes over to device class "
                          "%(visit_has)s, so change is not judged.",
    "no_retest_study": "Table %(table)s holds no retest study of %(measure)s for this person.",
    "study_too_small": "The retest study of %(measure)s has n %(n)d; judging a change needs %(needed)d.",
    "interval_outside_study": "The visits lie %(days)g days apart; the retest study covers %(days_min)g to "
                              "%(days_max)g days, so the difference is shown without judgement.",
    "age_band_between": "The visits lie %(days)g days apart and in different age bands, so change is not "
                        "judged.",
    "one_trial_only": "%(measure)s rests on one valid trial where two are the norm, so change is not judged.",
    "beyond_percentiles": "%(measure)s lies below percentile 2 or above 98 at one visit, where its size is "
                          "not known, so change is not judged.",
    "too_few_visits": "A series of %(measure)s needs %(needed)d visits; there are %(visits)d.",
    "too_many_measures": "Correlations from n %(n)g are too few for %(measures)d measures together.",
    "later_before_earlier": "The later visit must come after the earlier one; the days between are %(days)g.",
    "correlation_missing": "Table %(table)s holds no %(kind)s correlation of %(measure_1)s with "
                           "%(measure_2)s, so no chance is given.",
    "correlation_not_positive_definite":
        "The %(kind)s correlations of table %(table)s are not positive definite (smallest eigenvalue "
        "%(smallest)s), so no chance is given.",
    "nothing_to_count": "No measure is scored, so there is nothing to count.",
    "lag_needs_both": "The lag on circles needs both circle blocks; one is missing.",
}

WARNINGS: Mapping[str, str] = {
    "synthetic": "Simulated reference data: not for use with real people.",
    "small_n": "The row rests on few people: the ranges are wide.",
    "near_band_edge": "The age is near the edge of an age band: the neighbouring row answers as shown.",
    "language_not_listed": "The table was not made with instructions in the language of this visit.",
    "one_trial_only": "The score rests on one valid trial where two are the norm.",
    "carried_over": "The table was made on another kind of panel or input; a bridging study carries it over.",
    "highest_value": "The value is the highest possible: read the percentile as this or higher.",
    "lowest_value": "The value is the lowest possible: read the percentile as this or lower.",
    "small_study": "The retest study is small: its limits are unsure.",
    "practice_beyond_study": "More earlier visits than the retest study covers: limits with its practice "
                             "gain and with none.",
    "practice_carried": "The practice gain of the second visit is taken off every later one too.",
    "far_from_study": "The first value lies more than 3 SD from the mean of the retest study.",
    "small_correlation_n": "The correlations rest on few people: the chance is unsure.",
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
    """One plain English sentence.

    >>> sentence(Refusal("latency_unknown", {"measure": "wander.preferred.delay"}))
    "The device's latency is not known, so wander.preferred.delay is not compared."
    """
    return REFUSALS[refusal.code] % refusal.values


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
