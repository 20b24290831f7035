"""The commands `norms calibrate`, `bridge` and `reliability`, and their part of `norms show`.

Numbers are rounded here and nowhere before.
"""

import argparse
import json
import sys
from collections.abc import Mapping
from dataclasses import asdict

from norms.cli.arguments import UsageError
from norms.cli.output import complain, print_answer, write_pictures
from norms.table.bridging_rule import LEAST_ICC, LEAST_PEOPLE, Bridge
from norms.table.bridging_statement import Statement
from norms.table.calibration_record import (
    FIRST_LOW,
    HEALTHY,
    LOW_Z,
    STABLE_LOW,
    Calibration,
    ChangeCalibration,
    MeasureCalibration,
    PeopleCalibration,
    Share,
    StandingCalibration,
    as_json,
)
from norms.table.folder import read_folder
from norms.table.table import Table
from norms.worth.bridging import Bridging, Panels, bridging, pairs_needed_for_sd_ratio, people_needed, sign
from norms.worth.calibration import SEED, WORLDS, calibrate_folder, calibration_of
from norms.worth.reliability import Estimate, Reliability, Repeats, read_repeats, reliability


def worth_lines(table: Table) -> list[str]:
    """Statements and key figures stored with a table."""
    found = calibration_of(table)
    return [*(line for one in table.carried_over for line in statement_lines(one)),
            *(not_calibrated() if found is None else calibration_lines(found))]


def run_calibrate(asked: argparse.Namespace, today: str) -> int:
    """Work the figures out, store and print them; `today` is a day YYYY-MM-DD."""
    seed = SEED if asked.seed is None else asked.seed
    found = calibrate_folder(asked.folder, today, seed, asked.worlds or WORLDS, _progress)
    print(json.dumps(as_json(found), allow_nan=False) if asked.json else "\n".join(calibration_lines(found)))
    return 0


def run_bridge(asked: argparse.Namespace, today: str) -> int:
    """Judge a bridging study and, where asked, sign what it carries over; `today` is a day YYYY-MM-DD."""
    table = read_folder(asked.table)
    known = sorted({row.device_class for row in table.rows})
    if asked.from_class is None and len(known) > 1:
        raise UsageError(f"norms bridge: argument --from-class: name one of {', '.join(known)}")
    panels = Panels(asked.from_class or known[0], asked.device_class, asked.input or table.input)
    found = bridging(table, panels, asked.pairs.name, asked.pairs.read_bytes())
    _draw(asked, found)
    plain = asked.json
    print(json.dumps(bridging_json(found), allow_nan=False) if plain else "\n".join(bridging_lines(found)))
    if not found.carries:
        signed = ", so nothing is signed" if asked.sign else ""
        return complain(f"Nothing may be carried over{signed}.")
    if asked.sign:
        sign(asked.table, found, asked.sign, today)
    return 0


def run_reliability(asked: argparse.Namespace) -> int:
    """How well a measurement repeats itself, from a file of pairs."""
    pairs = read_repeats(asked.pairs.name, asked.pairs.read_bytes())
    found = reliability(*pairs)
    if asked.picture:
        from norms.build.pictures import agreement_picture
        write_pictures({asked.picture: agreement_picture(pairs, found)})
    return print_answer(found, lambda: reliability_lines(found), asked.json)


def _draw(asked: argparse.Namespace, found: Bridging) -> None:
    if asked.pictures is None:
        return
    from norms.build.pictures import agreement_picture
    write_pictures({asked.pictures / f"{measure}.svg":
                    agreement_picture(Repeats(pairs.table_z, pairs.other_z), agreement)
                    for measure, agreement, pairs in found.by_measure()})


def _progress(done: int, of: int) -> None:
    print(f"calibrated {done} of {of}", file=sys.stderr)


AGAINST_WORDS = {
    "too_few_people": f"fewer than {LEAST_PEOPLE} people",
    "order_not_balanced": "practice is not balanced: 40 to 60 in 100 people must begin on the table's panel",
    "not_equivalent": "the bias is not shown to lie within the margin",
    "agreement_too_low": f"ICC(2,1) is below {LEAST_ICC:.2f}",
    "spread_not_equivalent": "the ratio of the SDs is not shown to lie within the margin",
    "no_retest_study": "the table has no retest study to set the differences against",
    "differences_not_shown_narrow": "the differences between the panels are not shown to be about as narrow "
                                    "as those of two visits on one panel",
}


def bridging_lines(found: Bridging) -> list[str]:
    """What the study carries over, measure by measure."""
    panels = found.panels
    head = (f"From {panels.from_device_class} to {panels.device_class}, input {panels.input}; z of the "
            "table, differences are other minus the table's, below 0 = poorer on the other")
    left_out = [f"Left out: {lines} lines, {code.replace('_', ' ')}"
                for code, lines in found.left_out.items()]
    return [head, *left_out, *(line for measure, one in found.bridges.items()
                    for line in _lines(measure, one, found.agreement[measure]))]


def bridging_json(found: Bridging) -> dict[str, object]:
    """The same, unrounded."""
    return {**asdict(found.panels), "study_sha256": found.study_sha256,
            "left_out": dict(found.left_out), "measures": {
        measure: {**asdict(one), "table": one.table, "visits": one.visits,
                  "people_needed": people_needed(one.study.sd_of_differences),
                  "people_needed_for_sd_ratio": pairs_needed_for_sd_ratio(one.study.r),
                  "agreement": asdict(found.agreement[measure])} for measure, one in found.bridges.items()}}


def _lines(measure: str, one: Bridge, agreement: Reliability) -> list[str]:
    study, tests, spread = one.study, one.equivalence, one.spread
    low, high = tests.interval_90
    return [f"{measure}: {study.n} people, {study.first_on_table} began on the table's panel",
            f"  bias {study.bias:.2f} (90 %: {low:.2f} to {high:.2f}), margin {tests.margin:g}: two "
            f"one-sided tests p {tests.p:.3f}",
            f"  limits of agreement {agreement.agreement_lower.value:.2f} to "
            f"{agreement.agreement_upper.value:.2f}; ICC(2,1) {agreement.icc_2_1.value:.2f} (95 %: "
            f"{agreement.icc_2_1.low:.2f} to {agreement.icc_2_1.high:.2f})",
            f"  SD {study.sd_table:.2f} and {study.sd_other:.2f}: ratio {spread.ratio:.2f} (90 %: "
            f"{spread.interval_90[0]:.2f} to {spread.interval_90[1]:.2f}), margin {1 / spread.margin:.2f} to "
            f"{spread.margin:g}: two one-sided tests p {spread.p:.3f}", *_differences(one),
            f"  table: {_verdict(one.against)}",
            f"  earlier visits: {_verdict(one.against + one.against_visits)}", *_more_people(one)]


def _differences(one: Bridge) -> list[str]:
    found = one.differences
    if found is None:
        return []
    return [f"  SD of differences {found.ratio:.2f} times that of the retest study (95 %: up to "
            f"{found.upper_95:.2f}), margin {found.margin:g}: one-sided test p {found.p:.3f}"]


def _verdict(against: tuple[str, ...]) -> str:
    why = "; ".join(AGAINST_WORDS[code] for code in against)
    return f"not carried over: {why}" if against else "carried over"


def _more_people(one: Bridge) -> list[str]:
    asked = [people_needed(one.study.sd_of_differences)] if not one.equivalence.shown else []
    asked += [pairs_needed_for_sd_ratio(one.study.r)] if not one.spread.shown else []
    needed = max((n for n in asked if n is not None), default=0)
    if needed <= one.study.n:
        return []
    return [f"  with differences this wide, {needed} people show equivalence 8 times of 10 "
            "where bias is 0 and SDs are equal"]


def statement_lines(said: Statement) -> list[str]:
    """One signed statement of a table."""
    measures: Mapping[str, list[str]] = {
        "table": [one.measure for one in said.measures if one.table],
        "earlier visits": [one.measure for one in said.measures if one.visits]}
    return [f"carried over from {said.from_device_class} to {said.device_class}, input {said.input}: signed "
            f"{said.date} by {said.role.replace('_', ' ')}",
            *(f"  {what}: {', '.join(named) or 'none'}" for what, named in measures.items())]


PEOPLE_WORDS = {HEALTHY: "healthy people", FIRST_LOW: f"people whose first z is {LOW_Z:g}",
                STABLE_LOW: f"people who are stably at z {LOW_Z:g}"}


def calibration_lines(found: Calibration) -> list[str]:
    """What the table is worth, measure by measure."""
    head = (f"Calibrated {found.date} over {found.worlds} worlds (seed {found.seed}). Numbers are of 100 "
            "people: the mean, and in brackets the range of 95 of 100 worlds. A change is toward poorer, in "
            "SD of the reference group.")
    return [head, *(line for worth in found.rows for line in _worth_lines(worth, found.changes_sd))]


def not_calibrated() -> list[str]:
    return ["not calibrated: what the table is worth is not known (norms calibrate FOLDER)"]


def _worth_lines(worth: MeasureCalibration, changes_sd: tuple[float, ...]) -> list[str]:
    head = f"{worth.measure} ({worth.sex} sex, {worth.device_class})"
    if not worth.rows_answering:
        return [f"{head}: none of {worth.rows} rows answers"]
    if not worth.standings:
        return [f"{head}: no better direction, so nothing is called low or poorer"]
    some = worth.rows_answering < worth.rows
    rows = f", {worth.rows_answering} of {worth.rows} rows answer" if some else ""
    return [f"{head}{rows}", *map(_standing_line, worth.standings),
            *(line for change in worth.changes for line in _change_lines(change, changes_sd)),
            *([] if worth.changes else ["  no retest study: no change is judged"])]


def _standing_line(one: StandingCalibration) -> str:
    return (f"  {one.age_from:g} to {one.age_to:g} years, as good as n {one.n_mean:.0f}: healthy people "
            f"called low {_said(one.called_low)}; the 95 % interval holds the true place in "
            f"{_from_to(one.covered_from, one.covered_to)} of 100")


def _change_lines(change: ChangeCalibration, changes_sd: tuple[float, ...]) -> list[str]:
    head = (f"  change, {change.earlier_visits} earlier visits, retest study n {change.n}, "
            f"r {change.r:.2f}")
    if not change.people:
        return [f"{head}: too small to judge by"]
    return [head, *(f"    {_people(one, changes_sd)}" for one in change.people)]


def _people(one: PeopleCalibration, changes_sd: tuple[float, ...]) -> str:
    power = ", ".join(f"{change:g} SD {_said(seen)}"
                      for change, seen in zip(changes_sd, one.power, strict=True))
    return (f"{PEOPLE_WORDS[one.people]}: unchanged, called poorer {_said(one.poorer)}, better "
            f"{_said(one.better)}; changed, called poorer: {power}")


def _said(share: Share) -> str:
    return f"{share.mean:.1f} ({share.low:.1f} to {share.high:.1f})"


def _from_to(low: float, high: float) -> str:
    return f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"


def reliability_lines(found: Reliability) -> list[str]:
    """How well a measurement repeats itself."""
    return [f"{found.n} pairs; mean {found.mean_first:.4g}, then {found.mean_second:.4g}; SD "
            f"{found.sd_first:.4g}, then {found.sd_second:.4g}",
            _estimate("correlation r", found.r),
            f"{_estimate('ICC(2,1), agreement', found.icc_2_1)}: {found.words} (Koo & Li, by the interval)",
            _estimate("ICC(3,1), consistency", found.icc_3_1),
            _estimate("SEM, consistency", found.sem_consistency),
            _estimate("SEM, agreement", found.sem_agreement),
            _estimate("smallest detectable change (95 %), consistency", found.mdc_95_consistency),
            _estimate("smallest detectable change (95 %), agreement", found.mdc_95_agreement),
            _estimate("bias, second minus first", found.bias),
            _estimate("lower limit of agreement", found.agreement_lower),
            _estimate("upper limit of agreement", found.agreement_upper)]


def _estimate(what: str, one: Estimate) -> str:
    return f"{what} {one.value:.4g} (95 %: {one.low:.4g} to {one.high:.4g})"
