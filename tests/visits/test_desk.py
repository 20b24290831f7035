"""The staff's part: what each action leads to, and what it never does."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from typing import get_args

import numpy as np
import pytest

from kiosk.i18n.language import load_language
from kiosk.visits import desk
from kiosk.visits.check_character import ALPHABET, check_character, checks
from kiosk.visits.desk_state import DeskScreen, DeskState, Power
from kiosk.visits.desk_unlock import pin_answered
from kiosk.visits.look_alike import one_apart
from kiosk.visits.site_work import SiteWork
from kiosk.wording.staff_words import NOT_FROM_HERE, OF_A_VISIT, PLAIN, staff_view

AT = datetime(2026, 11, 25, 8, 25, tzinfo=timezone(timedelta(hours=1)))
SCREENS = get_args(DeskScreen)
MANY_ACTIONS = (
    "next", "back", "erase", "staff", "find", "new", "site", "site tablet", "tablet card", "wider 10", "same",
    "hand_over", "touched", "print", "sign", "nothing", "set purpose care", "tick power", "more", "lock",
    "give_code", "cross 0 0", "done", "not_known")


def at_screen(screen: str, **known) -> DeskState:
    return replace(desk.opening(AT, pin_known=True), screen=screen, **known)


def after(state: DeskState, *actions: str) -> tuple[DeskState, tuple[str, ...]]:
    wishes: tuple[str, ...] = ()
    for action in actions:
        state, wishes = desk.act(state, action, state.at)
    return state, wishes


# Laws


def test_every_screen_has_a_handler_and_a_view():
    assert set(desk.HANDLERS) == set(SCREENS)
    assert {*PLAIN, *OF_A_VISIT, *NOT_FROM_HERE} == set(SCREENS)


def test_a_thousand_random_actions_lead_from_screen_to_screen_and_never_past_the_lock():
    rng = np.random.default_rng(7)
    words = [*(f"key {one}" for one in "0123456789"), *MANY_ACTIONS]
    language, state = load_language("en"), at_screen("locked")
    for _ in range(1000):
        state, _wishes = desk.act(state, words[int(rng.integers(len(words)))], state.at)
        assert state.screen in ("locked", "unlock"), "no PIN was ever compared"
        staff_view(state, language)


@pytest.mark.parametrize("screen", sorted(PLAIN))
def test_an_action_that_does_not_fit_changes_nothing(screen):
    state = at_screen(screen)
    assert desk.act(state, "no_such_action", state.at) == (state, ())


# The lock


def test_a_first_pin_is_chosen_twice_and_there_is_none_by_default():
    state = desk.opening(AT, pin_known=False)
    assert state.screen == "first_pin"
    state, _ = after(state, *(f"key {digit}" for digit in "48151"), "next")
    assert state.refusal.code == "pin_short"
    state, _ = after(state, *(f"key {digit}" for digit in "481516"), "next")
    other, _ = after(state, *(f"key {digit}" for digit in "481517"), "next")
    assert (other.screen, other.refusal.code, other.first_pin) == ("first_pin", "pins_differ", "")
    _, wishes = after(state, *(f"key {digit}" for digit in "481516"), "next")
    assert wishes == ("keep_pin",)


def test_the_pin_is_never_shown():
    state, _ = after(at_screen("unlock"), *(f"key {digit}" for digit in "481516"))
    assert staff_view(state, load_language("en")).entered == "••••••"


def test_wrong_pins_are_slowed_down_and_the_right_one_too_while_it_waits():
    state = at_screen("unlock", entered="111111")
    for _ in range(3):
        state, _ = pin_answered(state, False)
    assert state.refusal.code == "pin_waits" and state.wait_until == AT + timedelta(seconds=30)
    state, wishes = desk.act(replace(state, entered="481516"), "next", AT + timedelta(seconds=29))
    assert wishes == () and state.entered == ""
    _, wishes = desk.act(replace(state, entered="481516"), "next", AT + timedelta(seconds=30))
    assert wishes == ("check_pin",)


@pytest.mark.parametrize("screen", SCREENS)
def test_an_idle_screen_with_staff_data_locks_and_comes_back_behind_the_pin(screen):
    idle = desk.tick(at_screen(screen), AT + timedelta(seconds=desk.IDLE_S), Power())
    if screen in desk.STAFF_OWN_NO_DATA:
        assert idle.screen == screen
    else:
        assert (idle.screen, idle.after_pin) == ("locked", screen)
        assert pin_answered(idle, True)[0].screen == screen


def test_giving_up_at_the_pin_never_leads_to_staff_data():
    for state in (at_screen("hand_over"), at_screen("paused"), desk.locked(at_screen("ready"))):
        asked, _ = after(state, "staff")
        assert after(asked, "back")[0].screen in ("hand_over", "paused", "locked")


# A keyboard that is plugged in


def test_initials_a_birth_date_and_a_second_identifier_may_be_typed_on_a_keyboard():
    state, _ = after(at_screen("signer"), "scan m.o.")
    assert (state.screen, state.signer) == ("sign_off", "MO")
    state, wishes = after(at_screen("new_birth"), "scan 1954-05")
    assert (state.draft.birth_date, wishes) == ("1954-05", ("add_person",))
    state, _ = after(at_screen("new_second"), "scan room 12")
    assert (state.screen, state.draft.second_identifier) == ("new_birth", "ROOM12")
    state, _ = after(at_screen("signer"), "scan 1")
    assert (state.screen, state.refusal.code) == ("signer", "initials_needed")


# Hand-over and figures


def test_handing_over_needs_all_five_ticks():
    state = at_screen("ready")
    for tick in ("person", "hands", "glass", "seated"):
        state, _ = after(state, f"tick {tick}")
    assert after(state, "hand_over")[0].screen == "ready"
    assert after(state, "tick power", "hand_over")[0].screen == "hand_over"
    give = staff_view(state, load_language("en")).controls[-1]
    assert (give.action, give.hold_s, give.available) == ("hand_over", 0.6, False)


def test_rounds_of_the_card_that_differ_by_more_than_1_percent_begin_anew():
    state = at_screen("card", site=SiteWork(outline_px=(503.3, 317.4)))
    state, _ = after(state, "next", "next")
    state = replace(state, site=replace(state.site, outline_px=(510.0, 317.4)))
    state, _ = after(state, "next", "next")
    assert (state.refusal.code, state.site.rounds) == ("calibration_readings_differ", ())


def test_crosses_touched_in_their_middle_pass():
    state = at_screen("crosses")
    for x, y in ((0, 0), (-60, 45), (60, 45), (60, -45), (-60, -45)):
        state, _ = after(state, f"cross {x + 1} {y}")
    assert state.screen == "figures" and state.site.crosses.verdict == "pass"
    assert state.site.crosses.mean_mm == pytest.approx(1.0)


# Codes. ISO/IEC 7064:2003, MOD 37-2; the example is that of ISBT 128 donation numbers (from memory: H).


def test_the_published_example_checks():
    assert check_character("G123498654321") == "H"


def test_the_weights_of_the_standard_give_1_modulo_37():
    """Recomputed by the standard's other form: the sum of value times 2^place is 1 modulo 37."""
    for code in ("K0412", "ZZ99", "A1"):
        whole = code + check_character(code)
        total = sum(ALPHABET.index(one) * 2**place for place, one in enumerate(reversed(whole)))
        assert total % 37 == 1


def test_every_single_wrong_character_and_every_swap_of_neighbours_is_found():
    whole = "K0412" + check_character("K0412")
    for at in range(len(whole)):
        for other in ALPHABET[:-1]:
            if other != whole[at]:
                assert not checks(whole[:at] + other + whole[at + 1:])
    for at in range(len(whole) - 1):
        if whole[at] != whole[at + 1]:
            swapped = whole[:at] + whole[at + 1] + whole[at] + whole[at + 2:]
            assert not checks(swapped)


def test_codes_one_character_apart_are_alike_whichever_comes_first():
    for one, other in (("K0412", "K0413"), ("K0412", "K412"), ("K0412", "K04112"), ("K0412", "K0421")):
        assert one_apart(one, other) and one_apart(other, one)
    assert not one_apart("K0412", "K0523")
