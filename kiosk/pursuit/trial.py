"""What a trial is: its frozen plan, the facts of its recording, and the record that holds both.

Seconds since the disc set off; millimetres. Facts that a recording from elsewhere does not carry are None:
not known, never a reason to refuse. Decision architecture-1.
"""

from dataclasses import dataclass, field
from typing import Literal
from uuid import UUID

import numpy as np
from numpy.typing import ArrayLike, NDArray

from kiosk.pursuit.samples import RawTouch, Samples
from kiosk.pursuit.target import Circle, Floats, Path, position

Outcome = Literal["complete", "interrupted", "stopped"]


@dataclass(frozen=True)
class TrialPlan:
    """Everything that decides what the person sees in one trial."""

    battery: str
    battery_version: int
    block: str
    hand: str
    hand_side: str
    number: int
    attempt: int
    form: str
    scored: bool
    path: Path
    run_in_s: float
    window_s: float
    run_on_s: float
    disc_radius_mm: float

    @property
    def end_s(self) -> float:
        """When the disc stops: run-in, window and run-on."""
        return self.run_in_s + self.window_s + self.run_on_s

    @property
    def block_name(self) -> str:
        return f"{self.block}.{self.hand}"

    def position(self, t_s: ArrayLike) -> tuple[Floats, Floats]:
        """The disc's centre (x_mm, y_mm) at t_s: the one function that draws and scores."""
        return position(self.path, t_s, self.run_in_s, self.end_s)

    def describe(self) -> dict[str, object]:
        """The plan as plain facts, for the archive."""
        plain = {name: getattr(self, name) for name in self.__dataclass_fields__ if name != "path"}
        return plain | {"path": _describe_path(self.path)}


def _describe_path(path: Path) -> dict[str, object]:
    if isinstance(path, Circle):
        return {"kind": "circle", "radius_mm": path.radius_mm, "period_s": path.period_s,
                "direction": path.direction, "start_rad": path.start_rad}
    return {"kind": "wander", "name": path.name, "period_s": path.period_s,
            "x": [[line.multiple, line.amplitude_mm, line.phase_rad] for line in path.x],
            "y": [[line.multiple, line.amplitude_mm, line.phase_rad] for line in path.y]}


def _no_flips() -> NDArray[np.float64]:
    return np.empty(0)


@dataclass(frozen=True)
class TrialFacts:
    """How the recording went; None where not known.

    lost_events: how often touches were lost on their way; lost_spans_s: between which moments.
    """

    outcome: Outcome = "complete"
    outcome_reason: str | None = None
    clock: str | None = None
    touch_source: str | None = None
    refresh_hz: float | None = None
    dropped_frames: int | None = None
    flip_t_s: NDArray[np.float64] = field(default_factory=_no_flips)
    calibrated: bool | None = None
    latency_ms: float | None = None
    latency_source: str | None = None
    other_touches: int | None = None
    other_contact_s: float | None = None
    lost_events: int | None = None
    lost_spans_s: tuple[tuple[float, float], ...] | None = None
    identity_lost: bool | None = None
    input_fuzz: float | None = None
    smoothing_ms: float | None = None


@dataclass(frozen=True)
class TrialRecord:
    """A finished trial: plan, raw touch (None for a recording from elsewhere), facts, samples in mm.

    set_off_ns is the moment t_s = 0 on the clock of raw.t_ns.
    """

    plan: TrialPlan
    samples: Samples
    facts: TrialFacts
    raw: RawTouch | None = None
    set_off_ns: int | None = None
    calibration_id: UUID | None = None
