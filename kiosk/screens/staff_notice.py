"""Words in the middle of the screen: hand-over, locked, not printed; crosses, card and line to match. mm."""

from collections.abc import Sequence
from typing import Final

from kivy.graphics import PopMatrix, PushMatrix, Translate
from kivy.input import MotionEvent

from kiosk.figures.marks import Box, around
from kiosk.screens import alpha
from kiosk.screens.buttons import Button
from kiosk.screens.parts import DOT_GAP_MM, DOT_MM, HEADLINE_MM, Message, Part, Scene
from kiosk.screens.staff_blocks import words_block
from kiosk.screens.staff_buttons import StaffCorner
from kiosk.screens.staff_foot import foot
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.theme import READ, READ_STRONG, STAFF_GAP_MM, TypeStyle
from kiosk.touch.slide import pace_mm
from kiosk.visits.actions import ScreenAction, TouchPlace
from kiosk.wording.staff_parts import CardView, Control, CrossView, NoticeView, SlideView

CORNER_MM: Final = (28.0, 26.0)
CARD_RADIUS_MM: Final = 3.2
CARD_EDGE_MM: Final = 1.0
CROSS_MM: Final = 12.0
CROSS_LINE_MM: Final = 0.8
PACE_MM: Final = 4.0
SLIDE_LINE_MM: Final = 0.6


class NoticeScreen(StaffScreen):
    """A headline, a sentence, controls; without controls a touch anywhere is reported."""

    def __init__(self, scene: Scene, view: NoticeView, sheet: int) -> None:
        super().__init__(scene, view.head, view.controls)
        window, margin, body = scene.panel.box, scene.panel.margin, self.body
        corner = _corner_box(scene) if view.staff_corner else None
        if not view.controls:
            self.put(Anywhere(scene, window))
            low = margin + (CORNER_MM[1] + STAFF_GAP_MM if corner else 0.0)
            body = Box(body.left, window.bottom + low, body.width, body.top - window.bottom - low)
        wide = min(HEADLINE_MM, body.width)
        self.put(Message(scene, view.headline, view.sentence, around(body.x, body.y, wide, body.height)))
        self.frame_parts()
        if corner:
            self.put(StaffCorner(scene, view.staff_corner, corner))


class Anywhere(Button):
    """The whole panel, where only a touch is awaited."""

    def __init__(self, scene: Scene, box: Box) -> None:
        super().__init__(scene, "anywhere", ScreenAction.TOUCHED, box)


def put_prompt(screen: StaffScreen, prompt: str, style: TypeStyle) -> Box:
    """Put a prompt at the top of the body; what is left below it."""
    body = screen.body
    words = words_block(screen.scene, body.width, prompt, style)
    words.put(screen, Box(body.left, body.top - words.height, body.width, words.height))
    return Box(body.left, body.bottom, body.width, body.height - words.height - STAFF_GAP_MM)


class CardScreen(StaffScreen):
    """The outline to lay a card on, at life size in both axes; the two edges to match are the strong ones."""

    def __init__(self, scene: Scene, view: CardView, sheet: int) -> None:
        super().__init__(scene, view.head, view.controls, view.note)
        self.frame_parts()
        self.put(CardOutline(scene, view, put_prompt(self, view.prompt, READ_STRONG)))


class CardOutline(Part):
    """The outline, of the pixels given, in the middle of the room."""

    def __init__(self, scene: Scene, view: CardView, room: Box) -> None:
        calibration = scene.panel.calibration
        along, across = view.length_px, view.other_px
        px = (along, across) if view.axis == "width" else (across, along)
        wide, high = px[0] / calibration.px_per_mm_x, px[1] / calibration.px_per_mm_y
        box = around(room.x, room.y, wide, high)
        super().__init__(scene, "card outline", box)
        painter = scene.painter
        painter.outline(self.canvas, box, CARD_RADIUS_MM, CARD_EDGE_MM / 2, "line")
        clear = 2 * CARD_RADIUS_MM
        for edge in _edges(box, view.axis, clear):
            painter.box(self.canvas, edge, "accent")


class CrossScreen(StaffScreen):
    """One cross to touch; where it was touched is told in mm from the centre."""

    def __init__(self, scene: Scene, view: CrossView, sheet: int) -> None:
        super().__init__(scene, None, ())
        self.put(TouchedPlace(scene, scene.panel.box))
        self.put(Cross(scene, view.x_mm, view.y_mm))
        texts = ((view.head.title, READ_STRONG, "text"), (view.prompt, READ, "text"))
        middle = self.put(Middle(scene, texts))
        self.put(Done(scene, view.done, view.total, middle.box.top + 6.0))
        for control, box in _centred_foot(scene, view):
            self.put_control(control, box)


class SlideScreen(StaffScreen):
    """The mark that sets the pace, the place for the finger below it, and the line that is set under it."""

    def __init__(self, scene: Scene, view: SlideView, sheet: int) -> None:
        super().__init__(scene, view.head, view.controls, view.note)
        self.frame_parts()
        body, room = self.body, put_prompt(self, view.prompt, READ)
        dots = self.put(Done(scene, view.done, view.total, room.top - STAFF_GAP_MM))
        high = dots.box.bottom - STAFF_GAP_MM - body.bottom
        self._lane = self.put(Lane(scene, Box(-body.width / 2, body.bottom, body.width, high)))

    def fingers(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """The line stands at the place given, or is not drawn."""
        self._lane.line_at(places_mm[0][0] if places_mm else None)


class Lane(Part):
    """The pacing mark and the line; both move by a translation."""

    def __init__(self, scene: Scene, box: Box) -> None:
        super().__init__(scene, "slide", box)
        painter = scene.painter
        self._y = box.top - PACE_MM
        self._mark, self._line = Translate(0.0, 0.0), Translate(0.0, 0.0)
        self._moving(self._mark)
        painter.disc(self.canvas, 0.0, self._y, PACE_MM, "target")
        self.canvas.add(PopMatrix())
        self._moving(self._line)
        high = self._y - 2 * PACE_MM - box.bottom
        line = Box(-SLIDE_LINE_MM / 2, box.bottom, SLIDE_LINE_MM, high)
        self._ink = painter.box(self.canvas, line, "accent")
        self.canvas.add(PopMatrix())
        self._ink.a = 0.0
        self.tick(scene.now_s())

    def tick(self, now_s: float) -> None:
        """The pacing mark where it is now."""
        self._mark.x = pace_mm(now_s) * self.scene.panel.calibration.px_per_mm_x

    def line_at(self, x_mm: float | None) -> None:
        """The line at a place; None: not drawn."""
        self._ink.a = 0.0 if x_mm is None else 1.0
        if x_mm is not None:
            self._line.x = x_mm * self.scene.panel.calibration.px_per_mm_x

    def _moving(self, move: Translate) -> None:
        self.canvas.add(PushMatrix())
        self.canvas.add(move)


class TouchedPlace(Button):
    """The whole screen: reports the place of the touch."""

    def __init__(self, scene: Scene, box: Box) -> None:
        super().__init__(scene, "touch place", TouchPlace(0.0, 0.0), box)

    def on_touch_down(self, touch: MotionEvent) -> bool:
        """Keep the place where the finger came down."""
        taken = super().on_touch_down(touch)
        if taken:
            screen = self.scene.panel.calibration
            x_mm = (touch.sx - 0.5) * screen.window_width_px / screen.px_per_mm_x
            y_mm = (touch.sy - 0.5) * screen.window_height_px / screen.px_per_mm_y
            self.action = TouchPlace(x_mm, y_mm)
        return taken


class Cross(Part):
    """Two thin lines and a ring around their crossing."""

    def __init__(self, scene: Scene, x: float, y: float) -> None:
        super().__init__(scene, "cross", around(x, y, CROSS_MM, CROSS_MM))
        half, line = CROSS_MM / 2, CROSS_LINE_MM / 2
        bars = alpha.union(alpha.rounded(half, line, 0.0), alpha.rounded(line, half, 0.0),
                           alpha.ring(3.0, 3.0 + CROSS_LINE_MM))
        scene.painter.shape(self.canvas, x, y, (half, half), "cross", bars, "text")


class Middle(Part):
    """Lines between the crosses, above the middle one."""

    def __init__(self, scene: Scene, texts: tuple[tuple[str, TypeStyle, str], ...]) -> None:
        width, lines = 100.0, []
        for text, style, role in texts:
            lines += [(line, style, role) for line in scene.painter.letters.lines(text, style, width)]
        high = len(lines) * READ.pitch_mm
        super().__init__(scene, "words", Box(-width / 2, 9.0, width, high))
        baseline = self.box.top - 5.4
        for line, style, role in lines:
            self.say(line, style, 0.0, baseline, role)
            baseline -= READ.pitch_mm


class Done(Part):
    """How many crosses are done: solid, the others open; mirrored right to left."""

    def __init__(self, scene: Scene, done: int, total: int, y: float) -> None:
        pitch = DOT_MM + DOT_GAP_MM
        super().__init__(scene, "crosses done", around(0.0, y, total * pitch, DOT_MM + 1.8))
        for number in range(total):
            x = -scene.leading * (number - (total - 1) / 2) * pitch
            inner = 0.0 if number < done else DOT_MM / 2 - 0.6
            scene.painter.ring(self.canvas, x, y, inner, DOT_MM / 2, "quiet" if number < done else "line")


def _corner_box(scene: Scene) -> Box:
    window, margin = scene.panel.box, scene.panel.margin
    x = -scene.leading * (window.width / 2 - margin - CORNER_MM[0] / 2)
    return around(x, window.bottom + margin + CORNER_MM[1] / 2, *CORNER_MM)


def _edges(box: Box, axis: str, clear: float) -> tuple[Box, Box]:
    thick = CARD_EDGE_MM
    if axis == "width":
        high = box.height - 2 * clear
        return (Box(box.left, box.bottom + clear, thick, high),
                Box(box.right - thick, box.bottom + clear, thick, high))
    wide = box.width - 2 * clear
    return (Box(box.left + clear, box.bottom, wide, thick),
            Box(box.left + clear, box.top - thick, wide, thick))


def _centred_foot(scene: Scene, view: CrossView) -> list[tuple[Control, Box]]:
    """The controls, moved to the middle of the foot, clear of the crosses."""
    placed = foot(scene, view.controls, "").controls
    if not placed:
        return []
    left, right = min(box.left for _, box in placed), max(box.right for _, box in placed)
    shift = -(left + right) / 2
    return [(control, Box(box.left + shift, box.bottom, box.width, box.height)) for control, box in placed]
