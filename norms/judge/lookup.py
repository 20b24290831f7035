"""Which row of a table answers: the checks of a table against one visit, in a fixed order.

A `Sitting` is a visit with all that a table must fit; `ByHand` is a number typed in without a visit. The
first check that does not hold is the refusal. Format, hashes and status are checked when a folder is read.
For a number by hand only measure, device class, age, sex, number of people and the scale are checked.

A visit is at home where its input is the table's and its device class has rows. A signed bridging statement
lets another input or device class be read by the table's own rows; a change between visits that are not all
at home needs a statement that carries earlier visits over.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from norms.table.age import Age, age_on
from norms.table.percentiles import LEAST_N
from norms.table.reasons import Refusal
from norms.table.table import Measure, Row, Table, scaled_value, value_at

if TYPE_CHECKING:
    from norms.table.bridging_statement import Statement

COMPARISON_VERSION = 1
KNOWN_COMPARISON_VERSIONS = (1,)
PURPOSES_OF_SYNTHETIC = ("demo", "training")
SCORES_WITH_LATENCY = ("lag", "delay", "error_rms", "time_on_target")


@dataclass(frozen=True)
class Sitting:
    """What a table must fit. Give `birth_date` (YYYY-MM-DD, YYYY-MM or YYYY) or else `age_years`."""

    purpose: str
    visit_date: date
    battery: str
    battery_version: int
    scoring_version: int
    input: str
    device_class: str
    sex: str
    latency_known: bool
    language: str
    birth_date: str | None = None
    age_years: float | None = None
    comparison_version: int = COMPARISON_VERSION


@dataclass(frozen=True)
class ByHand:
    """A number without a visit; without a device class the table's only one is taken."""

    age_years: float
    sex: str = "not_asked"
    device_class: str | None = None


def age_of(context: Sitting | ByHand) -> Age:
    """Age of the person, with the range a coarse birth date allows."""
    if isinstance(context, Sitting) and context.birth_date is not None:
        return age_on(context.birth_date, context.visit_date)
    if context.age_years is None:
        raise ValueError("age_years, must be given where there is no birth date, None")
    return Age(context.age_years, context.age_years, context.age_years)


def statement_for(table: Table, measure: str, context: Sitting | ByHand) -> "Statement | None":
    """The statement by which a visit away from home is read, None at home and where there is none."""
    if at_home(table, measure, context):
        return None
    here = (context.device_class, context.input if isinstance(context, Sitting) else table.input)
    return next((one for one in table.carried_over
                 if (one.device_class, one.input) == here and one.carried(measure)), None)


def at_home(table: Table, measure: str, context: Sitting | ByHand) -> bool:
    """Whether the table itself is for the input and panel of a visit."""
    if isinstance(context, Sitting) and context.input != table.input:
        return False
    classes = {row.device_class for row in table.rows_of_measure.get(measure, ())}
    return context.device_class is None or context.device_class in classes


def bridged_to(table: Table, measure: str, context: Sitting | ByHand) -> str | None:
    """The device class by whose rows a change is read, None where no change is judged."""
    if at_home(table, measure, context):
        return context.device_class
    statement = statement_for(table, measure, context)
    carried = None if statement is None else statement.carried(measure)
    return statement.from_device_class if statement and carried and carried.visits else None


def visits_bridged(table: Table, before: tuple[str, str], after: tuple[str, str]) -> bool:
    """Whether a change of any measure is judged across two (input, device class)."""
    return any(one.visits and {before, after} <= {
        (table.input, statement.from_device_class), (statement.input, statement.device_class)}
        for statement in table.carried_over for one in statement.measures)


class Query(NamedTuple):
    """One value of one measure, asked of one table."""

    table: Table
    measure: str
    value: float
    context: Sitting | ByHand

    @property
    def known_measure(self) -> Measure:
        return self.table.measure_by_name[self.measure]

    @property
    def known_rows(self) -> tuple[Row, ...]:
        return self.table.rows_of_measure.get(self.measure, ())


def find_row(table: Table, measure: str, value: float, context: Sitting | ByHand) -> Row | Refusal:
    """The row by which a value is read, or the first reason why none is."""
    question = Query(table, measure, value, context)
    refusal = next(filter(None, (check(question) for check in _checks(context))), None)
    return refusal or _row(question)


def row_at(table: Table, measure: str, device_class: str, sex: str, age_years: float) -> Row | None:
    """The row of the person's sex, else of any sex, at an age."""
    here = [row for row in table.rows_of_measure.get(measure, ())
            if row.device_class == device_class and row.covers(age_years)]
    by_sex = {row.sex: row for row in here}
    return by_sex.get(sex) or by_sex.get("any")


def device_class_of(question: Query) -> str | None:
    """The device class asked for or carried over from, or the only one there is."""
    statement = statement_for(question.table, question.measure, question.context)
    if statement is not None:
        return statement.from_device_class
    if question.context.device_class is not None:
        return question.context.device_class
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


def latency_missing(measure: Measure, context: Sitting | ByHand) -> Refusal | None:
    """Refusal of a score that needs the device's latency where a visit does not know it."""
    if isinstance(context, ByHand) or context.latency_known or measure.score not in SCORES_WITH_LATENCY:
        return None
    return Refusal("latency_unknown", {"measure": measure.name})


def _checks(context: Sitting | ByHand) -> tuple[Callable[[Query], Refusal | None], ...]:
    before = _OF_A_VISIT if isinstance(context, Sitting) else ()
    middle = (_input,) if isinstance(context, Sitting) else ()
    return (*before, _measure, *middle, _device_class, _age_and_sex, _people, _domain, _latency, _ceiling)


def _purpose(q: Query) -> Refusal | None:
    sitting = _sitting(q)
    if q.table.status != "synthetic" or sitting.purpose in PURPOSES_OF_SYNTHETIC:
        return None
    return Refusal("synthetic_with_real_person", {"table": q.table.name, "purpose": sitting.purpose})


def _expiry(q: Query) -> Refusal | None:
    visit_date = _sitting(q).visit_date
    if q.table.expires is None or q.table.expires >= visit_date:
        return None
    return Refusal("expired", {"table": q.table.name, "expires": q.table.expires.isoformat(),
                               "visit_date": visit_date.isoformat()})


def _battery(q: Query) -> Refusal | None:
    return _unless_same(q, "other_battery", q.table.battery, _sitting(q).battery)


def _battery_version(q: Query) -> Refusal | None:
    return _unless_same(q, "other_battery_version", q.table.battery_version, _sitting(q).battery_version)


def _scoring_version(q: Query) -> Refusal | None:
    return _unless_same(q, "other_scoring_version", q.table.scoring_version, _sitting(q).scoring_version)


def _comparison_version(q: Query) -> Refusal | None:
    asked = _sitting(q).comparison_version
    known = q.table.comparison_version in KNOWN_COMPARISON_VERSIONS
    return _unless_same(q, "other_comparison_version", q.table.comparison_version,
                        asked if known else COMPARISON_VERSION)


def _measure(q: Query) -> Refusal | None:
    if q.measure not in q.table.measure_by_name or not q.known_rows:
        return Refusal("measure_missing", {"table": q.table.name, "measure": q.measure})
    return None


def _input(q: Query) -> Refusal | None:
    if statement_for(q.table, q.measure, q.context) is not None:
        return None
    return _unless_same(q, "other_input", q.table.input, _sitting(q).input)


def _device_class(q: Query) -> Refusal | None:
    classes = sorted({row.device_class for row in q.known_rows})
    asked = device_class_of(q)
    facts = {"table": q.table.name, "measure": q.measure, "table_has": ", ".join(classes), "visit_has": asked}
    if asked is None:
        return Refusal("device_class_not_named", facts)
    return None if asked in classes else Refusal("other_device_class", facts)


def _age_and_sex(q: Query) -> Refusal | None:
    age = age_of(q.context)
    found = [_row_at_age(q, years) for years in (age.years, age.youngest, age.oldest)]
    if any(row != found[0] for row in found):
        birth_date = q.context.birth_date if isinstance(q.context, Sitting) else None
        return Refusal("birth_date_too_coarse", {"table": q.table.name, "birth_date": birth_date})
    if found[0] is not None:
        return None
    facts: dict[str, object] = {"table": q.table.name, "measure": q.measure, "age_years": age.years}
    rows = [row for row in q.known_rows if row.device_class == device_class_of(q)]
    if any(row.covers(age.years) for row in rows):
        return Refusal("no_row_for_sex", {**facts, "sex": q.context.sex})
    return Refusal("age_outside", {**facts, "age_from": min(row.age_from for row in rows),
                                   "age_to": max(row.age_to for row in rows)})


def _people(q: Query) -> Refusal | None:
    return too_few(q.table, q.measure, _row(q))


def _domain(q: Query) -> Refusal | None:
    return outside_scale(q.table, q.known_measure, q.value)


def _ceiling(q: Query) -> Refusal | None:
    """No standing where the upper quarter of a share begins above 99 %."""
    measure, row = q.known_measure, _row(q)
    if measure.scale != "logit":
        return None
    top = float(scaled_value(q.table, measure, 0.99 * measure.whole))
    if row.mean + 0.6745 * row.sd <= top:
        return None
    return Refusal("ceiling", {"measure": q.measure,
                               "upper_quarter": float(value_at(q.table, measure, row, 0.6745))})


def _latency(q: Query) -> Refusal | None:
    return latency_missing(q.known_measure, q.context)


_OF_A_VISIT = (_purpose, _expiry, _battery, _battery_version, _scoring_version, _comparison_version)


def _unless_same(q: Query, code: str, table_has: object, visit_has: object) -> Refusal | None:
    if table_has == visit_has:
        return None
    return Refusal(code, {"table": q.table.name, "table_has": table_has, "visit_has": visit_has})


def _sitting(q: Query) -> Sitting:
    if not isinstance(q.context, Sitting):
        raise TypeError("context, must be a Sitting for the checks of a visit, ByHand")
    return q.context


def _row_at_age(q: Query, years: float) -> Row | None:
    return row_at(q.table, q.measure, device_class_of(q) or "", q.context.sex, years)


def _row(q: Query) -> Row:
    row = _row_at_age(q, age_of(q.context).years)
    if row is None:
        raise LookupError(f"row, must exist once the checks of age and sex hold, {q.measure}")
    return row
