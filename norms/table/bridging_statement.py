"""The signed statement of a bridging study in a table's datapackage.json (reference_table.carried_over).

It names the other panel or input, the numbers of each measure, who signed by role and when, the hashes of
the table's files and of the study's, and a hash over all of it. It holds only while all of that fits and
while the numbers themselves carry what it says; otherwise it is a fault and the folder answers nothing. The
hash shows a change; it is no proof of who wrote it. Decision norms-16.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from norms.table.bridging_rule import Study, bridge
from norms.table.datapackage import MOST, is_number
from norms.table.reasons import Fault
from norms.table.signed_statement import check_signer, faults_of, listed, seal_rules, text_of, with_digest

KEY = "carried_over"
LEAST_SD = 1e-6  # of z


@dataclass(frozen=True)
class Carried:
    """One measure: whether the table and whether earlier visits are carried over, by these numbers."""

    measure: str
    table: bool
    visits: bool
    study: Study


@dataclass(frozen=True)
class Statement:
    """From the panel of the table to another panel or input."""

    device_class: str
    input: str
    from_device_class: str
    measures: tuple[Carried, ...]
    role: str
    date: str
    study_sha256: str
    of: Mapping[str, str]

    def carried(self, measure: str) -> Carried | None:
        """What is carried over of a measure, None where nothing is."""
        return next((one for one in self.measures if one.measure == measure and one.table), None)


def as_json(said: Statement) -> dict[str, object]:
    """As it stands in datapackage.json, with its own hash."""
    return with_digest(asdict(said))


def statements_of(reference: Mapping[str, object]) -> tuple[Statement, ...]:
    """The statements of a table that has been read, all of which hold."""
    return tuple(_statement(one) for one in listed(reference, KEY))


def statement_faults(reference: Mapping[str, object], hashes: Mapping[str, str]) -> list[Fault]:
    """What is wrong with the statements of a table whose files have these hashes."""
    return faults_of(reference, KEY, lambda said: _broken(said, hashes))


def _broken(said: object, hashes: Mapping[str, str]) -> list[str]:
    try:
        statement = _statement(said)
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        return [f"must be as norms bridge writes it ({type(error).__name__} {error})"]
    rules = {
        **seal_rules(said, statement.of, hashes),
        "must say no more than its numbers carry by the rule of today (norms bridge signs anew)": any(
            (one.table, one.visits) != (bridge(one.study).table, bridge(one.study).visits)
            for one in statement.measures),
        "must carry a measure": not any(one.table for one in statement.measures),
    }
    return [rule for rule, breaks in rules.items() if breaks]


def _statement(said: object) -> Statement:
    if not isinstance(said, dict):
        raise TypeError("an object is missing")
    check_signer(said["role"], said["input"], said["date"])
    return Statement(
        text_of(said["device_class"]), said["input"], text_of(said["from_device_class"]),
        tuple(_carried(one) for one in said["measures"]), said["role"], said["date"],
        text_of(said["study_sha256"]), {str(key): str(of) for key, of in said["of"].items()})


def _carried(said: Mapping[str, object]) -> Carried:
    numbers = said["study"]
    if not isinstance(numbers, dict) or not isinstance(said["table"], bool) or not isinstance(
            said["visits"], bool):
        raise TypeError("study, table and visits, must be given")
    for key, value in numbers.items():
        missing = key in ("retest_sd", "retest_n") and value is None
        if not missing and not is_number(value):
            raise TypeError(f"{key}, must be a number within {MOST} of 0")
    study = Study(**numbers)
    spreads = study.sd_of_differences, study.sd_table, study.sd_other
    if study.retest_n is not None and not study.retest_n >= 4:
        raise ValueError("retest_n, must be 4 or more")
    if study.retest_sd is not None and not study.retest_sd >= LEAST_SD:
        raise ValueError(f"retest_sd, must be {LEAST_SD} or more")
    if not (study.n >= 4 and min(spreads) >= LEAST_SD and abs(study.r) < 1):
        raise ValueError("study, must be one of 4 people or more who differ")
    return Carried(text_of(said["measure"]), said["table"], said["visits"], study)
