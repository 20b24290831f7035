"""What can be chosen on a screen. A control carries one of these and reports it, unchanged, when pressed.

Actions are compared by value. Those that screens report by themselves stand here too: a code read by a
scanner, the place of a touch, the staff's corner held.
"""

from dataclasses import dataclass
from enum import Enum


class Action:
    """Something that can be chosen: a member of an enum, or a frozen dataclass where a value goes with it."""


class CourseAction(Action, Enum):
    """What moves a visit's course on: chosen by the person, or by staff while the person waits."""

    BEGIN = "begin"
    FINGER_FELT = "finger_felt"
    SHOWN = "shown"
    SHOW_AGAIN = "show_again"
    READY = "ready"
    STOP = "stop"
    REST = "rest"
    GO_ON = "go_on"
    END = "end"
    RETRY = "retry"
    GO_ON_MARKED = "go_on_marked"
    STAFF_END = "staff_end"


class ScreenAction(Action, Enum):
    """What every screen may report: the staff's corner was held; the screen was touched anywhere."""

    STAFF = "staff"
    TOUCHED = "touched"


@dataclass(frozen=True)
class ChooseLanguage(Action):
    """The person would rather read another language."""

    tag: str


@dataclass(frozen=True)
class Scan(Action):
    """A scanner or a plugged-in keyboard typed a text and then Enter."""

    text: str


@dataclass(frozen=True)
class TouchPlace(Action):
    """Where the screen was touched, in mm from its centre, y up."""

    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class AskWhy(Action):
    """Why is a figure what it is? Of the whole visit, or of a measure; kiosk.wording.why names them."""

    figure: str
    measure: str = ""
