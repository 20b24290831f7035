"""The stage: shows the screen of a step, draws frames on request, and reports what the person does.

Everything that takes time (holding, resting, fading, the demonstration) runs on the clock given, in seconds,
never on the toolkit's: a virtual clock works as well as the real one. One draw() is exactly one frame.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from kivy.base import EventLoop
from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glFinish, glReadPixels
from PIL import Image

from kiosk.i18n.language import Language
from kiosk.pursuit.running import Picture
from kiosk.screens.buttons import Button
from kiosk.screens.in_field import Demonstration, Trial
from kiosk.screens.input import Fingertip, Keyboard
from kiosk.screens.painter import Painter, TouchPanel, painter_for
from kiosk.screens.parts import Scene
from kiosk.screens.person import BUILDERS, locked
from kiosk.screens.results import Results
from kiosk.screens.screen import OwnAction, Screen
from kiosk.screens.sounds import Sounds
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.staff_screens import staff_screen
from kiosk.screens.theme import DARK, LIGHT, Theme, rgb
from kiosk.screens.window import open_window
from kiosk.touch.calibration import Calibration
from kiosk.visits.actions import Action, Scan
from kiosk.visits.course import Step
from kiosk.wording.page_parts import PageContent
from kiosk.wording.staff_parts import Control, ReplayPath, StaffView

IN_FIELD: Final[dict[str, Callable[[Scene, Step], Screen]]] = {"trial": Trial, "demonstration": Demonstration}
_MAX_PAGES: Final = 6
_HOLD_SLACK_S: Final = 0.001


class Stage:
    """One window and the screen on it."""

    def __init__(self, calibration: Calibration, now_s: Callable[[], float], *, offscreen: bool,
                 theme: Theme = DARK, staff_theme: Theme = LIGHT, fullscreen: bool = False,
                 touch_device: str = "", sounds: Sounds | None = None) -> None:
        self.on_action: Callable[[Action], None] = lambda action: None
        self.screen: Screen | None = None
        self.shown = ""
        self.offered: tuple[str, ...] = ()
        self._sounds, self._spoken = sounds, ("", "")
        self._panel, self._now_s, self._theme = TouchPanel(calibration), now_s, theme
        self._staff_theme = staff_theme
        self._staff_view: StaffView | None = None
        self._painters: dict[tuple[str, str, str], Painter] = {}
        self._window = open_window(calibration.window_width_px, calibration.window_height_px, offscreen,
                                   fullscreen=fullscreen, touch_device=touch_device)
        self._offscreen = offscreen
        self._finger = Fingertip(self._window)
        EventLoop.add_input_provider(self._finger)
        self._keyboard = Keyboard(self._window, self._typing, self._entered)
        self._finger_at: tuple[float, float] = (0.0, 0.0)
        self._reported = 0

    def show(self, step: Step, language: Language) -> None:
        """The screen of this step, in this language. Screens in the field are always dark."""
        build = IN_FIELD.get(step.screen) or BUILDERS[step.screen]
        self._spoken = (language.tag, step.screen)
        theme = DARK if step.screen in IN_FIELD else self._theme
        self._put(step.screen, lambda: build(self._scene(theme, language), step), theme)
        if self._sounds is not None:
            self._sounds.screen(language.tag, step.screen, silent=step.screen in IN_FIELD)

    def show_results(self, content: PageContent, language: Language, controls: Sequence[Control] = (),
                     trials: Sequence[ReplayPath] = ()) -> None:
        """What staff see of a page, on the view shown before; `trials` are drawn as distance over time."""
        theme, now = self._staff_theme, self.screen
        shown = now.shown if isinstance(now, Results) and now.content is content else (0, 0)
        self._put("results", lambda: Results(self._scene(theme, language), content, controls, trials, shown),
                  theme)

    def show_staff(self, view: StaffView, language: Language) -> None:
        """A screen of the staff's part; where the same one is shown anew it stays on its sheet."""
        sheet = self.screen.sheet if self._shows_same(view) and isinstance(self.screen, StaffScreen) else 0
        theme = self._staff_theme
        self._put("staff", lambda: staff_screen(self._scene(theme, language), view, sheet), theme)
        self._staff_view = view

    def show_locked(self, language: Language) -> None:
        """Show the locked screen, which says nothing of any person."""
        self._put("locked", lambda: locked(self._scene(self._theme, language)), self._theme)

    def frame(self, picture: Picture, now_s: float) -> None:
        """The running trial's picture at now_s; draw() shows it."""
        if self.screen is not None:
            self.screen.frame(picture, now_s)

    def fingers(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """Where fingers are on the panel, told by the source that records the trials."""
        if self.screen is not None:
            self.screen.fingers(places_mm)

    def draw(self) -> None:
        """Let time pass, take in touches, draw one frame, and read the queue of system events."""
        if self.screen is not None:
            self.screen.tick(self._now_s())
        EventLoop.idle()
        self._window.mainloop()  # the toolkit's name for reading the queue of system events until it is empty
        if self._offscreen:
            glFinish()  # no display takes the frames off the queue here: undrawn ones would pile up in memory

    @property
    def pressed(self) -> bool:
        """Whether a finger is on a button that has yet to act."""
        parts = () if self.screen is None else self.screen.parts
        return any(isinstance(part, Button) and part.pressed for part in parts)

    def button_centre(self, action: Action) -> tuple[float, float]:
        """Where the button that reports this action is, window pixels from the bottom left."""
        box = self._button(action).box
        return self._panel.px(box.x, box.y)

    def actions(self) -> tuple[Action, ...]:
        """What the buttons on the screen report."""
        parts = () if self.screen is None else self.screen.parts
        return tuple(part.action for part in parts if isinstance(part, Button))

    def finger_down(self, x_px: float, y_px: float) -> None:
        """A fingertip comes down at a place; one frame is drawn."""
        self._finger_at = (x_px, y_px)
        self._finger.down(x_px, y_px)
        self.draw()

    def finger_move(self, x_px: float, y_px: float) -> None:
        """It moves; one frame is drawn."""
        self._finger_at = (x_px, y_px)
        self._finger.move(x_px, y_px)
        self.draw()

    def finger_up(self) -> None:
        """It lifts where it is; one frame is drawn."""
        self._finger.up(*self._finger_at)
        self.draw()

    def press(self, action: Action, pass_time: Callable[[float], None] | None = None) -> None:
        """Touch the button of an action, through the event loop, until the action is reported.

        pass_time(seconds) lets the clock run on; buttons that are held need it. A screen of several pages
        is gone through to its last. Raises ValueError where there is no such button or it is not available.
        """
        before = self._reported
        for _ in range(_MAX_PAGES):
            self._touch(self._button(action), pass_time)
            if self._reported != before:
                return
        raise ValueError(f"action {action!r} must be answered by the screen {self.shown}, got nothing")

    def choose(self, action: Action) -> None:
        """Touch a button whose action stays on its screen, such as the choice of a view."""
        self._touch(self._button(action), None)

    def screenshot(self, path: Path) -> None:
        """The window's pixels as a PNG."""
        width, height = self._window.size
        pixels = self.pixels()
        Image.frombytes("RGBA", (width, height), pixels).convert("RGB").transpose(
            Image.Transpose.FLIP_TOP_BOTTOM).save(path)

    def pixels(self) -> bytes:
        """The window as drawn last: RGBA bytes, rows from the bottom."""
        width, height = self._window.size
        self._window.canvas.ask_update()
        self._window.dispatch("on_draw")
        return bytes(glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE))

    def close(self) -> None:
        """Leave the screen and remove the simulated finger; the window itself stays with the process."""
        self._leave()
        self._keyboard.close()
        EventLoop.remove_input_provider(self._finger)

    def _touch(self, button: Button, pass_time: Callable[[float], None] | None) -> None:
        if button.hold_s and pass_time is None:
            raise ValueError(f"pass_time must be given for a button held {button.hold_s} s, got None")
        self.finger_down(*self._panel.px(button.box.x, button.box.y))
        if pass_time is not None and button.hold_s:
            pass_time(button.hold_s + _HOLD_SLACK_S)
            self.draw()
        self.finger_up()

    def _button(self, action: Action) -> Button:
        button = None if self.screen is None else self.screen.button(action)
        if button is None:
            raise ValueError(f"action must be one of {self.actions()} on {self.shown}, got {action!r}")
        return button

    def _put(self, name: str, build: Callable[[], Screen], theme: Theme) -> None:
        self._leave()
        self._window.clearcolor = (*rgb(theme.ground), 1.0)
        self.screen, self.shown = build(), name
        self._window.add_widget(self.screen)

    def _shows_same(self, view: StaffView) -> bool:
        """Whether the view is of the kind and title shown."""
        shown = self._staff_view
        return type(view) is type(shown) and view.head == getattr(shown, "head", None)

    def _typing(self, text: str) -> None:
        if isinstance(self.screen, StaffScreen) and self.screen.listens:
            self.screen.typing(text)
        else:
            self._keyboard.clear()

    def _entered(self, text: str) -> None:
        if isinstance(self.screen, StaffScreen) and self.screen.listens:
            self._report(Scan(text))

    def _leave(self) -> None:
        self._staff_view = None
        self._keyboard.clear()
        if self.screen is not None:
            self.screen.on_leave()
            self._window.remove_widget(self.screen)
            self.screen.dissolve()
            self.screen = None

    def _scene(self, theme: Theme, language: Language) -> Scene:
        key = (theme.name, language.script, language.direction)
        if key not in self._painters:
            self._painters[key] = painter_for(self._panel, theme, language.script, language.direction)
        spoken = self._sounds is not None and self._sounds.spoken(*self._spoken) is not None
        return Scene(self._painters[key], language, self._now_s, self._report, self.offered, spoken)

    def _report(self, action: Action) -> None:
        if self.screen is not None and self.screen.reported(action):
            return
        if action is OwnAction.SAY_AGAIN and self._sounds is not None:
            self._sounds.speak(*self._spoken)
            return
        self._reported += 1
        self.on_action(action)
