"""What the storage tests keep: an invented person, tablet, visit, scores, trials with awkward raw values."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import AxisRanges, RawTouch, WindowRect
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored, TrialScores, Validity
from kiosk.storage.ids import IdSource
from kiosk.storage.keys import StoreKeys
from kiosk.storage.store import Store
from kiosk.storage.sync import trust
from kiosk.storage.trust_list import TrustList, fingerprint, kiosk_key, public_key, signed_list
from kiosk.touch.calibration import Calibration
from kiosk.visits.archive import StoredTrial
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.findings import Findings, Versions
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd

BEGINS = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)
RANGES = AxisRanges(left=0.0, right=16383.0, bottom=10239.0, top=0.0)
WINDOW = WindowRect(0, 0, 1280, 800, 1280, 800)
CALIBRATION = Calibration(5.88, 5.87, 1280, 800)


class Clock:
    """A clock that moves a millisecond each time it is read."""

    def __init__(self) -> None:
        self.moment = BEGINS

    def __call__(self) -> datetime:
        self.moment += timedelta(milliseconds=1)
        return self.moment


def new_ids(seed: int = 7) -> IdSource:
    return IdSource(Clock(), np.random.default_rng(seed))


KEYS = StoreKeys(bytes(range(32)))


SITE = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
ERASER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(2, 34)))
KIOSKS = tuple((one, public_key(kiosk_key(KEYS.audit, one))) for one in ("00", "01", "02", "03", "04"))
LIST = signed_list(SITE, None, KIOSKS, [public_key(ERASER_KEY)])


def enrolled(store: Store, trusted: TrustList = LIST) -> Store:
    """The store, holding the trust list of the tests' site."""
    trust(store.ledger, trusted, fingerprint(trusted.site))
    return store


def store_on(engine: Any, audit_key: bytes | None = None, seed: int = 1, kiosk_id: str = "04") -> Store:
    return Store(engine, now=Clock(), new_id=new_ids(seed), kiosk_id=kiosk_id, audit_key=audit_key)


class Examples:
    """One of everything, with ids of their own."""

    def __init__(self, seed: int = 7) -> None:
        self.new_id = new_ids(seed)
        self.rng = np.random.default_rng(seed)
        self.person = Person(self.new_id(), "K-0412-7", "1954-05", "right", "en", sex="female",
                             education_years=11.5)
        self.device = Device(self.new_id(), "T10", "tablet 1", "tilted", "no", 1280, 800, input_fuzz=0.1,
                             latency_ms=61.25, latency_sd_ms=2.5, latency_method="video")
        self.calibration = CalibrationRecord(
            self.new_id(), self.device.id, "card", CALIBRATION.px_per_mm_x, CALIBRATION.px_per_mm_y, 1280,
            800, readings=(503.3, 503.9, 316.9, 317.4), display="panel")
        self.visit = Visit(
            id=self.new_id(), person_id=self.person.id, purpose="care", research_use="not_asked",
            device_id=self.device.id, calibration_id=self.calibration.id, battery="clinic",
            battery_version=1, form="A", earlier_visits=0, input="finger", preferred_hand="right",
            hands_today="both", hands_reason="", placement="tilted", theme="dark", latency_ms=61.25,
            latency_source="video", language="en", delivery="screen", started_at=BEGINS,
            time_zone="Europe/Berlin", utc_offset_min=60,
            intake={"format": "1", "pain_before": "none", "last_dose": "2_to_4_h"},
            software={"kiosk": "0.1"})

    def trial(self, position: int = 2, number: int = 1, attempt: int = 1, block: str = "steady",
              **facts: Any) -> StoredTrial:
        """A trial of uneven stamps, with raw values whose bits are awkward: -0.0, thirds, whole numbers."""
        plan = load_battery().plan(block, "preferred", number, attempt=attempt)
        n = 2000
        t_ns = 7_000_000_000_123 + np.cumsum(self.rng.integers(1_000_000, 12_000_000, n))
        x_raw = np.round(self.rng.uniform(0, 16383, n))
        y_raw = self.rng.uniform(0, 10239, n)
        y_raw[:3] = [-0.0, 1 / 3, 5e-324]
        raw = RawTouch(t_ns, x_raw, y_raw, self.rng.random(n) > 0.02, RANGES, WINDOW)
        set_off_ns = int(t_ns[96]) + 1
        known: dict[str, Any] = {
            "outcome": "complete", "clock": "kernel_monotonic", "touch_source": "kernel", "refresh_hz": 59.94,
            "dropped_frames": 3, "flip_t_s": np.cumsum(self.rng.uniform(0.016, 0.017, 900)),
            "calibrated": True,
            "latency_ms": 61.25, "latency_source": "video", "other_touches": 1, "other_contact_s": 0.1 + 0.2,
            "lost_events": 1, "lost_spans_s": ((-0.25, 1 / 3), (4.0, 4.125)),
            "identity_lost": False, "input_fuzz": 0.1}
        record = TrialRecord(plan, CALIBRATION.samples(raw, set_off_ns), TrialFacts(**known | facts), raw,
                             set_off_ns, self.calibration.id)
        return StoredTrial(self.new_id(), self.visit.id, position, record)

    def scores(self) -> TrialScores:
        return TrialScores(
            {"scatter": Scored(5.300000000000001), "lag": Scored(None, reason="latency_unknown"),
             "delay": Scored(302.1, 4.4)},
            Validity(True, (), (Reason("contact_low", {"contact_percent": 94.2, "window": "whole"}),)))

    def blocks(self) -> tuple[BlockScore, ...]:
        return (BlockScore("steady.preferred.scatter", 5.3, 1.6677, 0.04, 3, "mm", trial_variance=0.01),
                BlockScore("brisk.preferred.scatter", None, None, None, 1, "mm", "too_few_valid_trials"))

    def findings(self) -> Findings:
        return Findings(
            format=1, visit=self.visit, end=None, visit_number=1, versions=Versions(1, 1, 1, 1),
            age_years=71.66, trials=(), block_scores={}, standings={}, profile=None, compared_with=None,
            changes={}, change_profile=None, history=(), observations=(), table=None, table_refusal=None,
            cautions=())

    def end(self) -> VisitEnd:
        return VisitEnd(self.visit.id, "completed", BEGINS + timedelta(minutes=9), pain_after="none")

    def begin(self, store: Store) -> UUID:
        """Person, tablet, calibration and visit in the store; the visit's id."""
        store.add_person(self.person)
        store.add_device(self.device)
        store.add_calibration(self.calibration)
        store.begin_visit(self.visit)
        return self.visit.id


def same_bits(one: StoredTrial, other: StoredTrial) -> bool:
    """Whether two trials are equal down to the bits of every array."""
    return _plain(one) == _plain(other)


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, value.tobytes()
    if hasattr(value, "__dataclass_fields__"):
        return type(value).__name__, [_plain(getattr(value, name)) for name in value.__dataclass_fields__]
    return value
