"""One screen: its parts, its Stop, and the time it has been shown. Seconds of the scene's clock."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TypeVar

from kiosk.figures.marks import Box
from kiosk.pursuit.running import Picture
from kiosk.screens.buttons import STOP_MM, Button, Stop
from kiosk.screens.parts import Part, Plain, Scene
from kiosk.visits.actions import Action
from kiosk.visits.course import ProgressDot, Step
from kiosk.wording.instructions import stop_word

AnyPart = TypeVar("AnyPart", bound=Part)


class OwnAction(Action, Enum):
    """What a screen does by itself and nobody else need know of."""

    MORE_SHEETS = "more sheets"
    ASK_WHY = "ask why"
    CHOOSE_LANGUAGE = "choose language"
    SAY_AGAIN = "say again"


@dataclass(frozen=True)
class ShowView(Action):
    """Another view of the results, by its place."""

    place: int


class Screen(Plain):
    """The parts of one screen, oldest at the back. Stop stays through every page."""

    def __init__(self, scene: Scene, step: Step | None, *, stop: bool) -> None:
        super().__init__(size_hint=(None, None))
        self.scene, self.step = scene, step
        self.since_s = scene.now_s()
        self._stop = None
        if stop and step is not None:
            self._stop = self.put(Stop(scene, stop_word(scene.language), stop_box(scene, step)))

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts on the screen, back to front."""
        return tuple(reversed(self.children))

    def put(self, part: AnyPart) -> AnyPart:
        """Add a part in front of the others."""
        self.add_widget(part)
        return part

    def has(self, name: str) -> bool:
        """Whether a part of this name is there."""
        return any(part.name == name for part in self.children)

    def drop(self, name: str) -> None:
        """Remove a part from the screen."""
        for part in [one for one in self.children if one.name == name]:
            part.on_leave()
            self.remove_widget(part)

    def clear(self) -> None:
        """Take every part away but Stop."""
        for part in [one for one in self.children if one is not self._stop]:
            part.on_leave()
            self.remove_widget(part)

    def button(self, action: Action) -> Button | None:
        found = [part for part in self.children if isinstance(part, Button) and part.action == action]
        return found[0] if found else None

    def tick(self, now_s: float) -> None:
        """Let time pass to now_s."""
        for part in list(self.children):
            part.tick(now_s)

    def reported(self, action: Action) -> bool:
        """Handle an action of one of the buttons; True where nobody else need hear of it."""
        return False

    def frame(self, picture: Picture, now_s: float) -> None:
        """The running trial's picture; screens without a field show none."""

    def fingers(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """Where fingers are, from the source that records the trials; only the finger check uses it."""

    def on_leave(self) -> None:
        """Called when the screen is left."""
        for part in self.children:
            part.on_leave()

    def dissolve(self) -> None:
        """Free the pictures at once: parts and screen refer to each other and would wait for collection."""
        for part in list(self.children):
            for canvas in (part.canvas.before, part.canvas, part.canvas.after):
                canvas.clear()
        self.clear_widgets()


def stop_box(scene: Scene, step: Step) -> Box:
    """Stop's place: the upper corner away from the moving hand, in every reading direction."""
    window, edge = scene.panel.box, scene.panel.stop
    width, height = STOP_MM
    left = window.left + edge if step.hand_side == "right" else window.right - edge - width
    return Box(left, window.top - edge - height, width, height)


def dots_now(step: Step) -> tuple[ProgressDot, ...]:
    """The dots, the next trial's marked as now."""
    plan = step.plan
    if plan is None or any(dot.state == "now" for dot in step.progress_dots):
        return step.progress_dots
    own = (plan.block, plan.hand, plan.number)
    return tuple(replace(dot, state="now") if (dot.block, dot.hand, dot.number) == own else dot
                 for dot in step.progress_dots)
