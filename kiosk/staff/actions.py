"""Actions that many staff screens share; a feature's own stand in its module."""

from dataclasses import dataclass
from enum import Enum

from kiosk.visits.actions import Action


class StaffAction(Action, Enum):
    """Buttons found on many screens."""

    NEXT = "next"
    BACK = "back"
    ERASE = "erase"
    LOCK = "lock"
    LATER = "later"
    TODAY = "today"


OPEN_TO_ALL = (StaffAction.BACK, StaffAction.LATER, StaffAction.TODAY, StaffAction.LOCK)


@dataclass(frozen=True)
class Key(Action):
    """A key of a pad or a keyboard: one character."""

    character: str


@dataclass(frozen=True)
class Answer(Action):
    """One of a row of answers, by the codes they are kept as."""

    subject: str
    value: str
