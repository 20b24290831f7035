"""The kiosk at work, one frame at a time: the desk's screens, the sitting's, and the wishes in between.

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
from kiosk.visits import desk
from kiosk.visits.desk_ready import must_pause, paused
from kiosk.visits.desk_state import DeskState, Wishes
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.door_state import Purpose
from kiosk.visits.visit import Visit
from kiosk.wording.page_parts import PaperPixels
from kiosk.wording.staff_parts import Control, PageView, StaffView
from kiosk.wording.staff_shown import Shown
from kiosk.wording.staff_words import staff_view
from kiosk.wording.staff_words_notices import person_waits
from norms import Refusal

SLOW: Final = ("conclude", "amend", "compare", "begin", "resume", "check_pin", "keep_pin", "print")
PAUSES_ON: Final = ("rest", "change_hand", "new_path")
TIMELESS: Final = ("results", "replay")  # no clock and no battery on them: nothing to draw anew by itself


class Clinic:
    """One kiosk at work. `wishes` fulfils what the desk asks for, by its first word."""

    def __init__(self, kit: Kit, wishes: dict[str, Callable[["Clinic", str], None]]) -> None:
        self.kit, self._fulfil = kit, wishes
        self.device: Device = this_tablet(kit)
        self.record: CalibrationRecord | None = calibration_of(kit, self.device)
        self.table: ReferenceTable | None = table_in_use(kit.archive)
        self.visit: Visit | None = None
        self.sitting: Sitting | None = None
        self.made: Conclusion | None = None
        self.shown: Shown | None = None
        self.compared: UUID | None = None
        self.printing: PrintJob | None = None
        self.checking: Checking | None = None
        self.at_door: Purpose | None = None
        self.greeted = False
        self.next_look_s = 0.0
        self._waiting: list[str] = []
        self.state: DeskState = desk.opening(
            kit.now_local(), pin_known=kit.pins.known(), newest_record=kit.archive.newest_record(),
            languages=tuple(kit.languages), language=kit.language, at_work=kit.at_work)
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
        return self.kit.languages[self.state.language]

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
        site = self.state.site
        self.state = desk.with_site(self.state, window_px=self.kit.window_px, calibrated=record is not None,
                                    latency_ms=self.device.latency_ms, checking=site.checking,
                                    checks=self.kit.archive.checks_of(self.device.id))
        self._drawn.forget()

    def _new_stage(self, record: CalibrationRecord | None) -> Stage:
        for old in self._stages:
            old.close()
        return self.kit.make_stage(as_calibration(record, self.kit.window_px))

    def act(self, action: str) -> None:
        """What was chosen on the screen, by the person or by staff."""
        self.touched()
        if self.state.screen == "person" and action.startswith("language "):
            self.fulfil(f"speak {action.removeprefix('language ')}")
            return
        if self.state.screen == "person" and self.sitting is not None and action != "staff":
            with suppress(ValueError):  # a second tap on a button whose screen has gone
                self.sitting.act(action)
            return
        self.state, wishes = desk.act(self.state, action, self.kit.now_local())
        self.ask(wishes)

    def touched(self) -> None:
        """Someone is here: the key is held for another while."""
        if self.kit.session is not None:
            self.kit.session.touched()

    def draw_anew(self) -> None:
        """Another screen lay over the desk's."""
        self._drawn.forget()

    def ask(self, wishes: Wishes) -> None:
        """Fulfil wishes: at once, or after the screen that says so has been drawn where they take time."""
        self._drawn.forget()
        for wish in wishes:
            if wish.partition(" ")[0] in SLOW:
                self._waiting.append(wish)
            else:
                self.fulfil(wish)

    def fulfil(self, wish: str) -> None:
        """One wish; what is refused is told on the screen."""
        name, _, rest = wish.partition(" ")
        try:
            self._fulfil[name](self, rest)
        except KioskError as refusal:
            self.state = desk.refused(self.state, Refusal(refusal.code, dict(refusal.values)))
        self._drawn.forget()

    def told(self, moved: tuple[DeskState, Wishes]) -> None:
        """The desk has been told something: its next state, and what it asks for then."""
        self.state = moved[0]
        self.ask(moved[1])

    def interrupt(self, reason: str) -> None:
        """Something came between (focus_lost): a running trial ends as interrupted."""
        if self.sitting is not None:
            self.sitting.interrupt(reason)

    def frame(self) -> None:
        """One picture."""
        due, self._waiting = self._waiting, []
        if self.state.screen == "person" and self.sitting is not None:
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
        for wish in due:
            self.fulfil(wish)

    def _sit(self, sitting: Sitting) -> None:
        """A frame of the person's part; at a rest with an empty battery it pauses."""
        sitting.tick()
        self._tell_trouble(sitting)
        if sitting.step.screen in PAUSES_ON and must_pause(self.kit.power()):
            self.sitting = None
            self.state = paused(self.state)
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
        self.state = desk.tick(self.state, self.kit.now_local(), self.kit.power())
        for wish in ("follow_print", "follow_check", "follow_backup"):
            self._fulfil[wish](self, "")

    def _show(self) -> None:
        """Draw the desk's screen anew where anything on it has changed."""
        state = self.state
        percent = None if state.power.percent is None else round(state.power.percent)
        now = (state.screen, *(() if state.screen in TIMELESS else (
            state.at.replace(second=0, microsecond=0), state.power.charging, percent)))
        if not self._drawn.takes(state.screen, now, pressed=self.stage.pressed):
            return
        if state.screen == "results" and self.shown is not None:
            self.stage.show_results(self.shown.content, self.language, self._result_controls(),
                                    as_paths(self.shown.replay, self.language))
        elif state.screen != "person":
            self.stage.show_staff(self._view(state), self.language)

    def _view(self, state: DeskState) -> StaffView:
        """What the desk's screen shows; a page with its picture and the modules of its QR code."""
        view = staff_view(state, self.language, self.shown)
        if not isinstance(view, PageView):
            return view
        pixels = self._page_pixels() if state.screen == "page" else None
        return replace(view, qr_modules=qr_modules(view.qr_text), pixels=pixels)

    def _page_pixels(self) -> PaperPixels | None:
        """The page at hand as it will be printed, drawn once."""
        pdf = b"" if self.shown is None else self.shown.pdf
        if pdf and self._pictured[0] != pdf:
            self._pictured = pdf, paper_pixels(pdf)
        return self._pictured[1] if pdf else None

    def _result_controls(self) -> tuple[Control, ...]:
        say_in = self.language.say_in
        return (Control("replay", say_in("button", "Replay")),
                Control("compare", say_in("button", "Compare")),
                Control("today", say_in("button", "Today"), "quiet"),
                Control("next", say_in("button", "Page"), "main"))
