"""Visits as a BIDS dataset with motion recordings (Brain Imaging Data Structure 1.10, motion extension).

A recording stands twice, as two tracking systems of one trial: `touch` as recorded (uneven intervals, a
LATENCY channel holds each sample's time) and `even240` on the instants on which it is scored, 240 a second
over the scored window, lifts as n/a. Millimetres, x to the right and y up from the field's centre; seconds.

sub-P00001/ses-01/motion/sub-P00001_ses-01_task-steady_tracksys-touch_acq-preferred_run-01_motion.tsv (no
header), with channels.tsv, motion.json and events.tsv; sub-P00001_sessions.tsv holds day and age of each
visit, participants.tsv the people. De-identified as the research package is. A repeated trial is the next
run. Written beside the final name and put there in one step.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from kiosk.base.canonical_json import JsonObject
from kiosk.base.errors import Refused
from kiosk.exchange.deidentification import DECIMALS
from kiosk.exchange.new_folder import new_folder, write_json
from kiosk.exchange.research_rows import ResearchVisit
from kiosk.pursuit.samples import Floats
from kiosk.scoring.grid import GRID_HZ, on_grid
from kiosk.visits.archive import StoredTrial

BIDS_VERSION: Final = "1.10.0"
NOT_KNOWN: Final = "n/a"
Row = Sequence[str | float | int | None]

CHANNELS: Final = (  # name, component, type, tracked_point, units
    ("time", NOT_KNOWN, "LATENCY", NOT_KNOWN, "s"),
    ("finger_x", "x", "POS", "fingertip", "mm"),
    ("finger_y", "y", "POS", "fingertip", "mm"),
    ("contact", NOT_KNOWN, "MISC", "fingertip", NOT_KNOWN),
    ("disc_x", "x", "POS", "disc", "mm"),
    ("disc_y", "y", "POS", "disc", "mm"),
)
OTHER_CHANNELS: Final = ("ACCEL", "ANGACCEL", "GYRO", "JNTANG", "MAGN", "ORNT", "VEL")
PARTICIPANTS: Final = {
    "age": {"Description": "Age at the first visit in this dataset", "Units": "year"},
    "sex": {"Description": "Sex as the person gave it", "Levels": {"F": "female", "M": "male", "O": "other"}},
    "handedness": {
        "Description": "Preferred hand at the first visit in this dataset",
        "Levels": {"R": "right", "L": "left"},
    },
}
SESSIONS: Final = {
    "day": {"Description": "Days since the person's first visit in this dataset", "Units": "day"},
    "age": {"Description": "Age at the visit", "Units": "year"},
    "form": {"Description": "Which pair of wandering paths was shown"},
    "device_class": {"Description": "Kind of panel, as the site names it"},
    "input": {"Description": "What was used to point"},
    "purpose": {"Description": "What the visit was for"},
    "latency_ms": {
        "Description": "Latency of picture and touch together; n/a where not measured",
        "Units": "ms",
    },
}
SCANS: Final = {
    "block": {"Description": "Block of the battery"},
    "hand": {"Description": "preferred or other"},
    "side": {"Description": "right or left"},
    "trial": {"Description": "Number of the trial in its block"},
    "attempt": {"Description": "2 where the trial was repeated"},
    "valid": {"Description": "Whether the recording is fit to be scored; n/a where it was not judged"},
}
EVENTS: Final = {
    "trial_type": {
        "Description": "What happened",
        "Levels": {
            "run_in": "The disc moves and nothing is scored yet",
            "window": "The time that is scored",
            "lift": "The finger was off the panel",
        },
    },
}
SEXES: Final = {"female": "F", "male": "M", "other": "O"}
SIDES: Final = {"right": "R", "left": "L"}


@dataclass
class _Dataset:
    """What is gathered while visits are written: a row a person, the sessions of each."""

    people: dict[str, Row] = field(default_factory=dict)
    sessions: dict[str, list[Row]] = field(default_factory=dict)
    visits: int = 0


def write_bids(visits: Iterable[ResearchVisit], folder: Path, software: str) -> tuple[int, int]:
    """Write the dataset; how many visits of how many people. Refused as a research package is."""
    with new_folder(folder) as part:
        written = _Dataset()
        for one in visits:
            _write_visit(one, part, written)
        if not written.visits:
            raise Refused("nothing_for_research", {})
        _write_top(part, written, software)
    return written.visits, len(written.people)


def _write_top(part: Path, written: _Dataset, software: str) -> None:
    write_json(
        part / "dataset_description.json",
        {
            "Name": "Visits with the pursuit kiosk, de-identified",
            "BIDSVersion": BIDS_VERSION,
            "DatasetType": "raw",
            "License": "n/a",
            "Authors": ["The clinic that recorded these visits"],
            "HowToAcknowledge": "Name the clinic, the version of the battery and that of the software.",
            "GeneratedBy": [{"Name": "pursuit kiosk", "Version": software}],
        },
    )
    (part / "README.md").write_text(_readme(written), "utf-8")
    _write_table(part / "participants.tsv", ("participant_id", *PARTICIPANTS), written.people.values())
    write_json(part / "participants.json", PARTICIPANTS)
    for person, rows in written.sessions.items():
        _write_table(part / f"sub-{person}" / f"sub-{person}_sessions.tsv", ("session_id", *SESSIONS), rows)
        write_json(part / f"sub-{person}" / f"sub-{person}_sessions.json", SESSIONS)


def _readme(written: _Dataset) -> str:
    lines = (
        "# Visits with the pursuit kiosk, de-identified",
        "",
        f"{written.visits} visits of {len(written.people)} people who agreed to research use. A person",
        "follows a moving disc with a fingertip: on circles (steady, brisk) and on wandering paths (wander).",
        "The tracking system `touch` holds the touch samples as recorded; `even240` holds the same movement",
        "on even instants over the scored window, with the tablet's latency taken off where it is known.",
        "",
        "Dates are days since the person's first visit here; people of 90 years and more are left out. The",
        "figures describe how people followed a disc on one day. They do not diagnose anything.",
    )
    return "\n".join(lines) + "\n"


def _write_visit(one: ResearchVisit, part: Path, written: _Dataset) -> None:
    person, session = f"sub-{one.person}", f"ses-{one.number:02d}"
    age, visit = round(one.age_years, DECIMALS), one.visit
    written.visits += 1
    written.people.setdefault(one.person, (person, age, SEXES.get(one.sex), SIDES[visit.preferred_hand]))
    written.sessions.setdefault(one.person, []).append(
        (
            session,
            round(one.day, DECIMALS),
            age,
            visit.form,
            one.device_class,
            visit.input,
            visit.purpose,
            visit.latency_ms,
        )
    )
    folder = part / person / session / "motion"
    folder.mkdir(parents=True)
    scans: list[Row] = []
    for trial, run in _with_runs(one.trials):
        plan, scores = trial.record.plan, None if one.scores is None else one.scores.trials.get(trial.id)
        valid = None if scores is None else ("true" if scores.validity.valid else "false")
        names = [
            f"{person}_{session}_task-{plan.block}_tracksys-{system}_acq-{plan.hand}_run-{run:02d}"
            for system in ("touch", "even240")
        ]
        _write_recorded(trial, folder, names[0])
        _write_even(trial, folder, names[1])
        about = plan.block, plan.hand, plan.hand_side, plan.number, plan.attempt, valid
        scans += [(f"motion/{name}_motion.tsv", *about) for name in names]
    stem = part / person / session / f"{person}_{session}_scans"
    _write_table(stem.with_suffix(".tsv"), ("filename", *SCANS), scans)
    write_json(stem.with_suffix(".json"), SCANS)


def _with_runs(trials: Iterable[StoredTrial]) -> Iterator[tuple[StoredTrial, int]]:
    """Each trial with its number among those of its block and hand, in order of testing."""
    runs: Counter[tuple[str, str]] = Counter()
    for trial in trials:
        key = trial.record.plan.block, trial.record.plan.hand
        runs[key] += 1
        yield trial, runs[key]


def _write_recorded(trial: StoredTrial, folder: Path, name: str) -> None:
    """The samples as recorded; the first channel holds the time of each, from the first sample on."""
    samples, plan = trial.record.samples, trial.record.plan
    disc_x, disc_y = plan.position(samples.t_s)
    since_s = samples.t_s - samples.t_s[0]
    columns = (since_s, samples.x_mm, samples.y_mm, samples.contact.astype(float), disc_x, disc_y)
    effective_hz = (since_s.size - 1) / float(since_s[-1]) if since_s.size > 1 and since_s[-1] > 0 else 0.0
    nominal_s = float(np.median(np.diff(samples.t_s))) if since_s.size > 1 else 0.0
    told = {
        "SamplingFrequency": 1.0 / nominal_s if nominal_s > 0 else 0.0,
        "SamplingFrequencyEffective": effective_hz,
        "TrackingSystemName": "touch panel, as recorded",
    }
    _write_motion(trial, folder, name, np.stack(columns, axis=1), float(since_s[-1]), told)
    _write_events(trial, folder, name, float(samples.t_s[0]))


def _write_even(trial: StoredTrial, folder: Path, name: str) -> None:
    """The movement on the instants on which it is scored; n/a where the finger was off the panel."""
    plan, facts = trial.record.plan, trial.record.facts
    grid = on_grid(trial.record.samples, plan, (facts.latency_ms or 0.0) / 1000)
    disc_x, disc_y = plan.position(grid.t_s)
    finger = np.where(grid.contact, grid.hand, np.nan)
    columns = (grid.t_s - plan.run_in_s, finger.real, finger.imag, grid.contact.astype(float), disc_x, disc_y)
    told = {
        "SamplingFrequency": float(GRID_HZ),
        "SamplingFrequencyEffective": float(GRID_HZ),
        "TrackingSystemName": "touch panel, on even instants of the scored window",
        "LatencyTakenOff": "yes" if facts.latency_ms else "no",
    }
    _write_motion(trial, folder, name, np.stack(columns, axis=1), plan.window_s, told)


def _write_motion(
    trial: StoredTrial, folder: Path, name: str, table: Floats, lasted_s: float, told: JsonObject
) -> None:
    plan = trial.record.plan
    lines = ("\t".join(_cell(cell) for cell in row) for row in table.tolist())
    (folder / f"{name}_motion.tsv").write_text("".join(f"{line}\n" for line in lines), "utf-8")
    _write_table(
        folder / f"{name}_channels.tsv", ("name", "component", "type", "tracked_point", "units"), CHANNELS
    )
    write_json(
        folder / f"{name}_motion.json",
        {
            "TaskName": plan.block,
            "TaskDescription": f"Follow a moving disc with the fingertip ({plan.block}).",
            **told,
            "RecordingDuration": lasted_s,
            "RecordingType": "continuous",
            "MotionChannelCount": len(CHANNELS),
            "POSChannelCount": 4,
            "LATENCYChannelCount": 1,
            "MISCChannelCount": 1,
            **{f"{kind}ChannelCount": 0 for kind in OTHER_CHANNELS},
            "TrackedPointsCount": 2,
            "MissingValues": NOT_KNOWN,
            "SpatialAxes": "RSA",
        },
    )


def _write_events(trial: StoredTrial, folder: Path, name: str, first_s: float) -> None:
    """Run-in, window and lifts of the recording, from its first sample on."""
    plan, samples = trial.record.plan, trial.record.samples
    events: list[Row] = [
        (-first_s, plan.run_in_s, "run_in"),
        (plan.run_in_s - first_s, plan.window_s, "window"),
    ]
    off = np.concatenate([[False], ~samples.contact, [False]])
    begins, ends = np.flatnonzero(~off[:-1] & off[1:]), np.flatnonzero(off[:-1] & ~off[1:])
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
        until = samples.t_s[min(end, samples.t_s.size - 1)]
        events.append((float(samples.t_s[begin]) - first_s, float(until - samples.t_s[begin]), "lift"))
    stem = name.replace("_tracksys-touch", "")
    rows = sorted(events, key=lambda event: float(event[0] or 0.0))
    _write_table(folder / f"{stem}_events.tsv", ("onset", "duration", "trial_type"), rows)
    write_json(folder / f"{stem}_events.json", EVENTS)


def _write_table(path: Path, header: Sequence[str], rows: Iterable[Row]) -> None:
    lines = ["\t".join(header), *("\t".join(_cell(cell) for cell in row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", "utf-8")


def _cell(cell: str | float | int | None) -> str:
    """A cell of a table; what is not known, and what is empty, is n/a."""
    if cell is None or cell == "" or cell != cell:
        return NOT_KNOWN
    return cell if isinstance(cell, str) else repr(cell)
