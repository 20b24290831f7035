"""The tablet measured: size, touch on crosses and along lines, touch and picture together, latency twice.

The outline is in pixels, crosses in millimetres, latency in pictures of the camera. What was found is shown
until it is kept or left.
"""

from abc import abstractmethod
from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar, Final, Literal

from kiosk.base.errors import Refused
from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.pad import DIGIT_ROWS, DIGITS, Pad, keys
from kiosk.staff.rights import Right
from kiosk.staff.screen import (
    PERSON_DOT,
    Effect,
    Moved,
    Result,
    Screen,
    SiteTile,
    StaffContext,
    TabletFacts,
    back,
    next_,
    site_head,
)
from kiosk.staff.site import Site
from kiosk.touch.card_calibration import CARD_HEIGHT_MM, CARD_WIDTH_MM, CardReading, from_card
from kiosk.touch.cross_check import CROSSES_MM, check_crosses
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.latency import from_video
from kiosk.touch.line_check import Line, LineFigures, check_lines
from kiosk.touch.slide import METHOD as BY_SLIDE
from kiosk.touch.slide import PAIRS, STARTS_MS, from_settings, start_ms
from kiosk.visits.actions import Action, TouchPlace
from kiosk.visits.device_record import KeptCheck
from kiosk.wording.staff_parts import (
    CardView,
    Control,
    CrossView,
    FigureView,
    ListRow,
    ListView,
    PadView,
    SlideView,
)
from kiosk.wording.tablet_findings import Finding, found_words, line_name, of_lines
from kiosk.wording.units import amount
from kiosk.wording.verdicts import verdict_words
from norms import Refusal

START_PX_PER_MM: Final = (4.0, 7.0)  # both rounds start wrong, from below and from above, and are fitted anew
LEAST_PX: Final = 20.0
ROUNDS: Final = 2
STEPS_PX: Final = (1, 10, 100)
LEAD_STEPS_MS: Final = (-20.0, -4.0, 4.0, 20.0)
MOST_LEAD_MS: Final = 300.0


class TabletAction(Action, Enum):
    """What is measured, and what goes on while it is."""

    CARD = "card"
    CROSSES = "crosses"
    CHECK = "check"
    LINES = "lines"
    LATENCY = "latency"
    SLIDE = "slide"
    START_CHECK = "start_check"
    DONE = "done"


@dataclass(frozen=True)
class Resize(Action):
    """The outline is made so many pixels longer."""

    by_px: int


@dataclass(frozen=True)
class Lead(Action):
    """The line is drawn so much further ahead of the finger, ms."""

    by_ms: float


@dataclass(frozen=True)
class BeginCheck(Effect):
    """Record touches and pictures for a device check."""


@dataclass(frozen=True)
class KeepFinding(Effect):
    """Keep what was measured of the tablet."""

    found: Finding


@dataclass(frozen=True)
class FindingKept(Result):
    """What is known of the tablet now."""

    tablet: TabletFacts

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Return to the list of measurements."""
        return Moved(Tablet(), (), replace(context, tablet=self.tablet))


@dataclass(frozen=True)
class DeviceChecked(Result):
    """The recording of a device check has been judged, or why it could not be."""

    found: DeviceCheck | Refusal

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Show its figures, or the reason as a note."""
        check = screen if isinstance(screen, CheckDevice) else CheckDevice()
        if isinstance(self.found, Refusal):
            return Moved(replace(check, running=False, note=self.found))
        return check.checked(self.found)


@dataclass(frozen=True)
class LineDrawn(Result):
    """A line has been drawn, or why it does not count."""

    found: LineFigures | Refusal

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Ask for the next line; after the last one show what was found."""
        if not isinstance(screen, Lines):
            return Moved(screen)
        if isinstance(self.found, Refusal):
            return Moved(replace(screen, note=self.found))
        lines = (*screen.lines, self.found)
        return Moved(Figures(check_lines(lines)) if len(lines) == len(Line) else Lines(lines))


@dataclass(frozen=True)
class Tablet(Screen):
    """How the tablet was measured."""

    name: ClassVar[str] = "tablet"
    needs: ClassVar[Right | None] = Right.LEAD_SITE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """One of them is done anew."""
        match action:
            case StaffAction.BACK:
                return Moved(Site())
            case TabletAction.CARD:
                return Moved(Card(_outline(0)))
            case TabletAction.CROSSES:
                return Moved(Crosses())
            case TabletAction.CHECK:
                return Moved(CheckDevice())
            case TabletAction.LINES:
                return Moved(Lines())
            case TabletAction.LATENCY:
                return Moved(Latency())
            case TabletAction.SLIDE:
                return Moved(Slide())
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ListView:
        """The measurements, with what was found last."""
        say, tablet = language.say, context.tablet
        rows = (ListRow(TabletAction.CARD, (say("Size, with a card"), _calibrated(tablet, language))),
                ListRow(TabletAction.CROSSES, (say("Touch, with five crosses"),
                                               _checked(tablet.checks.crosses, language))),
                ListRow(TabletAction.CHECK, (say("Touch and picture"),
                                             _checked(tablet.checks.panel, language))),
                ListRow(TabletAction.LINES, (say("Straight lines, along a ruler"),
                                             _checked(tablet.checks.lines, language))),
                ListRow(TabletAction.LATENCY, (say("Latency, from a slow-motion video"),
                                               _latency_known(tablet, False, language))),
                ListRow(TabletAction.SLIDE, (say("Latency, with a slide"),
                                             _latency_known(tablet, True, language))))
        return ListView(site_head(context, say("Tablet"), language), ("", ""), rows, (back(language),),
                        self.note_in(language))


@dataclass(frozen=True)
class Measuring(Screen):
    """A measurement, from which Back leads to the tablet's list."""

    needs: ClassVar[Right | None] = Right.LEAD_SITE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Go back, or go on measuring."""
        return Moved(Tablet()) if action is StaffAction.BACK else self.measure(action, context)

    @abstractmethod
    def measure(self, action: Action, context: StaffContext) -> Moved:
        """What another action than Back leads to."""


@dataclass(frozen=True)
class Card(Measuring):
    """The outline is fitted to a card in one axis, then in the other; twice. Pixels."""

    outline_px: tuple[float, float]
    axis: Literal["width", "height"] = "width"
    rounds: tuple[CardReading, ...] = ()
    name: ClassVar[str] = "card"

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Change the outline's length, or take it as fitted."""
        match action:
            case Resize(by_px):
                return Moved(self._resized(by_px, context.tablet.window_px))
            case StaffAction.NEXT if self.axis == "width":
                return Moved(replace(self, axis="height", note=None))
            case StaffAction.NEXT:
                return Moved(self._round_done(context.tablet.window_px))
        return self.stay()

    def _resized(self, by_px: int, window_px: tuple[int, int]) -> "Card":
        at = 0 if self.axis == "width" else 1
        outline = list(self.outline_px)
        outline[at] = min(max(outline[at] + by_px, LEAST_PX), float(window_px[at]))
        return replace(self, outline_px=(outline[0], outline[1]))

    def _round_done(self, window_px: tuple[int, int]) -> Screen:
        """The next round; after the last one what they say, or why they are done anew."""
        rounds = (*self.rounds, CardReading(*self.outline_px))
        if len(rounds) < ROUNDS:
            return replace(self, outline_px=_outline(len(rounds)), axis="width", rounds=rounds)
        try:
            return Figures(from_card(rounds, window_px))
        except Refused as refusal:
            return Card(_outline(0), note=Refusal(refusal.code, refusal.values))

    def view(self, context: StaffContext, language: Language) -> CardView:
        """The outline, and how to make it longer or shorter."""
        say, number = language.say, language.number
        prompt = say("Lay a bank card on the outline. Make the outline as wide as the card.") if (
            self.axis == "width") else say("Now make the outline as high as the card.")
        width_px, height_px = self.outline_px
        lengths = (width_px, height_px) if self.axis == "width" else (height_px, width_px)
        steps = (*(Control(Resize(-step), number(-step)) for step in reversed(STEPS_PX)),
                 *(Control(Resize(step), number(step, signed=True)) for step in STEPS_PX))
        title = say("Size, round %(n)s of %(m)s", n=number(len(self.rounds) + 1), m=number(ROUNDS))
        return CardView(site_head(context, title, language), prompt, self.axis, *lengths,
                        (back(language), *steps, next_(language)), self.note_in(language))


@dataclass(frozen=True)
class Crosses(Measuring):
    """Five crosses are touched, one after the other. mm from the centre."""

    touches_mm: tuple[tuple[float, float], ...] = ()
    name: ClassVar[str] = "crosses"
    locks: ClassVar[bool] = False

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Take a touch; after the last one show the offsets."""
        if not isinstance(action, TouchPlace):
            return self.stay()
        touches = (*self.touches_mm, (action.x_mm, action.y_mm))
        if len(touches) < len(CROSSES_MM):
            return Moved(replace(self, touches_mm=touches))
        return Moved(Figures(check_crosses(touches)))

    def view(self, context: StaffContext, language: Language) -> CrossView:
        """The next cross to touch."""
        done = len(self.touches_mm)
        x_mm, y_mm = CROSSES_MM[min(done, len(CROSSES_MM) - 1)]
        return CrossView(site_head(context, language.say("Touch"), language),
                         language.say("Touch the middle of the cross with the fingertip."), x_mm, y_mm, done,
                         len(CROSSES_MM), (back(language),))


@dataclass(frozen=True)
class CheckDevice(Measuring):
    """Circles are drawn with a finger while touches and pictures are recorded."""

    running: bool = False
    name: ClassVar[str] = "device_check"
    locks: ClassVar[bool] = False

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Begin to record touches and pictures."""
        if action is TabletAction.START_CHECK and not self.running:
            return Moved(replace(self, running=True, note=None), (BeginCheck(),))
        return self.stay()

    def checked(self, found: DeviceCheck) -> Moved:
        """Show its figures."""
        return Moved(Figures(found))

    def view(self, context: StaffContext, language: Language) -> FigureView:
        """What to do with the finger."""
        say = language.say
        told = say("Keep drawing slow circles with one finger until this page changes.") if (
            self.running) else say("Draw slow circles with one finger over the whole glass.")
        word = language.say_in("button", "Start")
        start = Control(TabletAction.START_CHECK, word, "main", not self.running)
        return FigureView(site_head(context, say("Touch and picture"), language), told, (),
                          (back(language), start), self.note_in(language))


@dataclass(frozen=True)
class Lines(Measuring):
    """A finger rests, then is drawn along an edge, line by line."""

    lines: tuple[LineFigures, ...] = ()
    name: ClassVar[str] = "lines"
    locks: ClassVar[bool] = False

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Nothing is chosen: a line counts when the finger is lifted."""
        return self.stay()

    @property
    def next_line(self) -> Line:
        """What is to be drawn now."""
        return list(Line)[len(self.lines)]

    def view(self, context: StaffContext, language: Language) -> FigureView:
        """What to draw next, and what was found so far."""
        say = language.say
        told = say("Rest a fingertip on the glass for three seconds, then lift it.") if (
            self.next_line is Line.STILL) else say(
            "Draw along a ruler or card, over the whole glass: %(line)s. Then lift.",
            line=line_name(self.next_line, language))
        return FigureView(site_head(context, say("Straight lines"), language), told,
                          of_lines(self.lines, language), (back(language),), self.note_in(language))


@dataclass(frozen=True)
class Latency(Pad, Measuring):
    """The camera's pictures a second, then for each pass the pictures between finger and mark."""

    camera_hz: float | None = None
    frames: tuple[float, ...] = ()
    name: ClassVar[str] = "latency"
    allowed: ClassVar[str] = DIGITS
    most: ClassVar[int] = 4

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Take a number, or work out the latency."""
        match action:
            case StaffAction.NEXT if self.entered:
                number = float(self.entered)
                if self.camera_hz:
                    return Moved(replace(self.cleared(), frames=(*self.frames, number)))
                return Moved(replace(self.cleared(), camera_hz=number))
            case TabletAction.DONE if self.camera_hz:
                return Moved(self._found(self.camera_hz))
        return Moved(self.typed(action))

    def _found(self, camera_hz: float) -> Screen:
        try:
            return Figures(from_video(self.frames, camera_hz))
        except Refused as refusal:
            return replace(self, note=Refusal(refusal.code, refusal.values))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """A pad that says which number comes now."""
        if self.camera_hz is None:
            prompt = language.say("Film finger and mark in slow motion. Pictures a second of the camera:")
        else:
            prompt = language.say_n(
                "Pictures from finger to mark. %(n)d pass counted.",
                "Pictures from finger to mark. %(n)d passes counted.", len(self.frames))
        done = Control(TabletAction.DONE, language.say_in("button", "Done"), available=bool(self.frames))
        controls = (back(language), done, next_(language, bool(self.entered)))
        return PadView(site_head(context, language.say("Latency"), language), prompt, self.entered,
                       keys(DIGIT_ROWS, language), controls, self.note_in(language))


@dataclass(frozen=True)
class Slide(Measuring):
    """A fingertip slides with a mark and a line is set under it, begun too short and too long in turn. ms."""

    leads_ms: tuple[float, ...] = ()
    lead_ms: float = STARTS_MS[0]
    name: ClassVar[str] = "slide"
    locks: ClassVar[bool] = False

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Move the line, or take its lead; after the last one show the latency."""
        match action:
            case Lead(by_ms):
                return Moved(replace(self, lead_ms=min(max(self.lead_ms + by_ms, 0.0), MOST_LEAD_MS)))
            case StaffAction.NEXT:
                return Moved(self._taken((*self.leads_ms, self.lead_ms)))
        return self.stay()

    def _taken(self, leads_ms: tuple[float, ...]) -> Screen:
        further = Slide(leads_ms, start_ms(leads_ms))
        if len(leads_ms) < 2 * PAIRS or len(leads_ms) % 2:
            return further
        try:
            return Figures(from_settings(leads_ms))
        except Refused as refusal:
            again = further if refusal.code == "settings_differ" else Slide()
            return replace(again, note=Refusal(refusal.code, refusal.values))

    def view(self, context: StaffContext, language: Language) -> SlideView:
        """The moving mark, the line, and how to set it."""
        say, number = language.say, language.number
        prompt = say("Slide a fingertip along with the moving mark, below it. Lift it and set the line, "
                     "until it lies under the fingertip both ways.")
        steps = tuple(Control(Lead(step), number(step, signed=step > 0)) for step in LEAD_STEPS_MS)
        taken = Control(StaffAction.NEXT, language.say_in("button", "It lies under it"), "main")
        total = max(2 * PAIRS, len(self.leads_ms) + 2 - len(self.leads_ms) % 2)
        return SlideView(site_head(context, say("Latency"), language), prompt, len(self.leads_ms), total,
                         (back(language), *steps, taken), self.note_in(language))


@dataclass(frozen=True)
class Figures(Measuring):
    """What was found, until it is kept."""

    found: Finding
    name: ClassVar[str] = "figures"

    def measure(self, action: Action, context: StaffContext) -> Moved:
        """Keep the figures, or go back."""
        return self.stay(KeepFinding(self.found)) if action is StaffAction.NEXT else self.stay()

    def view(self, context: StaffContext, language: Language) -> FigureView:
        """A sentence, then its figures."""
        said, figures = found_words(self.found, language)
        keep = Control(StaffAction.NEXT, language.say_in("button", "Keep"), "main")
        return FigureView(site_head(context, language.say("Found"), language), said, figures,
                          (back(language), keep), self.note_in(language))


def _calibrated(tablet: TabletFacts, language: Language) -> str:
    return language.say("calibrated") if tablet.calibrated else language.say("not calibrated")


def _latency_known(tablet: TabletFacts, by_slide: bool, language: Language) -> str:
    """What this method found last; that neither counts where the two do not agree."""
    found = next((one for one in tablet.latencies if (one.method == BY_SLIDE) == by_slide), None)
    if found is None:
        return language.say("not measured")
    known = language.say("%(number)s ms", number=language.number(found.latency_ms))
    if tablet.latency_ms is None:
        return PERSON_DOT.join((known, language.say("the two differ, neither counts")))
    return known


def _checked(check: KeptCheck | None, language: Language) -> str:
    """What a check found, and of the crosses how far the touches lay off."""
    if check is None:
        return language.say("not measured")
    off = () if check.mean_offset_mm is None else (amount(check.mean_offset_mm, "mm", language),)
    return PERSON_DOT.join((*off, verdict_words(check.verdict, language)))


def _outline(rounds: int) -> tuple[float, float]:
    """The outline a round begins with, in pixels."""
    px_per_mm = START_PX_PER_MM[rounds % ROUNDS]
    return CARD_WIDTH_MM * px_per_mm, CARD_HEIGHT_MM * px_per_mm


TILE: Final = SiteTile(Tablet(), lambda context, language: (
    language.say("Tablet"), _calibrated(context.tablet, language)))
