"""Intake: only what changes the reading, one subject a screen; "not asked" is an answer of its own.

Answers are kept as the codes below. On a repeat visit "same" copies all answers of the last one but those of
STATE, which are asked each time, and those of TABLET, which stand as they were at the tablet's last visit and
are passed over at a repeat visit; "back" leads to them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final
from uuid import UUID

from kiosk.visits.desk_pad import on
from kiosk.visits.desk_state import DeskState, Handler, Moved
from kiosk.visits.person import Person

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
TICKS: Final = ("person", "hands", "glass", "seated", "power")


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


def asked(state: DeskState) -> str:
    """The subject on the screen."""
    every = subjects(state.answers, state.needed)
    return every[min(state.subject, len(every) - 1)]


def preferred_hand(answers: Mapping[str, str]) -> str:
    """The hand that counts as preferred in this visit."""
    tool = answers.get("tool_hand", "right")
    return tool if tool in ("right", "left") else answers.get("preferred_hand", "right")


def prepared(state: DeskState, person: Person, last_answers: Mapping[str, str], needed: Sequence[str],
             left_open: UUID | None = None, tablet: Mapping[str, str] = MappingProxyType({})) -> DeskState:
    """All that is known of the person and the tablet: on to intake, or to the visit left in the middle."""
    known = replace(state, person=person, last_answers=dict(last_answers), needed=tuple(needed), subject=0,
                    answers={**_known(person), **tablet}, ticks=frozenset(), visit_id=left_open,
                    amend_what="")
    return on(known, "intake" if left_open is None else "left_open")


def _known(person: Person) -> dict[str, str]:
    return {"language": person.language} if person.language else {}


def _intake(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return _earlier(state)
    if verb == "visits" and may_look_back(state):
        return state, ("visits",)
    if verb == "same" and state.last_answers:
        return _same(state), ()
    if verb == "set":
        return _set(state, *rest.partition(" ")[::2]), ()
    if verb == "next" and asked(state) in state.answers:
        return _later(state), ()
    return state, ()


def may_look_back(state: DeskState) -> bool:
    """Whether earlier visits of the person are offered, at the first subject."""
    return bool(state.last_answers) and state.subject == 0 and state.at_work.may("interpret")


def _set(state: DeskState, subject: str, value: str) -> DeskState:
    if subject != asked(state) or value not in options(subject, state.languages):
        return state
    return replace(state, answers={**state.answers, subject: value})


def _earlier(state: DeskState) -> Moved:
    if state.subject == 0:
        return on(state, "today"), ("today",)
    return replace(state, subject=state.subject - 1), ()


def _later(state: DeskState) -> DeskState:
    every = subjects(state.answers, state.needed)
    left = [at for at, subject in enumerate(every) if at > state.subject and not _stands(state, subject)]
    if left:
        return replace(state, subject=left[0])
    told = {name: value for name, value in state.answers.items() if name in every}
    return replace(on(state, "ready"), answers=told, ticks=frozenset())


def _stands(state: DeskState, subject: str) -> bool:
    """Whether a subject is passed over: at a repeat visit the tablet's, where they are known."""
    return bool(state.last_answers) and subject in TABLET and subject in state.answers


def again(state: DeskState) -> DeskState:
    """Back in intake, at its last subject."""
    return replace(on(state, "intake"), subject=len(subjects(state.answers, state.needed)) - 1)


def _same(state: DeskState) -> DeskState:
    """The answers of last time but those of state; the first of them is on the screen."""
    copied = {name: value for name, value in state.last_answers.items()
              if name not in (*STATE, *TABLET) and value in options(name, state.languages)}
    answers = {**state.answers, **copied}
    every = subjects(answers, state.needed)
    first = next((at for at, subject in enumerate(every) if subject not in answers), 0)
    return replace(state, answers=answers, subject=first)


HANDLERS: Final[Mapping[str, Handler]] = {"intake": _intake}
