"""Something is put right afterwards, with a reason: a birth date, what was noted, or whether a visit counts.

Nothing is removed: the page is made anew and the old one kept beside it.
"""

from dataclasses import dataclass, field, replace
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.answers import answer_row
from kiosk.staff.concluding import Concluding, Correct, Correction
from kiosk.staff.new_person import BirthDate
from kiosk.staff.observations import ListNotes
from kiosk.staff.rights import Right
from kiosk.staff.screen import Moved, Screen, StaffContext, back, next_, person_head
from kiosk.visits.actions import Action
from kiosk.wording.staff_parts import ChoiceView

WHAT: Final = ("birth_date", "observations", "void_visit", "restore_visit")
REASONS: Final = ("wrong_person", "wrong_entry", "seen_later", "asked_by_person", "other_reason")


@dataclass(frozen=True)
class Amend(Screen):
    """What is put right, and why."""

    page: Screen
    correction: Correction = field(default_factory=Correction)
    name: ClassVar[str] = "amend"
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Take an answer; go on once both questions are answered."""
        correction = self.correction
        match action:
            case StaffAction.BACK:
                return Moved(self.page)
            case Answer("what", value) if value in WHAT:
                return Moved(replace(self, correction=replace(correction, what=value)))
            case Answer("reason", value) if value in REASONS:
                return Moved(replace(self, correction=replace(correction, reason=value)))
            case StaffAction.NEXT if correction.what and correction.reason:
                return self._on()
        return self.stay()

    def _on(self) -> Moved:
        if self.correction.what == "birth_date":
            return Moved(BirthDate(correction=self.correction, given_up=self))
        if self.correction.what == "observations":
            return self.stay(ListNotes(self.correction))
        return Moved(Concluding(), (Correct(self.correction),))

    def view(self, context: StaffContext, language: Language) -> ChoiceView:
        """The two questions with their answers."""
        say, correction = language.say, self.correction
        rows = (answer_row("what", say("What is to be put right?"), WHAT, correction.what, language),
                answer_row("reason", say("Why?"), REASONS, correction.reason, language))
        ready = bool(correction.what and correction.reason)
        told = say("The page is made anew. The old one is kept beside it.")
        return ChoiceView(person_head(context, say("Amend"), language), rows,
                          (back(language), next_(language, ready)), told)
