"""The kiosk at work, one frame at a time: staff's screens, the person's, and the effects in between.

`frame` is called for every picture: time passes, what was asked for is done, the screen is brought up to date
and drawn. Nothing of the staff's part is done while a trial runs but drawing and sampling.
"""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC
from typing import Final
from uuid import UUID

from kiosk.app.conclusion import Conclusion, ReferenceTable
from kiosk.app.context import Context
from kiosk.app.dependencies import Dependencies, Stage
from kiosk.app.last_drawn import LastDrawn
from kiosk.app.listed import table_in_use
from kiosk.app.printing import PrintJob
from kiosk.app.replay import as_paths
from kiosk.app.tablet import as_calibration, calibration_of, this_tablet
from kiosk.app.tablet_measuring import Checking, Drawing, Sliding
from kiosk.app.visit_runner import VisitRunner
from kiosk.base.errors import KioskError, Refused
from kiosk.i18n.language import Language
from kiosk.report.pixels import paper_pixels, qr_modules
from kiosk.staff import session
from kiosk.staff.features import TILES
from kiosk.staff.page import PageScreen
from kiosk.staff.person_part import Paused, PersonPart, SpeakLanguage, person_waits
from kiosk.staff.printing import Paper
from kiosk.staff.results import Replay, Results
from kiosk.staff.screen import Effect, Result, SiteTile, StaffContext, TabletFacts
from kiosk.staff.session import StaffState
from kiosk.staff.sign_in import Purpose
from kiosk.touch.fingers import pointing_input
from kiosk.visits.actions import Action, ChooseLanguage, CourseAction
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.power import must_pause
from kiosk.visits.visit import Visit
from kiosk.wording.page_parts import PaperPixels
from kiosk.wording.staff_parts import PageView, StaffView
from norms import Refusal

PAUSES_ON: Final = ("rest", "change_hand", "new_path")
TIMELESS: Final = (Results, Replay)  # no clock and no battery on them: nothing to draw anew by itself
CarryOut = Callable[[Effect, "KioskDriver"], None]
Follow = Callable[["KioskDriver"], None]


class KioskDriver:
    """One kiosk at work.

    carry_out does what a staff screen asks for; follow looks once a frame at what goes on beside the screens
    (kiosk.app.effects). tiles: the features under Site.
    """

    def __init__(self, deps: Dependencies, carry_out: CarryOut, follow: Follow,
                 tiles: tuple[SiteTile, ...] = TILES) -> None:
        self.deps, self._carry_out, self._follow = deps, carry_out, follow
        self.device: Device = this_tablet(deps)
        self.record: CalibrationRecord | None = calibration_of(deps, self.device)
        self.table: ReferenceTable | None = table_in_use(deps.archive)
        self.visit: Visit | None = None
        self.runner: VisitRunner | None = None
        self.made: Conclusion | None = None
        self.compared: UUID | None = None
        self.printing: tuple[Paper, PrintJob] | None = None
        self.checking: Checking | None = None
        self.sliding: Sliding | None = None
        self.drawing: Drawing | None = None
        self.sign_in_for: Purpose | None = None
        self.greeted = False
        self.next_look_s = 0.0
        self._waiting: list[Effect] = []
        self.state: StaffState = session.opening(
            deps.now_local(), pin_known=deps.pins.known(), newest_record=deps.archive.newest_record(),
            languages=tuple(deps.languages), language=deps.language, at_work=deps.at_work, tiles=tiles)
        self._drawn = LastDrawn()
        self._troubled: str | None = None
        self._pictured: tuple[bytes, PaperPixels | None] = b"", None
        self._stages: list[Stage] = []
        self.take_calibration(self.record)

    @property
    def stage(self) -> Stage:
        """The window's stage, in millimetres of the calibration."""
        return self._stages[0]

    @property
    def language(self) -> Language:
        """The staff's language."""
        return self.deps.languages[self.context.language]

    @property
    def context(self) -> StaffContext:
        """What all staff screens may read."""
        return self.state.context

    def know(self, context: StaffContext) -> None:
        """Something else is so for all staff screens."""
        self.state = replace(self.state, context=context)

    def visit_context(self, language: Language | None = None, training: bool = False) -> Context:
        """What a visit is begun and concluded with; a training visit may use the simulated table."""
        record = self.record
        if record is None:
            raise Refused("tablet_not_calibrated")
        deps = self.deps
        return Context(
            deps.battery, deps.archive, deps.training_table() if training and not self.table else self.table,
            self.device, as_calibration(record, deps.window_px), record, language or self.language,
            deps.new_id, lambda: deps.now_local().astimezone(UTC), deps.zone_name, deps.place, deps.paper,
            journal=deps.journal, input=pointing_input(self.capture))

    def take_calibration(self, record: CalibrationRecord | None) -> None:
        """Draw and record by this calibration from now on."""
        self.record = record
        self._stages[:1] = [self._new_stage(record)]
        self.stage.on_action, self.stage.offered = self.act, tuple(self.deps.languages)
        self.capture = self.deps.make_capture()
        self.tell_capture()
        self.know(replace(self.context, tablet=self.tablet_facts()))
        self._drawn.forget()

    def tell_capture(self) -> None:
        """What lines along an edge showed of the panel's own filter."""
        lines = self.deps.archive.checks_of(self.device.id).lines
        if lines is not None:
            self.capture.smoothing_ms = lines.response_ms

    def tablet_facts(self) -> TabletFacts:
        """What is known of the tablet now."""
        return TabletFacts(self.deps.window_px, self.record is not None, self.device.latency_ms,
                           self.deps.archive.checks_of(self.device.id),
                           self.deps.archive.latencies_of(self.device.id))

    def _new_stage(self, record: CalibrationRecord | None) -> Stage:
        for old in self._stages:
            old.close()
        return self.deps.make_stage(as_calibration(record, self.deps.window_px))

    def act(self, action: Action) -> None:
        """What was chosen on the screen, by the person or by staff."""
        self.touched()
        if isinstance(self.state.screen, PersonPart):
            if isinstance(action, ChooseLanguage):
                self.carry_out(SpeakLanguage(action.tag))
                return
            if isinstance(action, CourseAction) and self.runner is not None:
                with suppress(ValueError):  # a second tap on a button whose screen has gone
                    self.runner.act(action)
                return
        self.take(session.act(self.state, action, self.deps.now_local()))

    def touched(self) -> None:
        """Someone is here: the key is held for another while."""
        if self.deps.session is not None:
            self.deps.session.touched()

    def draw_anew(self) -> None:
        """Another screen lay over the staff's."""
        self._drawn.forget()

    def take(self, stepped: tuple[StaffState, tuple[Effect, ...]]) -> None:
        """The next state; its effects at once, or after the screen that says so has been drawn."""
        self.state, effects = stepped
        self._drawn.forget()
        for effect in effects:
            if effect.slow:
                self._waiting.append(effect)
            else:
                self.carry_out(effect)

    def carry_out(self, effect: Effect) -> None:
        """One effect; what is refused is told on the screen."""
        try:
            self._carry_out(effect, self)
        except KioskError as refusal:
            self.state = session.refused(self.state, Refusal(refusal.code, dict(refusal.values)))
        self._drawn.forget()

    def on_result(self, result: Result) -> None:
        """What an effect found or did, and what it leads to."""
        self.take(session.on_result(self.state, result))

    def close(self) -> None:
        """The key is gone: a running trial stays in the journal as far as it came; let go of the window."""
        if self.runner is not None:
            self.runner.stop_recording()
        self.runner = None
        self.stage.close()

    def interrupt(self, reason: str) -> None:
        """Something came between (focus_lost): a running trial ends as interrupted."""
        if self.runner is not None:
            self.runner.interrupt(reason)

    def frame(self) -> None:
        """One picture."""
        due, self._waiting = self._waiting, []
        if isinstance(self.state.screen, PersonPart) and self.runner is not None:
            self._drawn.takes("person", "person", pressed=False)
            self._sit(self.runner)
        else:
            self._troubled = None
            self._pass_time()
            self._show()
        self.stage.draw()
        now_ns = self.deps.now_ns()
        if self.runner is not None:
            self.runner.flipped()
        if self.checking is not None:
            self.checking.flipped(now_ns)
        for effect in due:
            self.carry_out(effect)

    def _sit(self, runner: VisitRunner) -> None:
        """A frame of the person's part; at a rest with an empty battery it pauses."""
        runner.tick()
        self._tell_trouble(runner)
        if runner.step.screen in PAUSES_ON and must_pause(self.deps.power()):
            self.runner = None
            self.state = replace(self.state, screen=Paused(runner.visit.id))
            self._drawn.forget()

    def _tell_trouble(self, runner: VisitRunner) -> None:
        """While a trial cannot be kept or the panel is gone, say so in place of the person's screen."""
        trouble = None if runner.trouble is None else runner.trouble.code
        if trouble == self._troubled:
            return
        self._troubled = trouble
        if runner.trouble is not None:
            told = Refusal(runner.trouble.code, dict(runner.trouble.values))
            self.stage.show_staff(person_waits(told, runner.language), runner.language)

    def _pass_time(self) -> None:
        self.state = session.tick(self.state, self.deps.now_local(), self.deps.power())
        self._follow(self)

    def _show(self) -> None:
        """Draw the staff's screen anew where anything on it has changed."""
        screen, context = self.state.screen, self.context
        percent = None if context.power.percent is None else round(context.power.percent)
        now = (screen.name, *(() if isinstance(screen, TIMELESS) else (
            context.at.replace(second=0, microsecond=0), context.power.charging, percent)))
        if not self._drawn.takes(screen.name, now, pressed=self.stage.pressed):
            return
        if isinstance(screen, Results) and context.concluded is not None:
            self.stage.show_results(context.concluded.content, self.language, screen.controls(self.language),
                                    as_paths(context.concluded.replay, self.language))
            return
        view = session.staff_view(self.state, self.language)
        if view is not None:
            self.stage.show_staff(self._pictured_page(view), self.language)

    def _pictured_page(self, view: StaffView) -> StaffView:
        """The view; a page's with its picture and the modules of its QR code."""
        if not isinstance(view, PageView):
            return view
        pixels = self._page_pixels() if isinstance(self.state.screen, PageScreen) else None
        return replace(view, qr_modules=qr_modules(view.qr_text), pixels=pixels)

    def _page_pixels(self) -> PaperPixels | None:
        """The page at hand as it will be printed, drawn once."""
        pdf = b"" if self.context.concluded is None else self.context.concluded.pdf
        if pdf and self._pictured[0] != pdf:
            self._pictured = pdf, paper_pixels(pdf)
        return self._pictured[1] if pdf else None
