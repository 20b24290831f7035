"""Intake: only what changes the reading, one subject a screen; "not asked" is an answer of its own.

Answers are kept as the codes below. On a repeat visit "same as last time" copies all answers of the last one
but those of STATE, which are asked each time, and those of TABLET, which stand as they were at the tablet's
last visit and are passed over at a repeat visit; Back leads to them. Decisions screens-5, screens-9.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import ClassVar, Final
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.answers import answer_row
from kiosk.staff.person_part import LeftOpen
from kiosk.staff.ready import Ready
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Result, Screen, StaffContext, back, next_, person_head, today
from kiosk.visits.actions import Action
from kiosk.visits.person import Person
from kiosk.wording.staff_parts import ChoiceView, Control

OPTIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "tool_hand": ("right", "left", "either", "not_known"),
    "preferred_hand": ("right", "left"),
    "hands_today": ("both", "right", "left"),
    "hands_reason": ("pain", "injury", "cast_or_splint", "weakness", "absent", "other_reason", "not_asked"),
    "language": (),
    "delivery": ("screen", "staff_spoke", "interpreter", "relative", "demonstration_only"),
    "purpose": ("care", "reference", "retest", "training"),
    "research_use": ("yes", "no", "not_asked"),
    "posture": ("seated", "wheelchair", "bed", "standing", "not_asked"),
    "last_dose": ("none", "less_than_1", "1_to_2", "2_to_4", "over_4", "not_today", "not_known", "not_asked"),
    "pain_before": ("none", "mild", "enough_to_matter", "not_asked"),
    "sex": ("female", "male", "other", "not_asked"),
    "education": ("0_to_8", "9_to_12", "13_or_more", "not_asked"),
    "placement": ("flat", "tilted", "upright", "not_asked"),
    "protector": ("no", "yes", "not_asked"),
}
TABLET: Final = ("placement", "protector")
STATE: Final = ("posture", "last_dose", "pain_before")
ONLY_WHERE_NEEDED: Final = ("sex", "education")
QUESTIONS: Final[Messages] = {
    "tool_hand": N_("Which hand holds the pen or the tools?"),
    "preferred_hand": N_("Which hand counts as the preferred one today?"),
    "hands_today": N_("Which hands can be used today?"),
    "hands_reason": N_("Why only one hand?"),
    "language": N_("Which language on the screen?"),
    "delivery": N_("Who gives the instructions?"),
    "purpose": N_("What is this visit for?"),
    "research_use": N_("May the recordings be used for research?"),
    "posture": N_("How does the person sit?"),
    "last_dose": N_("Last dose of a medicine that affects movement?"),
    "pain_before": N_("Pain in hand or arm now?"),
    "sex": N_("Sex, as the reference group asks for it?"),
    "education": N_("Years of school and training?"),
    "placement": N_("How does the tablet lie?"),
    "protector": N_("Is there a protector on the glass?"),
}
SUBJECTS: Final[Messages] = {
    "tool_hand": N_("Writing hand"),
    "preferred_hand": N_("Preferred hand"),
    "hands_today": N_("Hands today"),
    "hands_reason": N_("Reason"),
    "language": N_("Language"),
    "delivery": N_("Instructions"),
    "purpose": N_("Purpose"),
    "research_use": N_("Research use"),
    "posture": N_("Posture"),
    "last_dose": N_("Last dose"),
    "pain_before": N_("Pain before"),
    "sex": N_("Sex"),
    "education": N_("Education"),
    "placement": N_("Tablet"),
    "protector": N_("Glass protector"),
}


class IntakeAction(Action, Enum):
    """Shortcuts at a repeat visit."""

    SAME = "same"
    VISITS = "visits"


@dataclass(frozen=True)
class ListVisits(Effect):
    """Look up the visits of the person at hand that have ended."""


@dataclass(frozen=True)
class VisitPrepared(Result):
    """All that is known of the person and the tablet. left_open: a visit of theirs that has not ended."""

    person: Person
    last_answers: Mapping[str, str]
    needed: tuple[str, ...] = ()
    left_open: UUID | None = None
    tablet: Mapping[str, str] = field(default_factory=dict)

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """On to intake, or to the visit left in the middle."""
        known = replace(context, person=self.person)
        if self.left_open is not None:
            return Moved(LeftOpen(self.left_open), (), known)
        language = {"language": self.person.language} if self.person.language else {}
        return Moved(Intake({**language, **self.tablet}, self.last_answers, self.needed), (), known)


@dataclass(frozen=True)
class Intake(Screen):
    """One subject is asked: the `place`th. needed: those only asked because the table needs them."""

    answers: Mapping[str, str] = field(default_factory=dict)
    last_answers: Mapping[str, str] = field(default_factory=dict)
    needed: tuple[str, ...] = ()
    place: int = 0
    name: ClassVar[str] = "intake"
    needs: ClassVar[Right | None] = Right.GIVE_VISITS

    @property
    def asked(self) -> str:
        """The subject on the screen."""
        every = subjects(self.answers, self.needed)
        return every[min(self.place, len(every) - 1)]

    def step(self, action: Action, context: StaffContext) -> Moved:
        """An answer, or another subject."""
        match action:
            case StaffAction.BACK:
                return today(self) if self.place == 0 else Moved(replace(self, place=self.place - 1))
            case IntakeAction.VISITS if self._may_look_back(context):
                return self.stay(ListVisits())
            case IntakeAction.SAME if self.last_answers:
                return Moved(self._same(context.languages))
            case Answer(subject, value) if (
                    subject == self.asked and value in options(subject, context.languages)):
                return Moved(replace(self, answers={**self.answers, subject: value}))
            case StaffAction.NEXT if self.asked in self.answers:
                return Moved(self._later())
        return self.stay()

    def _may_look_back(self, context: StaffContext) -> bool:
        """Whether earlier visits of the person are offered, at the first subject."""
        return bool(self.last_answers) and self.place == 0 and context.at_work.may("interpret")

    def _later(self) -> Screen:
        every = subjects(self.answers, self.needed)
        left = [at for at, subject in enumerate(every) if at > self.place and not self._stands(subject)]
        if left:
            return replace(self, place=left[0])
        answers = {name: value for name, value in self.answers.items() if name in every}
        last = len(subjects(answers, self.needed)) - 1
        return Ready(replace(self, answers=answers, place=last), answers)

    def _stands(self, subject: str) -> bool:
        """Whether a subject is passed over: at a repeat visit the tablet's, where they are known."""
        return bool(self.last_answers) and subject in TABLET and subject in self.answers

    def _same(self, languages: Sequence[str]) -> "Intake":
        """The answers of last time but those of STATE; the first of them is on the screen."""
        copied = {name: value for name, value in self.last_answers.items()
                  if name not in (*STATE, *TABLET) and value in options(name, languages)}
        answers = {**self.answers, **copied}
        every = subjects(answers, self.needed)
        first = next((at for at, subject in enumerate(every) if subject not in answers), 0)
        return replace(self, answers=answers, place=first)

    def view(self, context: StaffContext, language: Language) -> ChoiceView:
        """The subject's question and answers, and how many there are."""
        subject, every = self.asked, subjects(self.answers, self.needed)
        answers = answer_row(subject, language.say_message(SUBJECTS[subject]),
                             options(subject, context.languages), self.answers.get(subject, ""), language)
        same = Control(IntakeAction.SAME, language.say("Same as last time"))
        shortcuts = (same,) if self.last_answers else ()
        if self._may_look_back(context):
            visits = Control(IntakeAction.VISITS, language.say_in("button", "Earlier visits"), "quiet")
            shortcuts = (visits, *shortcuts)
        progress = language.say("%(n)s of %(m)s", n=language.number(self.place + 1),
                                m=language.number(len(every)))
        question = language.say_message(QUESTIONS[subject])
        return ChoiceView(person_head(context, question, language), (answers,),
                          (back(language), *shortcuts, next_(language, subject in self.answers)),
                          self.note_in(language), progress)


def subjects(answers: Mapping[str, str], needed: Sequence[str]) -> tuple[str, ...]:
    """The subjects to ask, given what is answered so far.

    >>> subjects({"tool_hand": "either", "hands_today": "left"}, ())[:4]
    ('tool_hand', 'preferred_hand', 'hands_today', 'hands_reason')
    """
    left_out = set(ONLY_WHERE_NEEDED) - set(needed)
    if answers.get("tool_hand") not in ("either", "not_known"):
        left_out.add("preferred_hand")
    if answers.get("hands_today", "both") == "both":
        left_out.add("hands_reason")
    return tuple(subject for subject in OPTIONS if subject not in left_out)


def options(subject: str, languages: Sequence[str]) -> tuple[str, ...]:
    """The answers offered for a subject."""
    return tuple(languages) if subject == "language" else OPTIONS[subject]


def preferred_hand(answers: Mapping[str, str]) -> str:
    """The hand that counts as preferred in this visit."""
    tool = answers.get("tool_hand", "right")
    return tool if tool in ("right", "left") else answers.get("preferred_hand", "right")
