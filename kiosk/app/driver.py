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
from kiosk.app.context import Room
from kiosk.app.dependencies import Kit, Stage
from kiosk.app.last_drawn import LastDrawn
from kiosk.app.listed import table_in_use
from kiosk.app.printing import PrintJob
from kiosk.app.replay import as_paths
from kiosk.app.tablet import Checking, as_calibration, calibration_of, this_tablet
from kiosk.app.visit_runner import Sitting
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
from kiosk.visits.actions import Action, ChooseLanguage, CourseAction
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.power import must_pause
from kiosk.visits.visit import Visit
from kiosk.wording.page_parts import PaperPixels
from kiosk.wording.staff_parts import PageView, StaffView
from norms import Refusal

PAUSES_ON: Final = ("rest", "change_hand", "new_path")
TIMELESS: Final = (Results, Replay)  # no clock and no battery on them: nothing to draw anew by itself
CarryOut = Callable[[Effect, "Clinic"], None]
Follow = Callable[["Clinic"], None]


class Clinic:
    """One kiosk at work.

    carry_out does what a staff screen asks for; follow looks once a frame at what goes on beside the screens
    (kiosk.app.effects). tiles: the features under Site.
    """

    def __init__(self, kit: Kit, carry_out: CarryOut, follow: Follow,
                 tiles: tuple[SiteTile, ...] = TILES) -> None:
        self.kit, self._carry_out, self._follow = kit, carry_out, follow
        self.device: Device = this_tablet(kit)
        self.record: CalibrationRecord | None = calibration_of(kit, self.device)
        self.table: ReferenceTable | None = table_in_use(kit.archive)
        self.visit: Visit | None = None
        self.sitting: Sitting | None = None
        self.made: Conclusion | None = None
        self.compared: UUID | None = None
        self.printing: tuple[Paper, PrintJob] | None = None
        self.checking: Checking | None = None
        self.at_door: Purpose | None = None
        self.greeted = False
        self.next_look_s = 0.0
        self._waiting: list[Effect] = []
        self.state: StaffState = session.opening(
            kit.now_local(), pin_known=kit.pins.known(), newest_record=kit.archive.newest_record(),
            languages=tuple(kit.languages), language=kit.language, at_work=kit.at_work, tiles=tiles)
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
        return self.kit.languages[self.context.language]

    @property
    def context(self) -> StaffContext:
        """What all staff screens may read."""
        return self.state.context

    def know(self, context: StaffContext) -> None:
        """Something else is so for all staff screens."""
        self.state = replace(self.state, context=context)

    def room(self, language: Language | None = None, training: bool = False) -> Room:
        """What a visit is begun and concluded with; a training visit may use the simulated table."""
        record = self.record
        if record is None:
            raise Refused("tablet_not_calibrated")
        kit = self.kit
        return Room(
            kit.battery, kit.archive, kit.training_table() if training and not self.table else self.table,
            self.device, as_calibration(record, kit.window_px), record, language or self.language, kit.new_id,
            lambda: kit.now_local().astimezone(UTC), kit.zone_name, kit.place, kit.paper, journal=kit.journal)

    def take_calibration(self, record: CalibrationRecord | None) -> None:
        """Draw and record by this calibration from now on."""
        self.record = record
        self._stages[:1] = [self._new_stage(record)]
        self.stage.on_action, self.stage.offered = self.act, tuple(self.kit.languages)
        self.capture = self.kit.make_capture()
        self.know(replace(self.context, tablet=self.tablet_facts()))
        self._drawn.forget()

    def tablet_facts(self) -> TabletFacts:
        """What is known of the tablet now."""
        return TabletFacts(self.kit.window_px, self.record is not None, self.device.latency_ms,
                           self.kit.archive.checks_of(self.device.id))

    def _new_stage(self, record: CalibrationRecord | None) -> Stage:
        for old in self._stages:
            old.close()
        return self.kit.make_stage(as_calibration(record, self.kit.window_px))

    def act(self, action: Action) -> None:
        """What was chosen on the screen, by the person or by staff."""
        self.touched()
        if isinstance(self.state.screen, PersonPart):
            if isinstance(action, ChooseLanguage):
                self.carry_out(SpeakLanguage(action.tag))
                return
            if isinstance(action, CourseAction) and self.sitting is not None:
                with suppress(ValueError):  # a second tap on a button whose screen has gone
                    self.sitting.act(action)
                return
        self.take(session.act(self.state, action, self.kit.now_local()))

    def touched(self) -> None:
        """Someone is here: the key is held for another while."""
        if self.kit.session is not None:
            self.kit.session.touched()

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

    def interrupt(self, reason: str) -> None:
        """Something came between (focus_lost): a running trial ends as interrupted."""
        if self.sitting is not None:
            self.sitting.interrupt(reason)

    def frame(self) -> None:
        """One picture."""
        due, self._waiting = self._waiting, []
        if isinstance(self.state.screen, PersonPart) and self.sitting is not None:
            self._drawn.takes("person", "person", pressed=False)
            self._sit(self.sitting)
        else:
            self._troubled = None
            self._pass_time()
            self._show()
        self.stage.draw()
        now_ns = self.kit.now_ns()
        if self.sitting is not None:
            self.sitting.flipped()
        if self.checking is not None:
            self.checking.flipped(now_ns)
        for effect in due:
            self.carry_out(effect)

    def _sit(self, sitting: Sitting) -> None:
        """A frame of the person's part; at a rest with an empty battery it pauses."""
        sitting.tick()
        self._tell_trouble(sitting)
        if sitting.step.screen in PAUSES_ON and must_pause(self.kit.power()):
            self.sitting = None
            self.state = replace(self.state, screen=Paused(sitting.visit.id))
            self._drawn.forget()

    def _tell_trouble(self, sitting: Sitting) -> None:
        """While a trial cannot be kept or the panel is gone, say so in place of the person's screen."""
        trouble = None if sitting.trouble is None else sitting.trouble.code
        if trouble == self._troubled:
            return
        self._troubled = trouble
        if sitting.trouble is not None:
            told = Refusal(sitting.trouble.code, dict(sitting.trouble.values))
            self.stage.show_staff(person_waits(told, sitting.language), sitting.language)

    def _pass_time(self) -> None:
        self.state = session.tick(self.state, self.kit.now_local(), self.kit.power())
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
