"""Sign-in step by step: what leads where, what is forgotten, and what no key can do."""

from datetime import UTC, datetime, timedelta

import pytest

from kiosk.staff import sign_in
from kiosk.staff.actions import Answer, Key, StaffAction
from kiosk.staff.roles import PickRole
from kiosk.staff.screen import Effect
from kiosk.staff.sign_in import STEPS, CheckStrength, Fulfil, Leave, Purpose, SignInAction, SignInState, Step
from kiosk.staff.text_input import LETTERS, SIGNS, KeyboardAction, TextInput, apply_key
from kiosk.visits.actions import Action, Scan, ScreenAction
from kiosk.visits.power import Power
from norms import Refusal

AT = datetime(2026, 11, 25, 8, 25, tzinfo=UTC)
WORDS = "seven quiet herons stand"


def through(state: SignInState, *actions: Action) -> tuple[SignInState, tuple[Effect, ...]]:
    effects: tuple[Effect, ...] = ()
    for action in actions:
        state, effects = sign_in.act(state, action, AT)
    return state, effects


def at_step(step: Step, purpose: Purpose, **known) -> SignInState:
    return SignInState(step, purpose, AT, AT, **known)


def test_without_a_store_nothing_can_be_signed_in_to():
    state = sign_in.closed(AT, known=False)
    assert (state.step, state.purpose) == (Step.BEGIN, Purpose.SET_UP)
    back = through(state, ScreenAction.STAFF, SignInAction.RECOVER, StaffAction.BACK)[0]
    assert back.step is Step.BEGIN


def test_the_steps_of_a_set_up_end_in_one_effect():
    state, effects = through(sign_in.closed(AT, known=False), StaffAction.NEXT, Scan("Room 4"), Scan("M2"),
                             Scan(WORDS))
    assert effects == (CheckStrength(),) and state.step is Step.PASSPHRASE
    state, effects = through(sign_in.strong_enough(state), Scan(WORDS))
    assert (state.step, effects) == (Step.ROLES, ())
    state, effects = through(state, PickRole("administer"), StaffAction.NEXT)
    assert effects == (Fulfil(Purpose.SET_UP),) and state.roles == {"interpret", "site_lead"}


def test_the_first_account_leads_the_site_whatever_is_chosen():
    state = at_step(Step.ROLES, Purpose.SET_UP, roles=frozenset({"site_lead"}))
    assert "site_lead" in through(state, PickRole("site_lead"))[0].roles


def test_an_account_without_a_role_is_not_taken():
    state, effects = through(at_step(Step.ROLES, Purpose.ADD_ACCOUNT, over=True), StaffAction.NEXT)
    assert effects == () and state.note == Refusal("role_needed")


def test_typed_words_that_differ_are_chosen_again():
    state = at_step(Step.AGAIN, Purpose.ADD_ACCOUNT, passphrase=WORDS)
    state, _ = through(state, Scan(WORDS + "s"))
    assert (state.step, state.note.code, state.passphrase) == (Step.PASSPHRASE, "passphrases_differ", "")


@pytest.mark.parametrize("purpose", STEPS)
def test_back_from_the_first_step_leaves_what_lies_below_untouched(purpose):
    state = sign_in.over_open(AT, purpose)
    if state.step is Step.BEGIN:
        return
    state, effects = through(state, StaffAction.BACK)
    assert effects == (Leave(),) if purpose is not Purpose.RECOVER else state.step is Step.LOCKED


def test_left_alone_for_three_minutes_it_closes_and_forgets():
    state, _ = through(sign_in.closed(AT, known=True), ScreenAction.STAFF, Scan("M2"), Key("s"))
    assert state.written.text == "s" and state.name == "M2"
    later = AT + timedelta(minutes=3)
    state, _ = sign_in.tick(state, later, Power())
    assert (state.step, state.name, state.written.text) == (Step.LOCKED, "", "")
    over = through(sign_in.over_open(AT, Purpose.SIGN_IN), Key("s"))[0]
    assert sign_in.tick(over, later, Power())[1] == (Leave(),)


def test_a_passphrase_shows_in_no_description_of_the_state():
    state, _ = through(sign_in.closed(AT, known=True), ScreenAction.STAFF, Scan("M2"), Scan(WORDS))
    assert state.passphrase == WORDS and WORDS not in repr(state)
    assert "ABCD" not in repr(sign_in.code_told(state, "ABCD-EFGH"))


@pytest.mark.parametrize("action", [
    Key(""), Key("ab"), Key("é"), Answer("role", "nurse"), ScreenAction.TOUCHED, Scan("x"),
    KeyboardAction.SHOW], ids=repr)
def test_what_does_not_fit_changes_nothing(action):
    for step in (Step.LOCKED, Step.BEGIN, Step.OPENING, Step.REFUSED, Step.ROLES, Step.CODE):
        state = at_step(step, Purpose.SIGN_IN)
        assert through(state, action) == (state, ())


def test_every_key_shown_can_be_typed_and_no_other():
    for layer in (TextInput(), TextInput(capital=True), TextInput(signs=True)):
        for letter in "".join(layer.rows):
            assert apply_key(layer, Key(letter)).text == letter
    for other in ("ß", "", "ab"):
        assert apply_key(TextInput(), Key(other)).text == ""
    assert len(set("".join((*LETTERS, *SIGNS)))) == 26 + 30  # no key twice


def test_a_refusal_is_said_where_it_can_be_put_right():
    state = at_step(Step.OPENING, Purpose.SIGN_IN)
    assert sign_in.refused(state, Refusal("wrong_passphrase")).step is Step.PASSPHRASE
    assert sign_in.refused(state, Refusal("account_closed")).step is Step.NAME
    assert sign_in.refused(state, Refusal("store_damaged")).step is Step.REFUSED
    recovering = at_step(Step.OPENING, Purpose.RECOVER)
    assert sign_in.refused(recovering, Refusal("wait_to_try")).step is Step.RECOVERY_CODE
