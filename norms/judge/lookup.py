"""Which row of a table fits: the checks of a table against one sitting, in a fixed order.

The first check that does not hold is the refusal. Format, hashes and status are checked when a folder
is read. For a number typed in by hand only measure, device class, age, sex, number of people and the scale
are checked. A signed bridging statement lets another input or device class be read by the table's own.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from norms.table.linking import statement_for
from norms.table.percentiles import LEAST_N
from norms.table.query_context import COMPARISON_VERSION, ByHand, Sitting, age_of
from norms.table.reasons import Refusal
from norms.table.table import Measure, Row, Table, scaled_value, value_at

__all__ = ["COMPARISON_VERSION", "ByHand", "Question", "Sitting", "age_of", "device_class_of", "find_row",
           "latency_missing", "outside_scale", "row_at", "too_few"]

KNOWN_COMPARISON_VERSIONS = (1,)
PURPOSES_OF_SYNTHETIC = ("demo", "training")
SCORES_WITH_LATENCY = ("lag", "delay", "error_rms", "time_on_target")


class Question(NamedTuple):
    """One value of one measure, asked of one table."""

    table: Table
    measure: str
    value: float
    asker: Sitting | ByHand

    @property
    def known_measure(self) -> Measure:
        return self.table.measure_by_name[self.measure]

    @property
    def known_rows(self) -> tuple[Row, ...]:
        return self.table.rows_of_measure.get(self.measure, ())


def find_row(table: Table, measure: str, value: float, asker: Sitting | ByHand) -> Row | Refusal:
    """The row by which a value is read, or the first reason why none is."""
    question = Question(table, measure, value, asker)
    refusal = next(filter(None, (check(question) for check in _checks(asker))), None)
    return refusal or _row(question)


def row_at(table: Table, measure: str, device_class: str, sex: str, age_years: float) -> Row | None:
    """The row of the person's sex, else of any sex, at an age."""
    here = [row for row in table.rows_of_measure.get(measure, ())
            if row.device_class == device_class and row.covers(age_years)]
    by_sex = {row.sex: row for row in here}
    return by_sex.get(sex) or by_sex.get("any")


def device_class_of(question: Question) -> str | None:
    """The device class asked for or carried over from, or the only one there is."""
    statement = statement_for(question.table, question.measure, question.asker)
    if statement is not None:
        return statement.from_device_class
    if question.asker.device_class is not None:
        return question.asker.device_class
    classes = {row.device_class for row in question.known_rows}
    return classes.pop() if len(classes) == 1 else None


def outside_scale(table: Table, measure: Measure, value: float) -> Refusal | None:
    """Refusal of a value that its scale cannot hold."""
    if np.isfinite(scaled_value(table, measure, value)):
        return None
    rule = {"logit": f"from 0 to {measure.whole:g}", "identity": "a number from -1e9 to 1e9"}
    return Refusal("value_outside_scale", {"measure": measure.name, "value": value, "scale": measure.scale,
                                           "rule": rule.get(measure.scale, "a number above 0, to 1e9")})


def too_few(table: Table, measure: str, row: Row) -> Refusal | None:
    """Refusal of a row that rests on too few people; the outer percentile columns need 49 themselves."""
    floor_n = max(table.floor_n, LEAST_N) if table.by_percentiles(measure) else table.floor_n
    if row.n_of_mean >= floor_n:
        return None
    return Refusal("n_below_floor", {"measure": measure, "n": row.n_of_mean, "floor_n": floor_n})


def latency_missing(measure: Measure, asker: Sitting | ByHand) -> Refusal | None:
    """Refusal of a score that needs the device's latency where a visit does not know it."""
    if isinstance(asker, ByHand) or asker.latency_known or measure.score not in SCORES_WITH_LATENCY:
        return None
    return Refusal("latency_unknown", {"measure": measure.name})


def _checks(asker: Sitting | ByHand) -> tuple[Callable[[Question], Refusal | None], ...]:
    before = _OF_A_VISIT if isinstance(asker, Sitting) else ()
    middle = (_input,) if isinstance(asker, Sitting) else ()
    return (*before, _measure, *middle, _device_class, _age_and_sex, _people, _domain, _latency, _ceiling)


def _purpose(q: Question) -> Refusal | None:
    sitting = _sitting(q)
    if q.table.status != "synthetic" or sitting.purpose in PURPOSES_OF_SYNTHETIC:
        return None
    return Refusal("synthetic_with_real_person", {"table": q.table.name, "purpose": sitting.purpose})


def _expiry(q: Question) -> Refusal | None:
    visit_date = _sitting(q).visit_date
    if q.table.expires is None or q.table.expires >= visit_date:
        return None
    return Refusal("expired", {"table": q.table.name, "expires": q.table.expires.isoformat(),
                               "visit_date": visit_date.isoformat()})


def _battery(q: Question) -> Refusal | None:
    return _unless_same(q, "other_battery", q.table.battery, _sitting(q).battery)


def _battery_version(q: Question) -> Refusal | None:
    return _unless_same(q, "other_battery_version", q.table.battery_version, _sitting(q).battery_version)


def _scoring_version(q: Question) -> Refusal | None:
    return _unless_same(q, "other_scoring_version", q.table.scoring_version, _sitting(q).scoring_version)


def _comparison_version(q: Question) -> Refusal | None:
    asked = _sitting(q).comparison_version
    known = q.table.comparison_version in KNOWN_COMPARISON_VERSIONS
    return _unless_same(q, "other_comparison_version", q.table.comparison_version,
                        asked if known else COMPARISON_VERSION)


def _measure(q: Question) -> Refusal | None:
    if q.measure not in q.table.measure_by_name or not q.known_rows:
        return Refusal("measure_missing", {"table": q.table.name, "measure": q.measure})
    return None


def _input(q: Question) -> Refusal | None:
    if statement_for(q.table, q.measure, q.asker) is not None:
        return None
    return _unless_same(q, "other_input", q.table.input, _sitting(q).input)


def _device_class(q: Question) -> Refusal | None:
    classes = sorted({row.device_class for row in q.known_rows})
    asked = device_class_of(q)
    facts = {"table": q.table.name, "measure": q.measure, "table_has": ", ".join(classes), "visit_has": asked}
    if asked is None:
        return Refusal("device_class_not_named", facts)
    return None if asked in classes else Refusal("other_device_class", facts)


def _age_and_sex(q: Question) -> Refusal | None:
    age = age_of(q.asker)
    found = [_row_at_age(q, years) for years in (age.years, age.youngest, age.oldest)]
    if any(row != found[0] for row in found):
        birth_date = q.asker.birth_date if isinstance(q.asker, Sitting) else None
        return Refusal("birth_date_too_coarse", {"table": q.table.name, "birth_date": birth_date})
    if found[0] is not None:
        return None
    facts: dict[str, object] = {"table": q.table.name, "measure": q.measure, "age_years": age.years}
    rows = [row for row in q.known_rows if row.device_class == device_class_of(q)]
    if any(row.covers(age.years) for row in rows):
        return Refusal("no_row_for_sex", {**facts, "sex": q.asker.sex})
    return Refusal("age_outside", {**facts, "age_from": min(row.age_from for row in rows),
                                   "age_to": max(row.age_to for row in rows)})


def _people(q: Question) -> Refusal | None:
    return too_few(q.table, q.measure, _row(q))


def _domain(q: Question) -> Refusal | None:
    return outside_scale(q.table, q.known_measure, q.value)


def _ceiling(q: Question) -> Refusal | None:
    """No standing where the upper quarter of a share begins above 99 %."""
    measure, row = q.known_measure, _row(q)
    if measure.scale != "logit":
        return None
    top = float(scaled_value(q.table, measure, 0.99 * measure.whole))
    if row.mean + 0.6745 * row.sd <= top:
        return None
    return Refusal("ceiling", {"measure": q.measure,
                               "upper_quarter": float(value_at(q.table, measure, row, 0.6745))})


def _latency(q: Question) -> Refusal | None:
    return latency_missing(q.known_measure, q.asker)


_OF_A_VISIT = (_purpose, _expiry, _battery, _battery_version, _scoring_version, _comparison_version)


def _unless_same(q: Question, code: str, table_has: object, visit_has: object) -> Refusal | None:
    if table_has == visit_has:
        return None
    return Refusal(code, {"table": q.table.name, "table_has": table_has, "visit_has": visit_has})


def _sitting(q: Question) -> Sitting:
    if not isinstance(q.asker, Sitting):
        raise TypeError("asker, must be a Sitting for the checks of a visit, ByHand")
    return q.asker


def _row_at_age(q: Question, years: float) -> Row | None:
    return row_at(q.table, q.measure, device_class_of(q) or "", q.asker.sex, years)


def _row(q: Question) -> Row:
    row = _row_at_age(q, age_of(q.asker).years)
    if row is None:
        raise LookupError(f"row, must exist once the checks of age and sex hold, {q.measure}")
    return row
