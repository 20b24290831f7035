"""One visit in progress: course, running trial, recorder, stage and archive, driven frame by frame.

The same for the kiosk and for the demo; only the clock, the capture and the stage differ. Nanoseconds of one
monotonic clock; nothing is drawn here.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, Protocol
from uuid import UUID

from kiosk.base.errors import Refused
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery
from kiosk.pursuit.practice_check import check_practice
from kiosk.pursuit.running import Picture, RunningTrial
from kiosk.pursuit.trial import TrialPlan, TrialRecord
from kiosk.scoring.score import score_trial
from kiosk.scoring.trial_scores import TrialScores
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import RETRY_NS, Capture, DeviceWatch
from kiosk.touch.fingers import Fingers, Places, is_own_source
from kiosk.touch.journal import Journal, JournalTrial
from kiosk.touch.recorder import Recorder
from kiosk.visits.actions import Action, CourseAction
from kiosk.visits.archive import Archive, StoredTrial
from kiosk.visits.course import Course, Step
from kiosk.visits.visit import Visit

PASSES: Final = ("store_full", "store_read_only", "store_busy", "disk_in_trouble", "store_unreadable",
                 "server_away")
NEEDS_NO_TOUCH: Final = ("not_understood", "thanks")


class Stage(Protocol):
    """What shows the steps of a visit; it answers with actions through on_action."""

    on_action: Callable[[Action], None]

    def show(self, step: Step, language: Language) -> None:
        """Show the screen of this step."""

    def frame(self, picture: Picture, now_s: float) -> None:
        """Move the running trial's picture."""

    def fingers(self, places_mm: Places) -> None:
        """Where fingers are on the screen, told by the source that records the trials."""


@dataclass
class VisitRunner:
    """A visit in progress. `tick` once a frame; `flipped` when a frame has reached the screen.

    trouble: why the visit waits: the trial just ended cannot be kept (disk full, read only) and is held, or
    the touch panel is gone. What failed is tried again each second; None when all is well.
    """

    visit: Visit
    battery: Battery
    course: Course
    archive: Archive
    capture: Capture
    calibration: Calibration
    stage: Stage
    language: Language
    new_id: Callable[[], UUID]
    now_ns: Callable[[], int]
    refresh_hz: float | None
    calibrated: bool = True
    journal: Journal | None = None
    scored: list[tuple[StoredTrial, TrialScores]] = field(default_factory=list)
    trouble: Refused | None = None
    _unkept: TrialRecord | None = None
    _next_try_ns: int = 0
    _shown: Step | None = None
    _recorder: Recorder | None = None
    _fingers: Fingers | None = None

    def __post_init__(self) -> None:
        self.stage.on_action = self.act
        self.step = self.course.step
        self._watch = DeviceWatch(self.capture)

    def act(self, action: Action) -> None:
        """What the person or staff chose on the screen; Stop ends a trial whose disc has set off."""
        if action is CourseAction.STOP and self._recorder is not None:
            self._recorder.stop()
            self._end_trial("stop")
        elif isinstance(action, CourseAction):
            self.step = self.course.act(action)

    def show_again(self) -> None:
        """Another screen lay over the person's: show theirs anew."""
        self._shown = None

    def interrupt(self, reason: str) -> None:
        """End the running trial as interrupted (focus lost)."""
        if self._recorder is not None:
            self._recorder.interrupt(reason)

    def tick(self) -> None:
        """One frame: show the step where it is new; drain, record and draw the running trial."""
        if self._unkept is not None:
            self._try_again(self._unkept)
        elif self._waits_for_panel():
            return
        elif self.step != self._shown:
            self._enter(self.step)
        if self._recorder is not None:
            self._frame(self._recorder)
        elif self._fingers is not None:
            self.stage.fingers(self._fingers.places_mm())

    def flipped(self) -> None:
        """A frame has reached the screen."""
        if self._recorder is not None:
            self._recorder.flipped(self.now_ns())

    @property
    def waiting_for_finger(self) -> bool:
        """Whether a trial is on the screen and waits for a finger on the disc."""
        return self._recorder is not None and self._recorder.phase == "waiting"

    @property
    def in_trial(self) -> bool:
        """Whether a trial's disc is on its way, or a trial that has ended could not be kept yet."""
        recorder = self._recorder
        return self._unkept is not None or (recorder is not None and recorder.phase != "waiting")

    def stop_recording(self) -> None:
        """The store is locked: let go of the screen. What the journal has of a running trial stays there."""
        if self._recorder is not None:
            self._recorder.finish()
            self._recorder = None

    def _waits_for_panel(self) -> bool:
        """Whether the touch panel is gone; when it is back the person's screen is shown anew."""
        if self._recorder is not None or self.step.screen in NEEDS_NO_TOUCH:
            away = False
        else:
            away = self._watch.away(self.now_ns())
        if away and self.step.screen == "stopped":  # nobody can press Next now
            self.step, away = self.course.act(CourseAction.GO_ON), False
        if away and self.trouble is None:
            self.trouble = Refused("touch_device_gone")
        elif not away and self.trouble is not None:
            self.trouble = self._shown = None
        return away

    def _enter(self, step: Step) -> None:
        self._shown = step
        if self._fingers is not None:
            self._fingers.stop()
        feels = step.screen == "finger_check" and is_own_source(self.capture)
        self._fingers = Fingers(self.capture, self.calibration) if feels else None
        if step.screen == "trial" and step.plan is not None:
            self._recorder = self._begin_trial(step.plan)
        self.stage.show(step, self.language)

    def _begin_trial(self, plan: TrialPlan) -> Recorder:
        if self.journal is not None:
            repeats = self._repeat_of(plan)
            self.journal.begin(JournalTrial(
                self.visit.id, self.course.position, plan, self.visit.calibration_id, repeats))
        running = RunningTrial(plan, self.battery.rest_on_disc_s, self.battery.return_after_lift_s)
        return Recorder(
            self.capture,
            self.calibration,
            running,
            refresh_hz=self.refresh_hz,
            latency_ms=self.visit.latency_ms,
            latency_source=self.visit.latency_source,
            calibrated=self.calibrated,
            calibration_id=self.visit.calibration_id,
            journal=self.journal,
        )

    def _frame(self, recorder: Recorder) -> None:
        now_ns = self.now_ns()
        if recorder.frame(now_ns) == "over":
            self._end_trial("interrupted")
        else:
            self.stage.frame(recorder.picture(now_ns), now_ns / 1e9)

    def _end_trial(self, if_never_set_off: str) -> None:
        """Keep the record and move on; a trial whose disc never set off leaves none and is shown again."""
        record = self._recorder.finish() if self._recorder is not None else None
        self._recorder = None
        if self.journal is not None:
            self.journal.close()
        if record is not None:
            self._settle(record)
        elif if_never_set_off == "stop":
            self.step = self.course.act(CourseAction.STOP)
        else:
            self._shown = None

    def _try_again(self, record: TrialRecord) -> None:
        if self.now_ns() >= self._next_try_ns:
            self._settle(record)

    def _settle(self, record: TrialRecord) -> None:
        """Keep the record and move on; where the store cannot take it now, hold it."""
        try:
            stored = self._keep(record)
        except Refused as refusal:
            if refusal.code not in PASSES:
                raise
            self.trouble, self._unkept = refusal, record
            self._next_try_ns = self.now_ns() + RETRY_NS
            return
        self.trouble = self._unkept = None
        self.step = self._moved_on(stored)

    def _moved_on(self, stored: StoredTrial) -> Step:
        record, scores = stored.record, score_trial(stored.record)
        self.scored.append((stored, scores))
        plan = record.plan
        if plan.scored:
            return self.course.trial_ended(record.facts.outcome, scores.validity.valid)
        practice = check_practice(record.samples, plan, self.battery)
        return self.course.trial_ended(record.facts.outcome, None, practice.passed)

    def _keep(self, record: TrialRecord) -> StoredTrial:
        """Commit the trial before anything else happens to it."""
        stored = StoredTrial(
            self.new_id(), self.visit.id, self.course.position, record, self._repeat_of(record.plan)
        )
        self.archive.add_trial(stored)
        return stored

    def _repeat_of(self, plan: TrialPlan) -> UUID | None:
        """The first attempt that a later attempt repeats."""
        if plan.attempt == 1:
            return None
        earlier = [t.id for t, _ in self.scored if _same_trial(t.record.plan, plan)]
        return earlier[0] if earlier else None


def _same_trial(one: TrialPlan, other: TrialPlan) -> bool:
    return (one.block, one.hand, one.number) == (other.block, other.hand, other.number)
