"""The door in words: set-up of a new store, name and passphrase, roles, the recovery code."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.visits.door_state import DoorState
from kiosk.visits.staff import ROLES
from kiosk.wording.instructions import locked_words, staff_word
from kiosk.wording.keyboard_words import keyboard, masked
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import (
    Choices,
    ChoiceView,
    Control,
    Head,
    NoticeView,
    Option,
    PadView,
    StaffView,
    TextView,
)
from kiosk.wording.staff_shown import PERSON_DOT, back, next_
from kiosk.wording.staff_words_pads import keys

CODE_ROWS: Final = ("ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ", "234567")
GROUP: Final = 4
CODE_GROUPS: Final = 8

ROLE_WORDS: Final[Messages] = {
    "administer": N_("Gives visits"),
    "interpret": N_("Reads and signs pages"),
    "site_lead": N_("Leads the site"),
}


def role_words(role: str, language: Language) -> str:
    """What a role does."""
    return language.say_message(ROLE_WORDS[role])


def door_view(state: DoorState, language: Language) -> StaffView:
    """What the door's screen shows."""
    return _VIEWS[state.screen](state, language)


def title(state: DoorState, language: Language) -> str:
    """What is being done."""
    say = language.say
    return {"set_up": say("First set-up"), "sign_in": say("Sign in"), "add_account": say("New account"),
            "new_passphrase": say("New passphrase"), "recover": say("Recovery")}[state.purpose]


def role_options(roles: frozenset[str], language: Language) -> tuple[Option, ...]:
    """The roles to choose from."""
    return tuple(Option(f"set role {role}", role_words(role, language), role in roles) for role in ROLES)


def in_groups(code: str) -> str:
    """A code as it is typed, in groups of four.

    >>> in_groups("ABCDEFGHIJ")
    'ABCD-EFGH-IJ'
    """
    plain = code.replace("-", "")
    return "-".join(plain[at:at + GROUP] for at in range(0, len(plain), GROUP))


def _head(state: DoorState, language: Language) -> Head:
    return Head(title(state, language), language.time(state.at))


def _note(state: DoorState, language: Language) -> str:
    return "" if state.refusal is None else sentence(state.refusal.code, state.refusal.values, language)


def _locked(state: DoorState, language: Language) -> NoticeView:
    words = locked_words(language)
    return NoticeView(words.headline, " ".join(words.sentences), (), None, staff_word(language))


def _begin(state: DoorState, language: Language) -> TextView:
    say = language.say
    return TextView(_head(state, language), (
        say("This kiosk keeps no data yet. Set it up: the name of the place, your account and its "
            "passphrase."),
        say("Everything kept is locked with the passphrase. Nobody can open it without one, not even the "
            "makers of this kiosk."),
        say("At the end a recovery code is shown. Have a pen and paper ready.")), (next_(language),))


def _typed(state: DoorState, prompt: str, language: Language, *more: Control) -> PadView:
    ready = next_(language, bool(state.written.text.strip()))
    return PadView(_head(state, language), prompt, state.written.text, keyboard(state.written, language),
                   (back(language), *more, ready), _note(state, language), wide=True)


def _place(state: DoorState, language: Language) -> PadView:
    return _typed(state, language.say("Name of the place, for the head of pages"), language)


def _name(state: DoorState, language: Language) -> PadView:
    if state.purpose == "sign_in":
        forgotten = Control("recover", language.say_in("button", "Passphrase lost"), "quiet")
        more = () if state.over else (forgotten,)
        view = _typed(state, language.say("Who is working? Name or code"), language, *more)
        moment = PERSON_DOT.join((language.long_date(state.at.date()), language.time(state.at)))
        return replace(view, head=Head(title(state, language), moment))
    if state.purpose == "recover":
        return _typed(state, language.say("Name of an account that leads the site"), language)
    return _typed(state, language.say("Name or code of the account"), language)


def _passphrase(state: DoorState, language: Language) -> PadView:
    if state.purpose == "sign_in":
        return _secret(state, language.say("Passphrase of %(name)s", name=state.name), language)
    prompt = language.say("A new passphrase: four words or more")
    return _secret(state, prompt, language)


def _again(state: DoorState, language: Language) -> PadView:
    return _secret(state, language.say("The same passphrase once more"), language)


def _secret(state: DoorState, prompt: str, language: Language) -> PadView:
    written, say_in = state.written, language.say_in
    show = Control("show", say_in("button", "Hide") if written.shown else say_in("button", "Show"))
    return PadView(_head(state, language), prompt, masked(written), keyboard(written, language),
                   (back(language), show, next_(language, bool(written.text))), _note(state, language),
                   wide=True, masked=not written.shown)


def _roles(state: DoorState, language: Language) -> ChoiceView:
    say = language.say
    hint = say("The first account leads the site: it names the others.") if state.purpose == "set_up" else ""
    row = Choices(say("What this account does"), role_options(state.roles, language), hint)
    return ChoiceView(Head(title(state, language), state.name), (row,),
                      (back(language), next_(language, bool(state.roles))), _note(state, language))


def _recovery_code(state: DoorState, language: Language) -> PadView:
    return PadView(_head(state, language), language.say("The recovery code, from your paper"),
                   in_groups(state.written.text), keys(CODE_ROWS, language),
                   (back(language), next_(language, bool(state.written.text))), _note(state, language),
                   wide=True)


def _code(state: DoorState, language: Language) -> NoticeView:
    """The code in two lines, large enough to be written down without a slip."""
    say, say_in = language.say, language.say_in
    half = CODE_GROUPS // 2
    groups = state.code.split("-")
    shown = " ".join("-".join(part) for part in (groups[:half], groups[half:]))
    told = say("Write it down and lock it away, not beside the tablet. It is shown this once.")
    if state.refusal is not None:
        told = _note(state, language)
    elif state.printed:
        told = say("Printed: %(printer)s. Take the paper now.", printer=state.printed)
    controls = (Control("print", say_in("button", "Print")),
                Control("next", say_in("button", "Written down"), "main"))
    return NoticeView(shown, told, controls, Head(say("Recovery code"), language.time(state.at)))


def _what_it_opens(language: Language) -> str:
    return language.say("It opens everything when every passphrase is lost. Without both, nothing can be "
                        "opened again.")


def recovery_words(state: DoorState, language: Language) -> tuple[str, tuple[str, ...]]:
    """The title of the recovery code's sheet, and what stands below the code."""
    say = language.say
    made = PERSON_DOT.join(part for part in (state.place, language.date(state.at.date())) if part)
    return say("Recovery code"), (
        made, say("Lock this paper away, not beside the tablet. Tell nobody what is on it."),
        _what_it_opens(language))


def _code_check(state: DoorState, language: Language) -> PadView:
    return PadView(Head(language.say("Recovery code"), language.time(state.at)),
                   language.say("Type the last group of the code, from your paper"), state.written.text,
                   keys(CODE_ROWS, language), (back(language), next_(language, bool(state.written.text))),
                   _note(state, language))


def _opening(state: DoorState, language: Language) -> NoticeView:
    return NoticeView(language.say("Please wait."), "", ())


def _refused(state: DoorState, language: Language) -> NoticeView:
    return NoticeView(language.say("This cannot go on."), _note(state, language), (back(language),),
                      _head(state, language))


_VIEWS: Final[Mapping[str, Callable[[DoorState, Language], StaffView]]] = {
    "locked": _locked, "begin": _begin, "place": _place, "name": _name, "passphrase": _passphrase,
    "again": _again, "roles": _roles, "recovery_code": _recovery_code, "code": _code,
    "code_check": _code_check, "opening": _opening, "refused": _refused,
}
