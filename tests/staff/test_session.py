"""The staff's part: what each action leads to, and what it never does."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest

from kiosk.i18n.language import load_language
from kiosk.staff import session, tablet
from kiosk.staff.actions import Answer, Key, StaffAction
from kiosk.staff.features import SCREENS, TILES
from kiosk.staff.intake import IntakeAction
from kiosk.staff.lock import CheckPin, FirstPin, KeepPin, Locked, PinChecked, Unlock
from kiosk.staff.new_person import AddPerson, BirthDate, NewPersonAction, SecondIdentifier
from kiosk.staff.observations import ObservationAction
from kiosk.staff.page import PageScreen
from kiosk.staff.person_part import Paused
from kiosk.staff.printing import PaperAction
from kiosk.staff.ready import HandOver, ReadyAction, Tick
from kiosk.staff.results import Results
from kiosk.staff.screen import Effect, Screen, ShowToday, TabletFacts
from kiosk.staff.session import StaffState, staff_view
from kiosk.staff.sign import SignAction, Signer, SignOff
from kiosk.staff.tablet import Card, Crosses, Figures, TabletAction
from kiosk.staff.today import Today, TodayAction
from kiosk.visits.actions import Action, Scan, ScreenAction, TouchPlace
from kiosk.visits.power import Power
from norms import Refusal
from tests.staff.screens import EVERY, PAGE, READY, VISIT

AT = datetime(2026, 11, 25, 8, 25, tzinfo=timezone(timedelta(hours=1)))
MANY_ACTIONS = (
    StaffAction.NEXT, StaffAction.BACK, StaffAction.ERASE, ScreenAction.STAFF, TodayAction.FIND,
    TodayAction.NEW, TodayAction.SITE, tablet.TILE, TabletAction.CARD, tablet.Resize(10), IntakeAction.SAME,
    ReadyAction.HAND_OVER, ScreenAction.TOUCHED, PaperAction.PRINT, SignAction.SIGN,
    ObservationAction.NOTHING, Answer("purpose", "care"), Tick("power"), StaffAction.LOCK,
    NewPersonAction.MAKE_CODE, TouchPlace(0.0, 0.0), TabletAction.DONE, NewPersonAction.NOT_KNOWN)
UNLOCK = Unlock(None, Locked())


class NoSuchAction(Action):
    """No screen knows it."""


def at_screen(screen: Screen) -> StaffState:
    return replace(session.opening(AT, pin_known=True, tiles=TILES), screen=screen)


def calibrated(state: StaffState) -> StaffState:
    return replace(state, context=replace(state.context, tablet=TabletFacts(calibrated=True)))


def after(state: StaffState, *actions: Action) -> tuple[StaffState, tuple[Effect, ...]]:
    effects: tuple[Effect, ...] = ()
    for action in actions:
        state, effects = session.act(state, action, state.context.at)
    return state, effects


def typed(text: str) -> tuple[Action, ...]:
    return (*map(Key, text), StaffAction.NEXT)


# Laws


def test_every_screen_registered_is_tried_here_and_has_a_name_of_its_own():
    assert {type(one) for one in EVERY} == set(SCREENS)
    assert len({one.name for one in SCREENS}) == len(SCREENS)


def test_a_thousand_random_actions_lead_from_screen_to_screen_and_never_past_the_lock():
    rng = np.random.default_rng(7)
    actions = [*map(Key, "0123456789"), *MANY_ACTIONS]
    language, state = load_language("en"), at_screen(Locked())
    for _ in range(1000):
        state, _effects = session.act(state, actions[int(rng.integers(len(actions)))], AT)
        assert isinstance(state.screen, Locked | Unlock), "no PIN was ever compared"
        staff_view(state, language)


@pytest.mark.parametrize("screen", EVERY, ids=lambda screen: screen.name)
def test_an_action_that_does_not_fit_changes_nothing(screen):
    state = at_screen(screen)
    assert session.act(state, NoSuchAction(), AT) == (state, ())


# The lock


def test_a_first_pin_is_chosen_twice_and_there_is_none_by_default():
    state = session.opening(AT, pin_known=False)
    assert state.screen == FirstPin()
    state, _ = after(state, *typed("48151"))
    assert state.screen.note.code == "pin_short"
    state, _ = after(state, *typed("481516"))
    other, _ = after(state, *typed("481517"))
    assert isinstance(other.screen, FirstPin) and other.screen.note.code == "pins_differ"
    _, effects = after(state, *typed("481516"))
    assert effects == (KeepPin("481516"),)


def test_the_pin_is_never_shown():
    state, _ = after(at_screen(UNLOCK), *map(Key, "481516"))
    assert staff_view(state, load_language("en")).entered == "••••••"


def test_wrong_pins_are_slowed_down_and_the_right_one_too_while_it_waits():
    state = at_screen(UNLOCK)
    for _ in range(3):
        state, _ = session.on_result(state, PinChecked(False))
    assert state.screen.note.code == "pin_waits"
    assert state.context.pin_waits_until == AT + timedelta(seconds=30)
    entered = replace(state, screen=replace(UNLOCK, entered="481516"))
    waits, effects = session.act(entered, StaffAction.NEXT, AT + timedelta(seconds=29))
    assert effects == () and waits.screen.entered == ""
    _, effects = session.act(entered, StaffAction.NEXT, AT + timedelta(seconds=30))
    assert effects == (CheckPin("481516"),)


@pytest.mark.parametrize("screen", EVERY, ids=lambda screen: screen.name)
def test_an_idle_screen_with_staff_data_locks_and_comes_back_behind_the_pin(screen):
    idle = session.tick(at_screen(screen), AT + timedelta(seconds=session.IDLE_S), Power())
    if not screen.locks:
        assert idle.screen == screen
        return
    assert idle.screen == Locked(screen)
    asked, _ = after(idle, ScreenAction.STAFF)
    opened, effects = session.on_result(asked, PinChecked(True))
    assert opened.screen == screen
    assert effects == (() if screen.on_return is None else (screen.on_return,))


def test_these_screens_alone_show_no_staff_data_and_are_never_locked_by_themselves():
    assert {one.name for one in SCREENS if not one.locks} == {
        "first_pin", "first_pin_again", "locked", "unlock", "hand_over", "help_comes", "person", "paused",
        "concluding", "printing", "clock_back", "device_check", "crosses", "slide", "lines", "daily_crosses",
        "daily_slide"}


def test_giving_up_at_the_pin_never_leads_to_staff_data():
    for screen in (HandOver(READY), Paused(VISIT), session.locked(READY)):
        asked, _ = after(at_screen(screen), ScreenAction.STAFF)
        assert isinstance(asked.screen, Unlock)
        assert after(asked, StaffAction.BACK)[0].screen == screen


def test_the_pin_leads_to_today_where_the_account_may_not_see_what_stood_before():
    state = at_screen(Unlock(PAGE, Locked(PAGE)))
    context = replace(state.context, at_work=replace(state.context.at_work, roles=frozenset({"administer"})))
    _, effects = session.on_result(replace(state, context=context), PinChecked(True))
    assert effects == (ShowToday(),)


# A keyboard that is plugged in


def test_initials_a_birth_date_and_a_second_identifier_may_be_typed_on_a_keyboard():
    state, _ = after(at_screen(Signer(PAGE)), Scan("m.o."))
    assert state.screen == SignOff(PAGE, "MO")
    state, effects = after(at_screen(BirthDate("K1")), Scan("1954-05"))
    assert effects == (AddPerson("K1", "", "1954-05"),)
    state, _ = after(at_screen(SecondIdentifier("K1")), Scan("room 12"))
    assert state.screen == BirthDate("K1", "ROOM12")
    state, _ = after(at_screen(Signer(PAGE)), Scan("1"))
    assert isinstance(state.screen, Signer) and state.screen.note.code == "initials_needed"


# Hand-over and figures


def test_handing_over_needs_all_five_ticks_and_a_calibrated_tablet():
    state = calibrated(at_screen(READY))
    for tick in ("person", "hands", "glass", "seated"):
        state, _ = after(state, Tick(tick))
    assert after(state, ReadyAction.HAND_OVER)[0].screen.name == "ready"
    assert after(state, Tick("power"), ReadyAction.HAND_OVER)[0].screen.name == "hand_over"
    without = replace(state, context=replace(state.context, tablet=TabletFacts()))
    assert after(without, Tick("power"), ReadyAction.HAND_OVER)[0].screen.name == "ready"
    give = staff_view(state, load_language("en")).controls[-1]
    assert (give.action, give.hold_s, give.available) == (ReadyAction.HAND_OVER, 0.6, False)


def test_a_refusal_while_the_person_has_the_tablet_names_neither_them_nor_a_reason_until_staff_unlock():
    state = calibrated(at_screen(HandOver(READY)))
    state = session.refused(state, Refusal("tablet_not_calibrated"))
    view = staff_view(state, load_language("en"))
    assert (view.headline, view.sentence, view.head, view.controls) == (
        "Please wait.", "Someone will help you.", None, ())
    assert after(state, ScreenAction.TOUCHED)[0].screen == state.screen
    asked, _ = after(state, ScreenAction.STAFF)
    assert asked.screen.name == "unlock" and after(asked, StaffAction.BACK)[0].screen == state.screen
    read, _ = session.on_result(asked, PinChecked(True))
    assert read.screen.name == "refused"
    assert "not calibrated" in staff_view(read, load_language("en")).sentence
    assert after(read, StaffAction.BACK)[0].screen == READY


def test_rounds_of_the_card_that_differ_by_more_than_1_percent_begin_anew():
    state, _ = after(at_screen(Card((503.3, 317.4))), StaffAction.NEXT, StaffAction.NEXT)
    state = replace(state, screen=replace(state.screen, outline_px=(510.0, 317.4)))
    state, _ = after(state, StaffAction.NEXT, StaffAction.NEXT)
    assert (state.screen.note.code, state.screen.rounds) == ("calibration_readings_differ", ())


def test_crosses_touched_in_their_middle_pass():
    state = at_screen(Crosses())
    for x, y in ((0, 0), (-60, 45), (60, 45), (60, -45), (-60, -45)):
        state, _ = after(state, TouchPlace(x + 1.0, y))
    assert isinstance(state.screen, Figures) and state.screen.found.verdict == "pass"
    assert state.screen.found.mean_mm == pytest.approx(1.0)


# Who may do what


@pytest.mark.parametrize(("roles", "lacking"), [
    ({"administer"}, {"results", "page", "site"}), ({"interpret"}, {"new", "site"}),
    ({"site_lead"}, {"new"})])
def test_an_action_of_another_s_part_is_answered_by_whose_it_is_and_not_offered(roles, lacking):
    tried = {"results": (Results(), StaffAction.NEXT, "needs_interpret"),
             "page": (PageScreen(Results()), PaperAction.PRINT, "needs_interpret"),
             "new": (Today(), TodayAction.NEW, "needs_administer"),
             "site": (tablet.Tablet(), TabletAction.CARD, "needs_site_lead")}
    for name in lacking:
        screen, action, code = tried[name]
        state = at_screen(screen)
        at_work = replace(state.context.at_work, roles=frozenset(roles))
        state = replace(state, context=replace(state.context, at_work=at_work))
        refused, effects = session.act(state, action, AT)
        assert (type(refused.screen), refused.screen.note.code, effects) == (type(screen), code, ())
        view = screen.view(state.context, load_language("en")) if name == "new" else None
        if view is not None:
            assert action in {one.action for one in view.controls}
            assert action not in {one.action for one in staff_view(state, load_language("en")).controls}
