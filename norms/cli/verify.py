"""The command `norms verify`: may a table from elsewhere be used here? Local healthy people against it."""

import argparse
import json
from collections.abc import Iterator

from norms.build.build import checked_values
from norms.build.sample import SEXES, Sample, read_sample
from norms.build.template import template
from norms.cli.arguments import UsageError
from norms.cli.output import as_json, complain
from norms.table.datapackage import hash_of
from norms.table.folder import read_folder
from norms.table.reasons import Fault, TableFaults
from norms.table.table import Measure, Table
from norms.table.verification import (
    CAUTION,
    LEAST_PEOPLE,
    MARGIN_MEAN,
    MARGIN_SD,
    NOT_USED,
    VERIFIED,
    Verification,
    VerificationStatement,
    verifications_of,
)
from norms.worth.verification import (
    LocalScore,
    LocalVerification,
    power_of_verification,
    sign_verification,
    verify_table,
)

CREATED = "2026-01-01T00:00:00Z"  # of a template that is read, never written
SHIFTS_SD = (0.0, 0.5)
SAME = ("battery", "battery_version", "scoring_version", "input")
VERDICT_WORDS = {
    VERIFIED: "may be used here",
    CAUTION: "may be used here with caution: mean and SD are not shown to be those of the table",
    NOT_USED: "not to be used here",
}
AGAINST_WORDS = {
    "too_few_people": f"fewer than {LEAST_PEOPLE} people",
    "too_many_outside": "too many lie outside the central 95 %",
    "mean_differs": "the mean differs by more than the margin",
    "sd_differs": "the SD differs by more than the margin",
}


def run_verify(asked: argparse.Namespace, today: str) -> int:
    """Judge the table by a sample, print it and, where asked, sign it; `today` is a day YYYY-MM-DD."""
    table, data = read_folder(asked.table), asked.sample.read_bytes()
    device_class = _device_class(table, asked.device_class)
    sample = read_sample(asked.sample.name, data, device_class)
    _check_same(table, sample)
    found = verify_table(table, device_class, _scores(table, sample), hash_of(data))
    if asked.json:
        print(json.dumps(as_json(found), allow_nan=False))
    else:
        print("\n".join(verification_lines(found)))
    if asked.sign:
        sign_verification(asked.table, found, asked.sign, today)
    return 0 if found.usable else complain("No measure of the table is to be used here.")


def verification_lines(found: LocalVerification) -> list[str]:
    """Each measure's numbers and verdict, and the power of the rules with so many people."""
    head = ("z of the table, below 0 = poorer; mean 0 and SD 1 where it fits; margins: mean "
            f"-{MARGIN_MEAN:g} to {MARGIN_MEAN:g}, SD {1 / MARGIN_SD:.2f} to {MARGIN_SD:g}")
    left_out = [f"Left out: {count} scores, {code.replace('_', ' ')}"
                for code, count in found.left_out.items()]
    fewest = min(one.people.n for one in found.measures.values())
    return [head, *left_out, *(line for name, one in found.measures.items() for line in _lines(name, one)),
            *(_power_line(fewest, shift) for shift in SHIFTS_SD)]


def statement_lines(table: Table) -> list[str]:
    """The signed statements of a table."""
    return [line for said in verifications_of(table.about) for line in _statement_lines(said)]


def _lines(name: str, one: Verification) -> list[str]:
    people, mean, sd = one.people, one.mean, one.sd
    why = "; ".join(AGAINST_WORDS[code] for code in one.against)
    return [f"{name}: {people.outside} of {people.n} people outside the central 95 % (at most "
            f"{one.most_outside})",
            f"  mean {people.mean:.2f} (90 %: {mean.interval_90[0]:.2f} to {mean.interval_90[1]:.2f}), p "
            f"{mean.p:.3f}; SD {people.sd:.2f} (90 %: {sd.interval_90[0]:.2f} to {sd.interval_90[1]:.2f}), p "
            f"{sd.p:.3f}",
            f"  {VERDICT_WORDS[one.verdict]}" + (f": {why}" if why else "")]


def _power_line(n: int, shift: float) -> str:
    found = power_of_verification(n, shift)
    return (f"Of 100 samples of {n} whose true mean lies {shift:g} SD off, about {found.count_passes:.0f} "
            f"have few enough outside, {found.mean_equivalent:.0f} show an equivalent mean and "
            f"{found.sd_equivalent:.0f} an equivalent SD.")


def _statement_lines(said: VerificationStatement) -> list[str]:
    named = {verdict: [one.measure for one in said.measures if one.verdict == verdict]
             for verdict in VERDICT_WORDS}
    return [f"verified by local people on {said.device_class}, input {said.input}: signed {said.date} by "
            f"{said.role.replace('_', ' ')}",
            *(f"  {verdict.replace('_', ' ')}: {', '.join(names)}" for verdict, names in named.items()
              if names)]


def _device_class(table: Table, asked: str | None) -> str:
    known = sorted({row.device_class for row in table.rows})
    if asked is None and len(known) > 1:
        raise UsageError(f"norms verify: argument --device-class: name one of {', '.join(known)}")
    return asked or known[0]


def _check_same(table: Table, sample: Sample) -> None:
    """The sample must be of the table's battery, versions and input; raises TableFaults."""
    faults = [Fault(sample.file, None, name, f"must be the table's, {getattr(table, name)}",
                    sample.common[name])
              for name in SAME if sample.common[name] != getattr(table, name)]
    if faults:
        raise TableFaults(faults)


def _scores(table: Table, sample: Sample) -> Iterator[LocalScore]:
    """The reference people's scores of the table's measures; raises TableFaults for impossible values."""
    said = template({"reference_table": {"window_s": dict(table.window_s)}}, CREATED)
    known = [name for name in sample.measures if name in table.measure_by_name]
    checked_values(sample, {name: _as_sampled(table.measure_by_name[name]) for name in known}, said)
    for name in known:
        for line in sample.lines_of(name, again=False):
            yield LocalScore(name, float(sample.value[line]), float(sample.age_years[line]),
                             SEXES[sample.sex[line]])


def _as_sampled(measure: Measure) -> Measure:
    """A measure as a sample holds it: on the log scale where the table has it on the LMS scale."""
    if measure.scale != "lms":
        return measure
    return Measure(measure.name, measure.unit, measure.better, "log", measure.decimals)
