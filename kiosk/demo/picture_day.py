"""A simulated day at the kiosk, and half a year later another: every screen of the staff's part, once.

Each chapter goes on where the last one ended. Decision tests-1.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from kiosk.demo.picture_kiosk import EMPTY, FULL, LOW, PIN, PictureKiosk, Shot
from kiosk.demo.picture_site import at_the_door, only_with_accounts, refusals, the_site
from kiosk.i18n.language import Language
from kiosk.staff.actions import Answer, Key, StaffAction
from kiosk.staff.find import FindAction
from kiosk.staff.intake import IntakeAction
from kiosk.staff.new_person import NewPersonAction
from kiosk.staff.observations import NoteSeen, ObservationAction
from kiosk.staff.page import PageAction
from kiosk.staff.person_part import LeftOpenAction
from kiosk.staff.printing import PaperAction
from kiosk.staff.ready import TICKS, ReadyAction, Tick
from kiosk.staff.results import ResultsAction
from kiosk.staff.sign import SignAction
from kiosk.staff.today import TodayAction
from kiosk.visits.actions import AskWhy, CourseAction, ScreenAction
from kiosk.wording.staff_parts import ChoiceView
from norms import Refusal

DAYS_BETWEEN: Final = 180


def staff_shots(languages: Sequence[Language], folder: Path) -> list[Shot]:
    """Every screen of the staff's part in every language; pages that the kiosk saves go to the folder."""
    kiosk = PictureKiosk(languages, folder)
    for chapter in (_unlocked, the_site, _a_new_person, _asked, _handed_over, _first_visit, _second_visit,
                    _results, _the_page, _put_right, _people_alike, refusals):
        chapter(kiosk)
    return [*kiosk.shots, *only_with_accounts(kiosk), *at_the_door(kiosk)]


def _unlocked(kiosk: PictureKiosk) -> None:
    kiosk.look("first_pin")
    kiosk.type(PIN)
    kiosk.look("first_pin_again")
    kiosk.type(PIN)
    kiosk.look("today", "today_nobody")
    kiosk.do(StaffAction.LOCK)
    kiosk.look("locked")
    kiosk.do(ScreenAction.STAFF)
    kiosk.type("111111")
    kiosk.look("unlock")
    kiosk.type(PIN)
    kiosk.load_table()


def _a_new_person(kiosk: PictureKiosk) -> None:
    kiosk.do(TodayAction.FIND)
    kiosk.look("find")
    kiosk.do(StaffAction.BACK, TodayAction.NEW)
    kiosk.type("K04127")
    kiosk.look("new_code")
    kiosk.do(*[StaffAction.ERASE] * 6, NewPersonAction.MAKE_CODE, StaffAction.NEXT)
    kiosk.look("new_birth")
    kiosk.type("195405")


def _asked(kiosk: PictureKiosk) -> None:
    """Intake with the first answers, each subject looked at."""
    while (subject := _answer(kiosk)) is not None:
        kiosk.look("intake", f"intake_{subject}")
        kiosk.do(StaffAction.NEXT)


def _answer(kiosk: PictureKiosk) -> str | None:
    """Give the first answer to the subject asked; the subject, None where intake is over."""
    view = kiosk.stage.view
    if kiosk.screen != "intake" or not isinstance(view, ChoiceView):
        kiosk.make_it_a_demo()
        return None
    first = view.rows[0].options[0].action
    kiosk.do(first)
    return first.subject if isinstance(first, Answer) else None


def _handed_over(kiosk: PictureKiosk) -> None:
    kiosk.look("ready")
    kiosk.power = LOW
    kiosk.do(*map(Tick, TICKS), ReadyAction.HAND_OVER)
    kiosk.look("power_low")
    kiosk.power = FULL
    kiosk.do(StaffAction.BACK)
    kiosk.look("ready", "ready_ticked")
    kiosk.do(ReadyAction.HAND_OVER)
    kiosk.look("hand_over")
    kiosk.do(ScreenAction.TOUCHED)


def _first_visit(kiosk: PictureKiosk) -> None:
    """With staff in between, and a battery that runs out at a rest."""
    kiosk.person.comes(1, False)
    kiosk.sit("rest")
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    kiosk.look("staff_choices")
    kiosk.do(CourseAction.GO_ON)
    kiosk.power = EMPTY
    kiosk.frame(3)
    kiosk.look("paused")
    kiosk.power = FULL
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    kiosk.look("left_open")
    kiosk.do(LeftOpenAction.RESUME)
    kiosk.sit()
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    kiosk.look("observations")
    kiosk.do(NoteSeen("talked"), StaffAction.NEXT)
    kiosk.look("results", "results_first_visit")
    kiosk.do(StaffAction.TODAY)


def _second_visit(kiosk: PictureKiosk) -> None:
    code = kiosk.archive.people()[0].code
    kiosk.start(days=DAYS_BETWEEN)
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    kiosk.do(TodayAction.FIND)
    kiosk.type(code)
    kiosk.look("intake", "intake_repeat_visit")
    kiosk.do(IntakeAction.SAME)
    while _answer(kiosk) is not None:
        kiosk.do(StaffAction.NEXT)
    kiosk.do(*map(Tick, TICKS), ReadyAction.HAND_OVER, ScreenAction.TOUCHED)
    kiosk.person.comes(2, True)
    kiosk.sit()
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    kiosk.do(ObservationAction.NOTHING)


def _results(kiosk: PictureKiosk) -> None:
    kiosk.look("results")
    kiosk.do(AskWhy("percentile", "steady.preferred.scatter"))
    kiosk.look("why")
    kiosk.do(StaffAction.BACK, ResultsAction.REPLAY)
    kiosk.look("replay")
    kiosk.do(StaffAction.BACK, ResultsAction.COMPARE)
    kiosk.look("compare")
    kiosk.do(StaffAction.BACK, StaffAction.NEXT)


def _the_page(kiosk: PictureKiosk) -> None:
    kiosk.look("page")
    kiosk.do(PageAction.COPY)
    kiosk.look("copy")
    kiosk.do(StaffAction.BACK)
    kiosk.driver.act(PaperAction.PRINT)
    kiosk.frame(2)
    kiosk.look("printing")
    kiosk.frame(5)
    kiosk.look("printed")
    kiosk.print_ends = Refusal("printer_did_not_answer")
    kiosk.do(PaperAction.PRINT)
    kiosk.frame(5)
    kiosk.look("not_printed")
    kiosk.do(PaperAction.SAVE)
    kiosk.look("saved")
    kiosk.do(PaperAction.LEAFLET)
    kiosk.look("leaflet")
    kiosk.do(StaffAction.BACK, SignAction.SIGN)
    kiosk.look("signer")
    kiosk.type("AB")
    kiosk.do(Answer("role", "nurse"))
    kiosk.look("sign_off")
    kiosk.do(SignAction.SIGN)
    kiosk.look("page", "page_signed")


def _put_right(kiosk: PictureKiosk) -> None:
    kiosk.do(PageAction.AMEND, Answer("what", "observations"), Answer("reason", "seen_later"))
    kiosk.look("amend")
    kiosk.do(StaffAction.NEXT)
    kiosk.look("observations", "observations_amended")
    kiosk.do(NoteSeen("talked"), StaffAction.NEXT, StaffAction.NEXT, StaffAction.LATER)
    kiosk.look("today")


def _people_alike(kiosk: PictureKiosk) -> None:
    """Two more people, known by a room and a record number; they are born in the month of the first."""
    for second in ("CD", "EF"):
        kiosk.do(TodayAction.NEW, Key("A"), Key("B"), NewPersonAction.TWO_IDENTIFIERS)
        kiosk.look("new_second", f"new_second_{second}")
        kiosk.type(second)
        kiosk.type("195405")
        kiosk.look("look_alike", f"look_alike_{second}")
        kiosk.do(FindAction.THIS_PERSON, StaffAction.BACK)
    kiosk.do(TodayAction.FIND)
    kiosk.type("AB")
    kiosk.look("found")
    kiosk.do(StaffAction.BACK, StaffAction.BACK)
