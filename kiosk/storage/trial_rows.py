"""A trial as a row: its frozen plan, the facts of its recording, and the container of its raw touch.

Millimetres are not kept: they are made again from the raw touch and the stored calibration, bit for bit. That
this holds is checked before a trial is kept.
"""

from json import loads
from typing import Any, Final

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import RawTouch, Samples
from kiosk.pursuit.target import Circle, Line, Path, Wander
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.storage.container import FORMAT, Packed, pack, unpack
from kiosk.storage.rows import Row
from kiosk.touch.calibration import Calibration
from kiosk.visits.archive import StoredTrial
from kiosk.visits.canonical import canonical_json
from kiosk.visits.device_record import CalibrationRecord

_FACTS_IN_COLUMNS: Final = ("outcome", "outcome_reason", "clock", "touch_source", "refresh_hz",
                            "dropped_frames", "other_touches", "lost_events")
_FACTS_IN_PLAN: Final = ("latency_ms", "latency_source")
_FACTS_IN_HEADER: Final = ("calibrated", "other_contact_s", "identity_lost", "input_fuzz", "lost_spans_s")
_PLAN_IN_COLUMNS: Final = ("block", "hand", "hand_side", "number", "attempt", "scored")


def trial_row(trial: StoredTrial, calibration: CalibrationRecord | None) -> Row:
    """A trial's columns.

    Refused `trial_without_raw_touch`, `trial_without_calibration` or `samples_not_from_raw` where the
    samples could not be made again from what is kept.
    """
    record, facts = trial.record, trial.record.facts
    packed = _packed(record)
    _check_samples(record, packed, calibration)
    plan = record.plan.describe() | {name: getattr(facts, name) for name in _FACTS_IN_PLAN}
    return {
        "id": trial.id, "visit_id": trial.visit_id, "position": trial.position, "repeat_of": trial.repeat_of,
        **{name: getattr(record.plan, name) for name in _PLAN_IN_COLUMNS},
        **{name: getattr(facts, name) for name in _FACTS_IN_COLUMNS},
        "plan": canonical_json(plan), "calibration_id": record.calibration_id,
        "n_samples": len(record.samples.t_s), "n_frames": len(facts.flip_t_s), "samples_format": FORMAT,
        "samples": pack(packed)}


def trial_from(row: Row, calibration: CalibrationRecord) -> StoredTrial:
    """The trial of a row, its samples made again from the raw touch."""
    packed, plan = unpack(row["samples"]), loads(row["plan"])
    facts = TrialFacts(
        **{name: row[name] for name in _FACTS_IN_COLUMNS},
        **{name: plan.pop(name) for name in _FACTS_IN_PLAN}, **_known(packed.facts), flip_t_s=packed.flip_t_s)
    record = TrialRecord(
        plan=TrialPlan(**{**plan, "path": path_from(plan["path"])}),
        samples=samples_of(packed.raw, packed.set_off_ns, calibration), facts=facts, raw=packed.raw,
        set_off_ns=packed.set_off_ns, calibration_id=row["calibration_id"])
    return StoredTrial(row["id"], row["visit_id"], row["position"], record, row["repeat_of"])


def samples_of(raw: RawTouch, set_off_ns: int, calibration: CalibrationRecord) -> Samples:
    """Millimetres and seconds from a raw touch, by the calibration of its day."""
    return Calibration(calibration.px_per_mm_x, calibration.px_per_mm_y, calibration.window_px_w,
                       calibration.window_px_h).samples(raw, set_off_ns)


def path_from(described: dict[str, Any]) -> Path:
    """The path a plan describes."""
    kind, facts = described["kind"], {name: value for name, value in described.items() if name != "kind"}
    if kind == "circle":
        return Circle(**facts)
    axes = {axis: tuple(Line(*line) for line in facts[axis]) for axis in ("x", "y")}
    return Wander(facts["name"], facts["period_s"], **axes)


def _known(facts: dict[str, Any]) -> dict[str, Any]:
    """The header's facts as they were: JSON keeps pairs as lists. Older containers know no lost spans."""
    spans = facts.get("lost_spans_s")
    return facts | {"lost_spans_s": None if spans is None else tuple(tuple(span) for span in spans)}


def _packed(record: TrialRecord) -> Packed:
    if record.raw is None or record.set_off_ns is None:
        raise Refused("trial_without_raw_touch",
                      {"block": record.plan.block_name, "trial": record.plan.number})
    facts = {name: getattr(record.facts, name) for name in _FACTS_IN_HEADER}
    return Packed(record.raw, record.set_off_ns, record.facts.flip_t_s, facts)


def _check_samples(record: TrialRecord, packed: Packed, calibration: CalibrationRecord | None) -> None:
    place = {"block": record.plan.block_name, "trial": record.plan.number}
    if calibration is None:
        raise Refused("trial_without_calibration", place)
    again = samples_of(packed.raw, packed.set_off_ns, calibration)
    columns = ("t_s", "x_mm", "y_mm", "contact")
    if any(getattr(again, one).tobytes() != getattr(record.samples, one).tobytes() for one in columns):
        raise Refused("samples_not_from_raw", place)
