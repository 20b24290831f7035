"""The screens in the field: the trial, and the wordless demonstration. Always dark, whatever the theme.

Millimetres from the field's centre, y up; seconds of the scene's clock. Decision screens-2.
"""

from collections.abc import Sequence
from math import atan2, degrees, pi
from typing import Final

from kivy.graphics import InstructionGroup, PopMatrix, PushMatrix, Rotate, ScissorPop, ScissorPush, Translate

from kiosk.figures.marks import around
from kiosk.pursuit.running import Picture
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan
from kiosk.screens import alpha
from kiosk.screens.buttons import show
from kiosk.screens.hand import MIDDLE_MM, add_hand, chevron, hand_picture
from kiosk.screens.parts import FIELD, Field, Part, Path, ProgressDots, Scene
from kiosk.screens.screen import Screen, dots_now, stop_box
from kiosk.screens.target import Target
from kiosk.screens.theme import FIELD_RADIUS_MM, TELL_IN_FIELD
from kiosk.visits.actions import CourseAction
from kiosk.visits.course import Step
from kiosk.wording.instructions import screen_words

IN_CIRCLE_MM: Final = 56.0
IN_WANDER_MM: Final = 120.0
FROM_DISC_MM: Final = 24.0
MOST_LINES: Final = 4
BELOW_CENTRE_MM: Final = 9.0
DOTS_BELOW_STOP_TOP_MM: Final = 46.8
COME_S: Final = 1.0       # the hand comes to the disc
REST_S: Final = 0.8       # and rests on it
GO_S: Final = 9.0         # run-in and most of a turn
STAY_S: Final = 0.6
_CHEVRON_TURNS_RAD: Final = (0.60, 0.77, 0.94)
_CLEAR_MM: Final = 4.8    # about a chevron: up to the target's own clearing, not onto its ring


class WaitingWords(Part):
    """What the person reads before the disc sets off: inside the circle, or clear of a wandering disc.

    Of several ways to say it the first that fits is taken, else the last.
    """

    def __init__(self, scene: Scene, texts: Sequence[str], plan: TrialPlan) -> None:
        x, y = (float(place) for place in plan.position(0.0))
        on_circle = isinstance(plan.path, Circle)
        width = IN_CIRCLE_MM if on_circle else IN_WANDER_MM
        lines = _first_that_fits(scene, texts, width)
        height = TELL_IN_FIELD.cap_mm + TELL_IN_FIELD.pitch_mm * (len(lines) - 1)
        middle = (0.0, -BELOW_CENTRE_MM) if on_circle else _clear_of(x, y, width, height)
        super().__init__(scene, "waiting words", around(*middle, width, height + 6.0))
        baseline = middle[1] + height / 2 - TELL_IN_FIELD.cap_mm
        self._lines = InstructionGroup()
        for line in lines:
            self.say(line, TELL_IN_FIELD, middle[0], baseline, "text", canvas=self._lines)
            baseline -= TELL_IN_FIELD.pitch_mm

    def show(self, shown: bool) -> None:
        """Gone once the disc moves; there again where it waits again."""
        show(self.canvas, self._lines, shown)


def _first_that_fits(scene: Scene, texts: Sequence[str], width: float) -> tuple[str, ...]:
    letters = scene.painter.letters
    for text in texts:
        lines = letters.lines(text, TELL_IN_FIELD, width)
        if len(lines) <= MOST_LINES and letters.widest_mm(lines, TELL_IN_FIELD) <= width:
            break
    return lines


def _clear_of(x: float, y: float, width: float, height: float) -> tuple[float, float]:
    """Centre of words 24 below a disc, or above it where there is no room below."""
    edge = 5.0
    furthest = FIELD.width / 2 - edge - width / 2
    below = y - FROM_DISC_MM - height / 2
    room = below - height / 2 - 3.0 >= FIELD.bottom + edge
    return max(-furthest, min(furthest, x)), below if room else y + FROM_DISC_MM + height / 2


class InField(Screen):
    """Field, path, target; Stop and dots in the rail away from the hand. The hand's rail stays empty."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step, stop=True)
        if step.plan is None:
            raise ValueError(f"step {step.screen} must have a trial, got none")
        self.plan = step.plan
        self.put(Field(scene))
        if isinstance(self.plan.path, Circle):
            self.put(Path(scene, self.plan.path.radius_mm))
        self.target = self.put(Target(scene))
        dots = dots_now(step)
        stop = stop_box(scene, step)
        self.put(ProgressDots(scene, dots, stop.x, stop.top - DOTS_BELOW_STOP_TOP_MM, upright=True))

    def waiting(self) -> Picture:
        """The disc at rest, nobody on it."""
        x, y = (float(place) for place in self.plan.position(0.0))
        return Picture("waiting", x, y, False, 0.0)


class Trial(InField):
    """The screen of a running trial."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step)
        words = screen_words(step, scene.language)
        self._words = self.put(WaitingWords(scene, (words.headline, *words.sentences), self.plan))
        self.frame(self.waiting(), scene.now_s())

    def frame(self, picture: Picture, now_s: float) -> None:
        """Move the disc, close or open the ring."""
        self.target.show(picture, now_s)
        self._words.show(picture.phase in ("waiting", "resting"))


class Demonstration(InField):
    """A life-size hand comes to the disc, rests, and goes with it; then reports it was shown. No words."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step)
        self._over = False
        self._hand = self.put(MovingHand(scene, step.hand_side))
        self._way = self.put(Chevrons(scene, self.plan)) if isinstance(self.plan.path, Circle) else None
        self.tick(self.since_s)

    def tick(self, now_s: float) -> None:
        """The whole film, by the scene's clock."""
        super().tick(now_s)
        t_s = now_s - self.since_s
        picture = self._picture(t_s)
        self.target.show(picture, now_s)
        away = max(1.0 - t_s / COME_S, 0.0)
        self._hand.show(picture.x_mm, picture.y_mm, away)
        if self._way:
            self._way.show(picture.x_mm, picture.y_mm)
        if t_s >= COME_S + REST_S + GO_S + STAY_S and not self._over:
            self._over = True
            self.scene.report(CourseAction.SHOWN)

    def _picture(self, t_s: float) -> Picture:
        moving_s = t_s - COME_S - REST_S
        x, y = (float(place) for place in self.plan.position(min(moving_s, GO_S)))
        if t_s < COME_S:
            return Picture("waiting", x, y, False, 0.0)
        if moving_s < 0:
            return Picture("resting", x, y, True, (t_s - COME_S) / REST_S)
        return Picture("run_in", x, y, True, 1.0)


class MovingHand(Part):
    """The neutral hand, cut off at the field's edge."""

    def __init__(self, scene: Scene, side: str) -> None:
        super().__init__(scene, "hand", FIELD)
        left, bottom, right, top = scene.painter.edges_px(FIELD)
        self._move = Translate(0.0, 0.0)
        sign = 1.0 if side == "right" else -1.0
        self._middle, self._from = (sign * MIDDLE_MM[0], MIDDLE_MM[1]), (sign * 25.0, -45.0)
        self.canvas.add(ScissorPush(x=left, y=bottom, width=right - left, height=top - bottom))
        self.canvas.add(PushMatrix())
        self.canvas.add(self._move)
        add_hand(self.canvas, hand_picture(scene.painter, side))
        self.canvas.add(PopMatrix())
        self.canvas.add(ScissorPop())
        scene.painter.round_off(self.canvas, FIELD, FIELD_RADIUS_MM, "ground")

    def show(self, x_mm: float, y_mm: float, away: float) -> None:
        """The fingertip at a place, or on its way to it (away 1 to 0)."""
        (x, y), (from_x, from_y) = self._middle, self._from
        self._move.xy = self.scene.panel.px(x_mm + x + away * from_x, y_mm + y + away * from_y)


class Chevrons(Part):
    """Three arrow heads ahead of the disc on its circle, in place of the path."""

    def __init__(self, scene: Scene, plan: TrialPlan) -> None:
        super().__init__(scene, "chevrons", FIELD)
        path = plan.path
        if not isinstance(path, Circle):
            raise ValueError(f"chevrons need a circle, got {path!r}")
        middle = scene.panel.px(0.0, 0.0)
        self._turn = Rotate(angle=0.0, origin=middle)
        self.canvas.add(PushMatrix())
        self.canvas.add(self._turn)
        for turn in _CHEVRON_TURNS_RAD:
            self._draw(path, turn)
        self.canvas.add(PopMatrix())

    def show(self, x_mm: float, y_mm: float) -> None:
        """Ahead of the disc at this place."""
        self._turn.angle = degrees(atan2(y_mm, x_mm))

    def _draw(self, path: Circle, turn: float) -> None:
        painter, angle = self.scene.painter, path.direction * turn
        self.canvas.add(PushMatrix())
        self.canvas.add(Rotate(angle=degrees(angle), origin=self.scene.panel.px(0.0, 0.0)))
        clear = alpha.disc(_CLEAR_MM)
        for role, half, key, shape in (
                ("field", _CLEAR_MM, "chevron clear", clear),
                ("quiet", 4.2, f"chevron {path.direction}", chevron(path.direction * pi / 2))):
            painter.shape(self.canvas, path.radius_mm, 0.0, (half, half), key, shape, role)
        self.canvas.add(PopMatrix())
