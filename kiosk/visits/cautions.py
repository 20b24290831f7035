"""The cautions that a visit brings with it, as codes with values, in the order of the page.

synthetic · table_not_stated (missing: names of norms' Table.not_stated, separated by commas) ·
draft_language (language, status) · small_n (n) · interval (days, days_min, days_max) ·
state_differs (what, before, today, visit), once for each circumstance that differs from the visit compared ·
not_understood · partial (trial, scored, measures, how) · unscored (block, why, and the values of why), once a
block. `what`, `before` and `today` are the names and answers of intake, `why` is a code of scoring.
"""

from collections.abc import Iterator, Mapping
from typing import Final

from kiosk.scoring.catalogue import PRIMARY
from kiosk.scoring.trial_scores import Reason
from kiosk.visits.earlier import ScoredVisit
from kiosk.visits.findings import Findings, TrialFinding
from norms import Refusal, Standing

CHECKED_LANGUAGE: Final = ("approved", "source", "")
STATES: Final = ("last_dose", "pain_before", "posture", "sees_disc")
NOT_ASKED: Final = "not_asked"
_CONSEQUENCES: Final = ("block_not_run", "lag_needs_both", "latency_unknown")


def cautions_of(findings: Findings, today: ScoredVisit, compared: ScoredVisit | None,
                not_stated: tuple[str, ...] = ()) -> tuple[Reason, ...]:
    """Every caution of a visit; `compared` is the earlier visit of its changes, `not_stated` of its table."""
    return (*_of_table(findings, not_stated), *_of_interval(findings), *_of_state(today, compared),
            *_of_course(findings), *_of_blocks(findings))


def _of_table(findings: Findings, not_stated: tuple[str, ...]) -> Iterator[Reason]:
    if findings.table is not None and findings.table.status == "synthetic":
        yield Reason("synthetic")
    if not_stated:
        yield Reason("table_not_stated", {"missing": ",".join(not_stated)})
    status = findings.visit.adaptation_status
    if status not in CHECKED_LANGUAGE:
        yield Reason("draft_language", {"language": findings.visit.language, "status": status})
    small = [one.n_mean for one in findings.standings.values()
             if isinstance(one, Standing) and "small_n" in one.warnings]
    if small:
        yield Reason("small_n", {"n": min(small)})


def _of_interval(findings: Findings) -> Iterator[Reason]:
    outside = [one.values for one in findings.changes.values()
               if isinstance(one, Refusal) and one.code == "interval_outside_study"]
    if outside:
        days = {name: float(str(outside[0][name])) for name in ("days", "days_min", "days_max")}
        yield Reason("interval", days)


def _of_state(today: ScoredVisit, compared: ScoredVisit | None) -> Iterator[Reason]:
    if compared is None:
        return
    before, now = _circumstances(compared), _circumstances(today)
    for what in before:
        if before[what] != now[what]:
            yield Reason("state_differs", {"what": what, "before": before[what], "today": now[what],
                                           "visit": compared.number})


def _circumstances(seen: ScoredVisit) -> Mapping[str, str]:
    """State and set-up that are told where they differ between two visits."""
    visit = seen.visit
    states = {name: visit.intake.get(name, NOT_ASKED) for name in STATES}
    return states | {"language": visit.language, "delivery": visit.delivery, "placement": visit.placement,
                     "protector": visit.intake.get("protector", NOT_ASKED), "device": seen.device_label}


def _of_course(findings: Findings) -> Iterator[Reason]:
    if any(one.code == "not_understood" for one in findings.observations):
        yield Reason("not_understood")
    if findings.end is not None and findings.end.how != "completed":
        scored = sum(_is_scored(findings, measure) for measure in PRIMARY)
        ended = len({(one.block, one.hand, one.number) for one in findings.trials
                     if one.scored and one.outcome == "complete"})
        yield Reason("partial", {"trial": ended, "scored": scored, "measures": len(PRIMARY),
                                 "how": findings.end.how})


def _of_blocks(findings: Findings) -> Iterator[Reason]:
    told = set()
    for measure in PRIMARY:
        score = findings.block_scores.get(measure)
        if score is None or score.value is not None or score.reason in _CONSEQUENCES:
            continue
        block = measure.rpartition(".")[0]
        if block not in told:
            told.add(block)
            yield _unscored(block, score.reason or "too_few_valid_trials", findings.trials)


def _unscored(block: str, reason: str, trials: tuple[TrialFinding, ...]) -> Reason:
    """Why a block has no score: the first reason of its unfit trials where too few were fit."""
    own = (why for one in trials if f"{one.block}.{one.hand}" == block
           for why in one.scores.validity.reasons)
    first = next(own, None) if reason == "too_few_valid_trials" else None
    if first is None:
        return Reason("unscored", {"block": block, "why": reason})
    return Reason("unscored", {**first.values, "block": block, "why": first.code})


def _is_scored(findings: Findings, measure: str) -> bool:
    score = findings.block_scores.get(measure)
    return score is not None and score.value is not None
