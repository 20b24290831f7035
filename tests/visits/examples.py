"""An invented reference table and invented visits: six primary measures whose z can be worked by hand.

z of a value is -(ln value - ln mean) / 0.25 (scatters) or -(value - mean) / 40 (lag, delay); rows 60-70 and
70-80, n 100; measures are uncorrelated, so that chances follow the binomial law.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import combinations
from math import exp, log
from typing import Any
from uuid import UUID

import numpy as np

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import AxisRanges, RawTouch
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored, TrialScores, Validity
from kiosk.touch.calibration import PANEL_A, full_window
from kiosk.visits.archive import StoredTrial
from kiosk.visits.comparison import Seen
from kiosk.visits.device_record import Device
from kiosk.visits.earlier import ScoredVisit
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd
from norms import PRIMARY_MEASURES, Correlation, Measure, RetestRow, Row, Table

SD_LOG, SD_MS, MEAN_MM, MEAN_MS = 0.25, 40.0, 5.0, 100.0
N_ROW, N_STUDY, R = 100, 80, 0.8
BEGINS = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)
EXTRA = "steady.preferred.error_rms"
STATED = {**dict.fromkeys(("population", "country", "setting", "sampling", "exclusions"), "invented"),
          "retest_design": dict.fromkeys(("people", "interval", "blinding"), "invented")}


def is_log(measure: str) -> bool:
    return not measure.endswith(("lag", "delay"))


def value_at(z: float, measure: str) -> float:
    return exp(log(MEAN_MM) - SD_LOG * z) if is_log(measure) else MEAN_MS - SD_MS * z


def table(**changed: Any) -> Table:
    measures = (*PRIMARY_MEASURES, EXTRA)
    facts: dict[str, Any] = {
        "sha256": "ab" * 32, "name": "LOCAL-2026", "title": "An invented clinic", "version": "1.2.0",
        "status": "local", "battery": "clinic", "battery_version": 1, "scoring_version": 1,
        "comparison_version": 1, "window_s": {"steady": 16.0, "brisk": 16.0, "wander": 20.0},
        "input": "finger", "tested_from": "2025-01-01", "tested_to": "2025-12-31", "expires": None,
        "languages": ("en",), "age_method": "bands", "floor_n": 30, "warn_n": 50, "measures_use": {},
        "about": STATED, "measures": tuple(_measure(name) for name in measures),
        "rows": tuple(_row(name, age) for name in measures for age in (60.0, 70.0)),
        "retest": tuple(RetestRow(name, "any", "T10", N_STUDY, R, 0.0, 1.0, 0.1, 1.0, 100.0, 180.0, 400.0, 0)
                        for name in measures),
        "correlations": tuple(Correlation(kind, first, second, "T10", 200, 0.0)
                              for kind in ("visit", "change")
                              for first, second in combinations(PRIMARY_MEASURES, 2))}
    return Table(**facts | changed)


def _measure(name: str) -> Measure:
    return Measure(name, "mm" if is_log(name) else "ms", "lower", "log" if is_log(name) else "identity", 1)


def _row(name: str, age_from: float) -> Row:
    mean, sd = (log(MEAN_MM), SD_LOG) if is_log(name) else (MEAN_MS, SD_MS)
    return Row(name, "any", "T10", age_from, age_from + 10, N_ROW, None, None, None, mean, sd)


def uuid(k: int) -> UUID:
    return UUID(int=k)


def person(**changed: Any) -> Person:
    return replace(Person(uuid(1), "K-0412-7", "1954-05-17", "right", "en"), **changed)


def device(**changed: Any) -> Device:
    return replace(Device(uuid(2), "T10", "tablet 1", "tilted", "no", 1280, 800), **changed)


def visit(k: int = 0, **changed: Any) -> Visit:
    """The visit k x 180 days after the first, with k earlier visits."""
    made = Visit(
        id=uuid(100 + k), person_id=uuid(1), purpose="care", research_use="no", device_id=uuid(2),
        calibration_id=uuid(3), battery="clinic", battery_version=1, form="A", earlier_visits=k,
        input="finger", preferred_hand="right", hands_today="both", hands_reason="", placement="tilted",
        theme="dark", latency_ms=60.0, latency_source="video", language="en", delivery="screen",
        started_at=BEGINS + timedelta(days=180 * k), time_zone="Etc/UTC", utc_offset_min=0,
        intake={"last_dose": "none", "posture": "seated"})
    return replace(made, **changed)


def blocks(z: float | dict[str, float] = 0.0, n_trials: int = 3,
           missing: dict[str, str] | None = None) -> dict[str, BlockScore]:
    """Block scores at a z, the same for all or by measure; `missing` are reasons by measure."""
    zs = z if isinstance(z, dict) else {}
    found = {}
    for name in (*PRIMARY_MEASURES, EXTRA):
        value = value_at(zs.get(name, 0.0) if isinstance(z, dict) else z, name)
        scaled, unit = (log(value) if is_log(name) else value), ("mm" if is_log(name) else "ms")
        found[name] = BlockScore(name, value, scaled, 0.05, n_trials, unit)
    for name, reason in (missing or {}).items():
        found[name] = BlockScore(name, None, None, None, 0, found[name].unit, reason)
    return found


def earlier(k: int = 0, z: float = 0.0, **changed: Any) -> ScoredVisit:
    facts = {"visit": visit(k), "scoring_version": 1, "device_class": "T10", "block_scores": blocks(z),
             "device_label": "tablet 1"}
    return ScoredVisit(**facts | changed)


def ended_trial(position: int, block: str = "steady", number: int = 1, attempt: int = 1,
                reason: Reason | None = None, outcome: str = "complete") -> tuple[StoredTrial, TrialScores]:
    plan = load_battery().plan(block, "preferred", number, attempt=attempt)
    t_ns = np.arange(500) * 8_000_000
    raw = RawTouch(t_ns, np.arange(500.0), np.arange(500.0), np.ones(500, bool), AxisRanges(0, 1279, 0, 799),
                   full_window(PANEL_A))
    record = TrialRecord(plan, PANEL_A.samples(raw, 0), TrialFacts(outcome=outcome), raw, 0, uuid(3))
    validity = Validity(reason is None, () if reason is None else (reason,))
    scores = TrialScores({"scatter": Scored(5.25), "lag": Scored(None, reason="latency_unknown")}, validity)
    return StoredTrial(uuid(1000 + position), uuid(100), position, record), scores


def seen(k: int = 0, scores: dict[str, BlockScore] | None = None, how: str = "completed",
         **changed: Any) -> Seen:
    today = visit(k)
    facts = {"visit": today, "end": VisitEnd(today.id, how, today.started_at + timedelta(minutes=9)),
             "trials": [ended_trial(2)], "block_scores": blocks() if scores is None else scores}
    return Seen(**facts | changed)
