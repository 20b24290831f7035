"""What staff look at after a visit; the heads, notes and controls that all their screens share."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kiosk.i18n.language import Language
from kiosk.visits.desk_state import DeskState
from kiosk.visits.findings import Findings
from kiosk.wording.page_fit import birth_words
from kiosk.wording.page_parts import PageContent
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Control, Head
from kiosk.wording.trial_curves import TrialCurves

PERSON_DOT = " · "


@dataclass(frozen=True, eq=False)
class ReplayTrial:
    """One trial of the first and of the latest visit, mm and seconds from the window's start.

    Arrays are read-only; first and latest are (t_s (n,), disc (n, 2), hand (n, 2)), first None where the
    earlier visit has no such trial. Hand is NaN where the finger was off the glass. curves: the latest's.
    """

    block: str
    number: int
    first: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None
    latest: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
    curves: TrialCurves | None = None


@dataclass(frozen=True, eq=False)
class Shown:
    """A concluded visit as staff look at it.

    visit_dates: when the first and the latest visit took place; pdf: the page as it would be printed.
    """

    content: PageContent
    findings: Findings
    replay: tuple[ReplayTrial, ...] = ()
    visit_dates: tuple[str, str] = ("", "")
    pdf: bytes = b""


def head(state: DeskState, title: str, language: Language) -> Head:
    """The header: title, and who it is about."""
    person = state.person
    if person is None:
        return Head(title, language.time(state.at))
    return Head(title, PERSON_DOT.join((person.code, birth_words(person.birth_date, language))))


def site_head(state: DeskState, title: str, language: Language) -> Head:
    """The header of screens without a person."""
    return Head(title, language.time(state.at))


def note(state: DeskState, language: Language) -> str:
    """Why the last action did not go, in one sentence; empty where it did."""
    return "" if state.refusal is None else sentence(state.refusal.code, state.refusal.values, language)


def back(language: Language) -> Control:
    """To the screen before."""
    return Control("back", language.say_in("button", "Back"), "quiet")


def next_(language: Language, available: bool = True) -> Control:
    """To the screen after."""
    return Control("next", language.say_in("button", "Next"), "main", available)


def lock(language: Language) -> Control:
    """Lock the tablet now."""
    return Control("lock", language.say_in("button", "Lock"), "quiet")
