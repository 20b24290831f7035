"""What the staff's screens show: every word ready, every control with the action it reports.

Screens draw these types and add no words of their own; kiosk.staff makes them. An empty string stands where
there is nothing to say. Millimetres on the screen where a position is given.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from kiosk.visits.actions import Action
from kiosk.wording.page_parts import PaperPixels
from kiosk.wording.trial_curves import TrialCurves

Weight = Literal["main", "second", "quiet"]
Verdict = Literal["", "pass", "warn", "refuse"]


@dataclass(frozen=True)
class Head:
    """The header: title at the leading edge, who and when at the trailing edge."""

    title: str
    who: str = ""


@dataclass(frozen=True)
class Control:
    """A button: what it reports and says. hold_s: it must be held that long. main: the one that goes on."""

    action: Action
    words: str
    weight: Weight = "second"
    available: bool = True
    hold_s: float = 0.0


@dataclass(frozen=True)
class Option:
    """One choice of a row of choices, 15 mm high."""

    action: Action
    words: str
    chosen: bool = False
    available: bool = True


@dataclass(frozen=True)
class Choices:
    """A labelled row of choices; label in a 42 mm column, wraps to further rows."""

    label: str
    options: tuple[Option, ...]
    hint: str = ""


@dataclass(frozen=True)
class ChoiceView:
    """One subject, large choices (intake, settings, languages, pain after)."""

    head: Head
    rows: tuple[Choices, ...]
    controls: tuple[Control, ...]
    note: str = ""
    progress: str = ""


@dataclass(frozen=True)
class PadView:
    """A key pad: a PIN (masked dots), a code with its check character, a date, a number.

    entered is what to show in the pad's window; keys are rows of options (one character each, or a word).
    wide: a long text is typed. masked: what a plugged-in keyboard types is shown as dots too.
    """

    head: Head
    prompt: str
    entered: str
    keys: tuple[tuple[Option, ...], ...]
    controls: tuple[Control, ...]
    note: str = ""
    names: tuple[Option, ...] = ()
    wide: bool = False
    masked: bool = False


@dataclass(frozen=True)
class ListRow:
    """A row of a list, 18 mm high, that opens something; cells go with the list's columns."""

    action: Action
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ListView:
    """Rows to pick from (today, found persons, earlier visits, devices)."""

    head: Head
    columns: tuple[str, ...]
    rows: tuple[ListRow, ...]
    controls: tuple[Control, ...]
    note: str = ""
    empty: str = ""


@dataclass(frozen=True)
class TickView:
    """The ready strip: a question, ticks to confirm, and the control that is held to hand over."""

    head: Head
    question: str
    ticks: tuple[Option, ...]
    controls: tuple[Control, ...]
    note: str = ""


@dataclass(frozen=True)
class NoticeView:
    """Words in the middle, controls below: hand-over lock, locked after a crash, could not print."""

    headline: str
    sentence: str
    controls: tuple[Control, ...]
    head: Head | None = None
    staff_corner: str = ""


@dataclass(frozen=True)
class ObservationView:
    """Tiles of the trials (one chosen, or the whole visit), chips of codes for it, pain now."""

    head: Head
    prompt: str
    tiles: tuple[Option, ...]
    chips: tuple[Option, ...]
    rows: tuple[Choices, ...]
    controls: tuple[Control, ...]
    note: str = ""


@dataclass(frozen=True)
class PageView:
    """The page before printing: its tag, facts to check, the copy lines and what the QR code holds.

    qr_modules: rows of the code from the top, True = dark, without the quiet zone (by kiosk.report.pixels
    from qr_text). pixels: the page itself.
    """

    head: Head
    tag: str
    lines: tuple[str, ...]
    copy_lines: tuple[str, ...]
    qr_text: str
    controls: tuple[Control, ...]
    note: str = ""
    pixels: PaperPixels | None = None
    qr_modules: tuple[tuple[bool, ...], ...] = ()


@dataclass(frozen=True)
class Figure:
    """One line of a check: name, value, verdict in words and as a code."""

    name: str
    value: str
    verdict_words: str = ""
    verdict: Verdict = ""


@dataclass(frozen=True)
class FigureView:
    """Figures of a device check, a latency measurement, a site check; a verdict sentence above."""

    head: Head
    sentence: str
    figures: tuple[Figure, ...]
    controls: tuple[Control, ...]
    note: str = ""


@dataclass(frozen=True)
class CardView:
    """The card outline to be matched in one axis, in pixels; controls make it longer or shorter."""

    head: Head
    prompt: str
    axis: Literal["width", "height"]
    length_px: float
    other_px: float
    controls: tuple[Control, ...]
    note: str = ""


@dataclass(frozen=True)
class CrossView:
    """One of five crosses to touch, at x_mm, y_mm from the centre; how many are done."""

    head: Head
    prompt: str
    x_mm: float
    y_mm: float
    done: int
    total: int
    controls: tuple[Control, ...]


@dataclass(frozen=True)
class SlideView:
    """A mark to slide a fingertip with and a line to set under it; how many settings are done."""

    head: Head
    prompt: str
    done: int
    total: int
    controls: tuple[Control, ...]
    note: str = ""


@dataclass(frozen=True)
class TextView:
    """Paragraphs to read (why?, sign-off statement, help), and controls."""

    head: Head
    paragraphs: tuple[str, ...]
    controls: tuple[Control, ...]
    note: str = ""
    fields: tuple[Choices, ...] = field(default=())


@dataclass(frozen=True, eq=False)
class ReplayPath:
    """One trial over time: t_s (n,) from the window's start, disc and hand in mm (n, 2), read-only.

    hand_xy_mm is NaN where the finger was off the screen. label: the visit and its date.
    """

    label: str
    t_s: NDArray[np.float64]
    disc_xy_mm: NDArray[np.float64]
    hand_xy_mm: NDArray[np.float64]
    curves: TrialCurves | None = None


@dataclass(frozen=True, eq=False)
class ReplayView:
    """The first and the latest visit side by side, one trial of each; options choose the trial."""

    head: Head
    paths: tuple[ReplayPath, ...]
    trials: tuple[Option, ...]
    controls: tuple[Control, ...]
    note: str = ""


StaffView = (
    ChoiceView | PadView | ListView | TickView | NoticeView | ObservationView | PageView | FigureView
    | CardView | CrossView | SlideView | TextView | ReplayView
)
