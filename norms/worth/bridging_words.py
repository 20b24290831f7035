"""A bridging study in plain English lines, rounded here and nowhere before."""

from collections.abc import Mapping
from dataclasses import asdict

from norms.table.bridging_statement import Statement
from norms.worth.bridging import LEAST_ICC, LEAST_PEOPLE, Bridge, people_needed
from norms.worth.bridging_folder import Bridging
from norms.worth.reliability import Reliability

AGAINST_WORDS = {
    "too_few_people": f"fewer than {LEAST_PEOPLE} people",
    "order_not_balanced": "practice is not balanced: 40 to 60 in 100 people must begin on the table's panel",
    "not_equivalent": "the bias is not shown to lie within the margin",
    "agreement_too_low": f"ICC(2,1) is below {LEAST_ICC:.2f}",
    "spread_differs": "the SDs on the two panels differ",
    "no_retest_study": "the table has no retest study to set the differences against",
    "differs_more_than_a_retest": "the panels differ more than two visits on one panel do",
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
                  "agreement": asdict(found.agreement[measure])} for measure, one in found.bridges.items()}}


def _lines(measure: str, one: Bridge, agreement: Reliability) -> list[str]:
    study, tests = one.study, one.equivalence
    low, high = tests.interval_90
    return [f"{measure}: {study.n} people, {study.first_on_table} began on the table's panel",
            f"  bias {study.bias:.2f} (90 %: {low:.2f} to {high:.2f}), margin {tests.margin:g}: two "
            f"one-sided tests p {tests.p:.3f}",
            f"  limits of agreement {agreement.agreement_lower.value:.2f} to "
            f"{agreement.agreement_upper.value:.2f}; ICC(2,1) {agreement.icc_2_1.value:.2f} (95 %: "
            f"{agreement.icc_2_1.low:.2f} to {agreement.icc_2_1.high:.2f}); SD {study.sd_table:.2f} and "
            f"{study.sd_other:.2f} (p of equal SDs {one.p_same_sd:.3f})",
            f"  table: {_verdict(one.against)}",
            f"  earlier visits: {_verdict(one.against + one.against_visits)}", *_more_people(one)]


def _verdict(against: tuple[str, ...]) -> str:
    why = "; ".join(AGAINST_WORDS[code] for code in against)
    return f"not carried over: {why}" if against else "carried over"


def _more_people(one: Bridge) -> list[str]:
    needed = None if one.equivalence.shown else people_needed(one.study.sd_of_differences)
    if needed is None or needed <= one.study.n:
        return []
    return [f"  with differences this wide, {needed} people show equivalence 8 times of 10 "
            "where there is no bias"]


def statement_lines(said: Statement) -> list[str]:
    """One signed statement of a table."""
    measures: Mapping[str, list[str]] = {
        "table": [one.measure for one in said.measures if one.table],
        "earlier visits": [one.measure for one in said.measures if one.visits]}
    return [f"carried over from {said.from_device_class} to {said.device_class}, input {said.input}: signed "
            f"{said.date} by {said.role.replace('_', ' ')}",
            *(f"  {what}: {', '.join(named) or 'none'}" for what, named in measures.items())]
