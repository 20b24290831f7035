"""The door's steps: what leads where, what is forgotten, and what no key can do."""

from datetime import UTC, datetime, timedelta

import pytest

from kiosk.visits import door
from kiosk.visits.desk_state import Power
from kiosk.visits.door_state import STEPS, DoorState
from kiosk.visits.written import LETTERS, SIGNS, Written, rows_of, struck
from norms import Refusal

AT = datetime(2026, 11, 25, 8, 25, tzinfo=UTC)
WORDS = "seven quiet herons stand"


def through(state: DoorState, *actions: str) -> tuple[DoorState, tuple[str, ...]]:
    wishes: tuple[str, ...] = ()
    for action in actions:
        state, wishes = door.act(state, action, AT)
    return state, wishes


def typed(words: str) -> tuple[str, ...]:
    return (f"scan {words}",)


def test_without_a_store_nothing_can_be_signed_in_to(at=AT):
    state = door.closed(at, known=False)
    assert state.screen == "begin" and state.purpose == "set_up"
    assert through(state, "staff", "recover", "back")[0].screen == "begin"


def test_the_steps_of_a_set_up_end_in_one_wish():
    state, wishes = through(door.closed(AT, known=False), "next", *typed("Room 4"), *typed("M2"),
                            *typed(WORDS))
    assert wishes == ("check_words",) and state.screen == "passphrase"
    state, wishes = through(door.words_taken(state), *typed(WORDS))
    assert (state.screen, wishes) == ("roles", ())
    state, wishes = through(state, "set role administer", "next")
    assert wishes == ("set_up",) and state.roles == {"interpret", "site_lead"}


def test_the_first_account_leads_the_site_whatever_is_chosen():
    state = DoorState("roles", "set_up", AT, AT, roles=frozenset({"site_lead"}))
    assert "site_lead" in through(state, "set role site_lead")[0].roles


def test_an_account_without_a_role_is_not_taken():
    state = DoorState("roles", "add_account", AT, AT, over=True)
    state, wishes = through(state, "next")
    assert wishes == () and state.refusal == Refusal("role_needed")


def test_typed_words_that_differ_are_chosen_again():
    state = DoorState("again", "add_account", AT, AT, passphrase=WORDS)
    state, _ = through(state, *typed(WORDS + "s"))
    assert (state.screen, state.refusal.code, state.passphrase) == ("passphrase", "passphrases_differ", "")


@pytest.mark.parametrize("purpose", STEPS)
def test_back_from_the_first_step_leaves_what_lies_below_untouched(purpose):
    state = door.over_open(AT, purpose)
    if state.screen == "begin":
        return
    state, wishes = through(state, "back")
    assert wishes == ("leave",) if purpose != "recover" else state.screen == "locked"


def test_left_alone_for_three_minutes_the_door_closes_and_forgets():
    state, _ = through(door.closed(AT, known=True), "staff", *typed("M2"), "key s")
    assert state.written.text == "s" and state.name == "M2"
    later = AT + timedelta(minutes=3)
    state, _ = door.tick(state, later, Power())
    assert (state.screen, state.name, state.written.text) == ("locked", "", "")
    over = through(door.over_open(AT, "sign_in"), "key s")[0]
    assert door.tick(over, later, Power())[1] == ("leave",)


def test_a_passphrase_shows_in_no_description_of_the_state():
    state, _ = through(door.closed(AT, known=True), "staff", *typed("M2"), *typed(WORDS))
    assert state.passphrase == WORDS and WORDS not in repr(state)
    assert "ABCD" not in repr(door.code_told(state, "ABCD-EFGH"))


@pytest.mark.parametrize("action", ["", "key", "key ab", "key é", "set role god", "open 1", "scan", "show x"])
def test_what_does_not_fit_changes_nothing(action):
    for screen in ("locked", "begin", "opening", "refused", "roles", "code"):
        state = DoorState(screen, "sign_in", AT, AT)
        assert through(state, action) == (state, ())


def test_every_key_shown_can_be_typed_and_no_other():
    for layer in (Written(), Written(capital=True), Written(signs=True)):
        for letter in "".join(rows_of(layer)):
            assert struck(layer, "key", letter).text == letter
    assert struck(Written(), "key", "ß").text == ""
    assert len(set("".join((*LETTERS, *SIGNS)))) == 26 + 30  # no key twice


def test_a_refusal_is_said_where_it_can_be_put_right():
    state = DoorState("opening", "sign_in", AT, AT)
    assert door.refused(state, Refusal("wrong_passphrase")).screen == "passphrase"
    assert door.refused(state, Refusal("account_closed")).screen == "name"
    assert door.refused(state, Refusal("store_damaged")).screen == "refused"
    assert door.refused(DoorState("opening", "recover", AT, AT), Refusal("wait_to_try")).screen == (
        "recovery_code")
