"""A visit is scored and its page made, for the first time or anew: what was noted, what is put right."""

from dataclasses import dataclass, field
from typing import ClassVar
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.staff.screen import Effect, Moved, Screen, StaffContext, person_head
from kiosk.visits.actions import Action
from kiosk.wording.staff_parts import NoticeView


@dataclass(frozen=True)
class Notes:
    """What staff saw: (trial or None for the whole visit, code); pain and hands after the trials."""

    seen: frozenset[tuple[UUID | None, str]] = frozenset()
    pain_after: str = "not_asked"
    hands_as_asked: str = "yes"


@dataclass(frozen=True)
class Correction:
    """What is put right (birth_date, observations, void_visit, restore_visit), and why."""

    what: str = ""
    reason: str = ""


@dataclass(frozen=True)
class Conclude(Effect):
    """Keep what staff saw and how the visit ended, then score it and make its page."""

    notes: Notes = field(default_factory=Notes)
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class Correct(Effect):
    """Keep a correction with its reason; where the page changes, a new one stands beside the old."""

    correction: Correction
    notes: Notes = field(default_factory=Notes)
    birth_date: str = ""
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class CompareWith(Effect):
    """Make the page anew, compared with another visit."""

    visit_id: UUID
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class Concluding(Screen):
    """Shown while it takes."""

    name: ClassVar[str] = "concluding"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Ignore every action: the screen waits for the result."""
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that scoring takes a moment."""
        return NoticeView(language.say("One moment."), language.say("The recordings are being scored."), (),
                          person_head(context, language.say("Results"), language))
