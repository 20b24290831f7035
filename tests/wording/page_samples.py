"""Findings made by hand for tests of words and page: an invented clinic, a coded person, invented numbers."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

import numpy as np

from kiosk.i18n.language import Language, load_language
from kiosk.pursuit.observation import Observation
from kiosk.scoring.catalogue import PRIMARY, unit_of
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored, TrialScores, Validity
from kiosk.visits.device_record import Device
from kiosk.visits.findings import Findings, HistoryPoint, TableProvenance, TrialFinding, Versions
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd
from kiosk.wording.measures import trial_label
from kiosk.wording.page_parts import PageContent
from kiosk.wording.page_tag import page_tag
from kiosk.wording.page_words import page_content
from norms import Change, ChangeProfile, Profile, Refusal, RetestRow, Row, Standing
from norms.judge.labels import LABEL_ROWS

STARTED = datetime(2026, 11, 25, 9, 42, tzinfo=UTC)
REPORT_ID = UUID("019ac1d2-0000-7000-8000-000000000317")
PERSON = Person(UUID(int=1), "K-0412-7", "1954-05", "right", "en")
DEVICE = Device(UUID(int=2), "T10", "Tablet 3", "tilted", "none", 1280, 800, latency_ms=52.0)
VALUES = dict(zip(PRIMARY, (5.34, 11.61, 105.2, 301.7, 10.42, 6.38), strict=True))
Z_STAR = dict(zip(PRIMARY, (-0.41, -1.48, -1.34, -1.65, -0.52, -0.61), strict=True))
USUAL = dict(
    zip(
        PRIMARY,
        ((2.8, 7.1), (4.3, 10.9), (-12.0, 98.0), (179.0, 285.0), (6.1, 12.9), (3.2, 8.0)),
        strict=True,
    )
)
PERCENTILE = dict(zip(PRIMARY, (34.1, 6.9, 9.0, 4.9, 30.2, 27.1), strict=True))
STATE_DIFFERS = (
    ("last_dose", "2_to_4", "not_today"),
    ("pain_before", "mild", "enough_to_matter"),
    ("posture", "seated", "wheelchair"),
    ("device", "a", "b"),
)
BLOCKS = (
    ("steady", "preferred", 3),
    ("steady", "other", 2),
    ("brisk", "preferred", 3),
    ("wander", "preferred", 2),
)


def visit(**changes: object) -> Visit:
    made = Visit(
        id=UUID(int=30),
        person_id=PERSON.id,
        purpose="care",
        research_use="no",
        device_id=DEVICE.id,
        calibration_id=None,
        battery="clinic",
        battery_version=1,
        form="A",
        earlier_visits=2,
        input="finger",
        preferred_hand="right",
        hands_today="both",
        hands_reason="",
        placement="tilted",
        theme="dark",
        latency_ms=52.0,
        latency_source="measured",
        language="en",
        delivery="screen",
        started_at=STARTED,
        time_zone="Europe/Berlin",
        utc_offset_min=60,
        intake={"last_dose": "2_to_4", "pain_before": "none", "posture": "seated"},
    )
    return replace(made, **changes)


def row(measure: str, n: int = 84) -> Row:
    return Row(measure, "any", "T10", 70.0, 80.0, n, None, None, None, 0.0, 1.0)


def standing(measure: str, z_star: float | None = None, **changes: object) -> Standing:
    z = Z_STAR[measure] if z_star is None else z_star
    score = int(np.floor(100 + 15 * z + 0.5))
    label = next(one.label for one in LABEL_ROWS if one.score_from <= score <= one.score_to)
    percentile = PERCENTILE[measure] if z_star is None else 100 * _phi(z)
    half = 0.25
    made = Standing(
        measure=measure,
        unit=unit_of(measure),
        value=VALUES[measure],
        scaled=0.0,
        z=z,
        t_n=z,
        percentile=percentile,
        interval_95=(100 * _phi(z - half), 100 * _phi(z + half)),
        z_star=z,
        z_interval_95=(z - half, z + half),
        standard_score=score,
        label=label,
        further_ahead=False,
        usual_range=USUAL[measure],
        n=84,
        n_mean=84.0,
        df_sd=83.0,
        age_years=72.5,
        row=row(measure),
        neighbours=(),
        warnings=(),
    )
    return replace(made, **changes)


def change(measure: str, reliable: str = "none", **changes: object) -> Change:
    after = VALUES[measure]
    z_after = -2.2 if reliable == "worse" else -0.4
    made = Change(
        measure=measure,
        unit=unit_of(measure),
        earlier_visit="2",
        value_before=after * 0.9,
        value_after=after,
        z_before=-0.6,
        z_after=z_after,
        expected=-0.5,
        expected_value=after * 0.92,
        limits=(-1.4, 0.5),
        limits_value=(after * 0.7, after * 1.2),
        prediction_sd=0.5,
        t_regression=-1.0,
        df_regression=60,
        difference_sd=0.5,
        t_difference=-1.0,
        df_difference=61,
        reliable=reliable,
        percent_more_extreme=2.0 if reliable == "worse" else 30.0,
        days=243.0,
        earlier_visits=1,
        study=RetestRow(measure, "any", "T10", 62, 0.8, 0.0, 1.0, 0.2, 1.0, 20.0, 90.0, 400.0, 0),
        row_before=row(measure),
        row_after=row(measure),
        warnings=("practice_beyond_study",),
    )
    return replace(made, **changes)


def trial(
    position: int,
    block: str,
    hand: str,
    number: int,
    validity: Validity | None = None,
    outcome: str = "complete",
) -> TrialFinding:
    scores = TrialScores({"lift_share": Scored(1.2)}, validity or Validity(True))
    return TrialFinding(
        UUID(int=100 + position),
        position,
        block,
        hand,
        "right",
        number,
        1,
        block != "familiarise",
        outcome,
        1900,
        118.2,
        scores,
    )


def trials(validity: Validity | None = None) -> tuple[TrialFinding, ...]:
    named = [("familiarise", "preferred", 1)]
    named += [(block, hand, number + 1) for block, hand, count in BLOCKS for number in range(count)]
    return tuple(
        trial(place + 1, *one, None if one[0] == "familiarise" else validity)
        for place, one in enumerate(named)
    )


def history(visits: int = 3) -> tuple[HistoryPoint, ...]:
    starts = [STARTED - timedelta(days=243 * (visits - 1 - place)) for place in range(visits)]
    return tuple(
        HistoryPoint(
            UUID(int=20 + place),
            place + 1,
            start,
            {measure: value * (0.9 + 0.05 * place) for measure, value in VALUES.items()},
            {measure: z + 0.3 * (visits - 1 - place) for measure, z in Z_STAR.items()},
        )
        for place, start in enumerate(starts)
    )


def block_scores() -> dict[str, BlockScore]:
    found = {
        measure: BlockScore(measure, value, 0.0, 0.1, 2, unit_of(measure))
        for measure, value in VALUES.items()
    }
    for block, share in (("steady.preferred", 97.3), ("brisk.preferred", 53.8)):
        name = f"{block}.time_on_target"
        found[name] = BlockScore(name, share, 1.0, 0.1, 3, "%")
    for name, value, unit in (("tremor_hz", 5.2, "Hz"), ("tremor_excess", 2.1, "")):
        measure = f"steady.preferred.{name}"
        found[measure] = BlockScore(measure, value, value, None, 3, unit)
    return found


TABLE = TableProvenance(
    "local-2026",
    "1.0.0",
    "3f9c" + "0" * 60,
    "local",
    "LOCAL-2026",
    "2025-02-01",
    "2026-03-31",
    "T10",
    "finger",
)


def findings(**changes: object) -> Findings:
    """The illustration: third visit, two scores low, one reliably poorer."""
    points = history()
    worse = "brisk.preferred.scatter"
    made = Findings(
        format=1,
        visit=visit(),
        end=VisitEnd(UUID(int=30), "completed", STARTED + timedelta(minutes=9)),
        visit_number=3,
        versions=Versions(1, 1, 1, 1),
        age_years=72.52,
        trials=trials(),
        block_scores=block_scores(),
        standings={measure: standing(measure) for measure in PRIMARY},
        profile=Profile(PRIMARY, 6, 2, PRIMARY[1:3], 12.7, (28.5, 12.7, 6.1, 2.8, 1.2, 0.4), 200, ()),
        compared_with=points[-2],
        changes={measure: change(measure, "worse" if measure == worse else "none") for measure in PRIMARY},
        change_profile=ChangeProfile(
            PRIMARY, 6, 1, (worse,), 0, (), 19.8, 19.8, (19.8, 5.0, 1.4, 0.4, 0.1, 0.0), 62, ()
        ),
        history=points,
        observations=(),
        table=TABLE,
        table_refusal=None,
        cautions=(),
        earlier_intake={"last_dose": "not_asked", "pain_before": "none"},
    )
    return replace(made, **changes)


def fullest() -> Findings:
    """The most that a page may have to hold: all low, all changed, many cautions, notes and visits."""
    points = history(5)
    poor = Validity(True, (), (Reason("contact_below_95", {"contact_percent": 91.3}),))
    spoilt = Validity(False, (Reason("little_contact", {"contact_percent": 38.4, "least_percent": 50.0}),))
    ended = list(trials(poor))
    ended[4] = trial(5, "steady", "other", 1, spoilt)
    ended[8] = trial(9, "brisk", "preferred", 3, spoilt)
    return findings(
        visit_number=5,
        trials=tuple(ended),
        history=points,
        compared_with=points[-2],
        standings={
            m: standing(m, -2.6, warnings=("small_n", "near_band_edge", "language_not_listed"))
            for m in PRIMARY
        },
        profile=Profile(PRIMARY, 6, 6, PRIMARY, 0.31, (28.5, 12.7, 6.1, 2.8, 1.2, 0.31), 200, ()),
        changes={
            m: change(m, "worse", warnings=("practice_beyond_study", "small_study", "far_from_study"))
            for m in PRIMARY
        },
        change_profile=ChangeProfile(
            PRIMARY, 6, 6, PRIMARY, 0, (), 0.2, 20.0, (20.0, 5.0, 1.4, 0.4, 0.3, 0.2), 62, ()
        ),
        observations=(
            Observation("talked", UUID(int=102)),
            Observation("interrupted", UUID(int=105)),
            Observation("glass_wet"),
            Observation("pain", UUID(int=109), "shoulder, after brisk 3"),
        ),
        table=replace(TABLE, status="synthetic"),
        cautions=(
            Reason("synthetic"),
            Reason("draft_language", {"language": "en"}),
            Reason("small_n", {"n": 38}),
            *(
                Reason("state_differs", {"what": what, "today": today, "before": before, "visit": 4})
                for what, today, before in STATE_DIFFERS
            ),
            Reason("not_understood"),
            Reason(
                "unscored",
                {
                    "block": "brisk.preferred",
                    "why": "little_contact",
                    "contact_percent": 38.4,
                    "least_percent": 50.0,
                },
            ),
        ),
    )


def shortest() -> Findings:
    """Stopped after the first trial of a first visit: nothing scored, no table loaded."""
    cut = Validity(False, (Reason("window_cut_short", {"from_s": 2.0, "to_s": 18.0, "outcome": "stopped"}),))
    return findings(
        end=VisitEnd(UUID(int=30), "stopped_by_person", STARTED, "tired"),
        visit_number=1,
        trials=(trial(1, "familiarise", "preferred", 1), trial(2, "steady", "preferred", 1, cut, "stopped")),
        block_scores={m: BlockScore(m, None, None, None, 0, unit_of(m), "block_not_run") for m in PRIMARY},
        standings={},
        profile=None,
        compared_with=None,
        changes={},
        change_profile=None,
        history=history(1),
        table=None,
        earlier_intake=None,
        table_refusal=Refusal("no_table_loaded"),
        cautions=(Reason("partial", {"trial": 0, "scored": 0, "measures": 6, "how": "stopped_by_person"}),),
    )


def values_only() -> Findings:
    """A real person and a simulated table: values and own history."""
    refused = Refusal("synthetic_with_real_person", {"table": "demo", "purpose": "care"})
    return findings(
        standings={m: refused for m in PRIMARY},
        profile=None,
        changes={},
        change_profile=None,
        table=None,
        table_refusal=refused,
        history=history(5),
        visit_number=5,
    )


def paths() -> list[tuple[str, np.ndarray, np.ndarray]]:
    angle = np.linspace(0, 4 * np.pi, 960)
    circle = 40 * np.column_stack([np.cos(angle), np.sin(angle)])
    shake = 2.5 * np.column_stack([np.sin(7.3 * angle), np.cos(5.1 * angle)])
    hand = circle + shake
    hand[200:230] = np.nan
    wander = np.column_stack([20 * np.cos(2 * angle) + 14 * np.cos(5 * angle), 30 * np.sin(3 * angle)])
    told = english()
    labels = [
        trial_label(f"{block}.{hand}", number + 1, told)
        for block, hand, count in BLOCKS
        for number in range(count)
    ]
    return [
        *((label, circle, hand) for label in labels[:8]),
        (labels[8], wander, wander + shake),
        (labels[9], wander[::-1], wander + shake),
    ]


def english() -> Language:
    return load_language("en")


def content(found: Findings, language: Language | None = None, **changes: object) -> PageContent:
    told = {
        "made_at": STARTED + timedelta(minutes=12),
        "place": "Hill Road Clinic, room 4",
        "page_tag": page_tag(REPORT_ID),
        "report_id": REPORT_ID,
        "kiosk_name": "kiosk 04",
        "app_version": "0.1.0",
        "audit_head": "1284-8ad1f00d-cafe0123-456789ab-cdef0123",
    } | changes
    return page_content(found, PERSON, DEVICE, paths(), language or english(), **told)


def _phi(z: float) -> float:
    from statistics import NormalDist

    return NormalDist().cdf(z)
