"""A simulated day at the kiosk, and half a year later another: every screen of the staff's part, once.

Each chapter goes on where the last one ended.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from kiosk.demo.picture_kiosk import EMPTY, FULL, LOW, PIN, PictureKiosk, Shot
from kiosk.demo.picture_site import at_the_door, only_with_accounts, refusals, the_site
from kiosk.i18n.language import Language
from kiosk.visits.desk_intake import TICKS
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
    kiosk.do("lock")
    kiosk.look("locked")
    kiosk.do("staff")
    kiosk.type("111111")
    kiosk.look("unlock")
    kiosk.type(PIN)
    kiosk.load_table()


def _a_new_person(kiosk: PictureKiosk) -> None:
    kiosk.do("find")
    kiosk.look("find")
    kiosk.do("back", "new")
    kiosk.type("K04127")
    kiosk.look("new_code")
    kiosk.do(*["erase"] * 6, "give_code", "next")
    kiosk.look("new_birth")
    kiosk.type("195405")


def _asked(kiosk: PictureKiosk) -> None:
    """Intake with the first answers, each subject looked at."""
    while (subject := _answer(kiosk)) is not None:
        kiosk.look("intake", f"intake_{subject}")
        kiosk.do("next")


def _answer(kiosk: PictureKiosk) -> str | None:
    """Give the first answer to the subject asked; the subject, None where intake is over."""
    view = kiosk.stage.view
    if kiosk.screen != "intake" or not isinstance(view, ChoiceView):
        kiosk.make_it_a_demo()
        return None
    first = view.rows[0].options[0].action
    kiosk.do(first)
    return first.split()[1]


def _handed_over(kiosk: PictureKiosk) -> None:
    kiosk.look("ready")
    kiosk.power = LOW
    kiosk.do(*(f"tick {tick}" for tick in TICKS), "hand_over")
    kiosk.look("power_low")
    kiosk.power = FULL
    kiosk.do("back")
    kiosk.look("ready", "ready_ticked")
    kiosk.do("hand_over")
    kiosk.look("hand_over")
    kiosk.do("touched")


def _first_visit(kiosk: PictureKiosk) -> None:
    """With staff in between, and a battery that runs out at a rest."""
    kiosk.person.comes(1, False)
    kiosk.sit("rest")
    kiosk.do("staff")
    kiosk.type(PIN)
    kiosk.look("staff_choices")
    kiosk.do("go_on")
    kiosk.power = EMPTY
    kiosk.frame(3)
    kiosk.look("paused")
    kiosk.power = FULL
    kiosk.do("staff")
    kiosk.type(PIN)
    kiosk.look("left_open")
    kiosk.do("resume")
    kiosk.sit()
    kiosk.do("staff")
    kiosk.type(PIN)
    kiosk.look("observations")
    kiosk.do("note talked", "next")
    kiosk.look("results", "results_first_visit")
    kiosk.do("today")


def _second_visit(kiosk: PictureKiosk) -> None:
    code = kiosk.archive.people()[0].code
    kiosk.start(days=DAYS_BETWEEN)
    kiosk.do("staff")
    kiosk.type(PIN)
    kiosk.do("find")
    kiosk.type(code)
    kiosk.look("intake", "intake_repeat_visit")
    kiosk.do("same")
    while _answer(kiosk) is not None:
        kiosk.do("next")
    kiosk.do(*(f"tick {tick}" for tick in TICKS), "hand_over", "touched")
    kiosk.person.comes(2, True)
    kiosk.sit()
    kiosk.do("staff")
    kiosk.type(PIN)
    kiosk.do("nothing")


def _results(kiosk: PictureKiosk) -> None:
    kiosk.look("results")
    kiosk.do("why percentile steady.preferred.scatter")
    kiosk.look("why")
    kiosk.do("back", "replay")
    kiosk.look("replay")
    kiosk.do("back", "compare")
    kiosk.look("compare")
    kiosk.do("back", "next")


def _the_page(kiosk: PictureKiosk) -> None:
    kiosk.look("page")
    kiosk.do("copy")
    kiosk.look("copy")
    kiosk.do("back")
    kiosk.clinic.act("print")
    kiosk.frame(2)
    kiosk.look("printing")
    kiosk.frame(5)
    kiosk.look("printed")
    kiosk.print_ends = Refusal("printer_did_not_answer")
    kiosk.do("print")
    kiosk.frame(5)
    kiosk.look("not_printed")
    kiosk.do("save")
    kiosk.look("saved")
    kiosk.do("leaflet")
    kiosk.look("leaflet")
    kiosk.do("back", "sign")
    kiosk.look("signer")
    kiosk.type("AB")
    kiosk.do("set role nurse")
    kiosk.look("sign_off")
    kiosk.do("sign")
    kiosk.look("page", "page_signed")


def _put_right(kiosk: PictureKiosk) -> None:
    kiosk.do("amend", "set what observations", "set reason seen_later")
    kiosk.look("amend")
    kiosk.do("next")
    kiosk.look("observations", "observations_amended")
    kiosk.do("note talked", "next", "next", "later")
    kiosk.look("today")


def _people_alike(kiosk: PictureKiosk) -> None:
    """Two more people, known by a room and a record number; they are born in the month of the first."""
    for second in ("CD", "EF"):
        kiosk.do("new", "key A", "key B", "two_identifiers")
        kiosk.look("new_second", f"new_second_{second}")
        kiosk.type(second)
        kiosk.type("195405")
        kiosk.look("look_alike", f"look_alike_{second}")
        kiosk.do("this_person", "back")
    kiosk.do("find")
    kiosk.type("AB")
    kiosk.look("found")
    kiosk.do("back", "back")
