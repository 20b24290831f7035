"""Pads in words: the PIN, a code, a birth date, initials, readings."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_state import DeskState, Power
from kiosk.wording.staff_parts import Control, Head, Option, PadView
from kiosk.wording.staff_shown import back, head, next_, note, site_head

DOT: Final = "•"
NOON, EVENING = 12, 18
_DIGIT_ROWS: Final = ("123", "456", "789", "0")
_CODE_ROWS: Final = ("1234567890", "ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ*")
_LETTER_ROWS: Final = ("ABCDEFGHI", "JKLMNOPQR", "STUVWXYZ")
Keys = tuple[tuple[Option, ...], ...]


def keys(rows: tuple[str, ...], language: Language) -> Keys:
    """One option a character, and the eraser at the end of the last row."""
    plain = tuple(tuple(Option(f"key {one}", one) for one in row) for row in rows)
    return (*plain[:-1], (*plain[-1], Option("erase", language.say_in("key", "Erase"))))


def greeting(at: datetime, power: Power, language: Language) -> str:
    """Good morning. Wednesday 25 November 2026, 08:25. Battery 84 %."""
    say, hour = language.say, at.hour
    word = say("Good morning.") if hour < NOON else (
        say("Good afternoon.") if hour < EVENING else say("Good evening."))
    moment = say("%(date)s, %(time)s.", date=language.long_date(at.date()), time=language.time(at))
    return " ".join(part for part in (word, moment, power_words(power, language)) if part)


def power_words(power: Power, language: Language) -> str:
    """Battery 84 %; empty where there is none."""
    if power.percent is None:
        return ""
    percent = language.percent(power.percent)
    if power.charging:
        return language.say("Battery %(percent)s, charging.", percent=percent)
    return language.say("Battery %(percent)s.", percent=percent)


def _pin(state: DeskState, title: str, prompt: str, controls: tuple[Control, ...],
         language: Language) -> PadView:
    return PadView(Head(title, language.time(state.at)), prompt, DOT * len(state.entered),
                   keys(_DIGIT_ROWS, language), controls, note(state, language))


def _first_pin(state: DeskState, language: Language) -> PadView:
    prompt = language.say("Choose a PIN for the staff: six digits or more. It is asked whenever the tablet "
                          "was locked.")
    return _pin(state, language.say("Staff PIN"), prompt, (next_(language, bool(state.entered)),), language)


def _first_pin_again(state: DeskState, language: Language) -> PadView:
    controls = (back(language), next_(language, bool(state.entered)))
    prompt = language.say("The same PIN once more.")
    return _pin(state, language.say("Staff PIN"), prompt, controls, language)


def _unlock(state: DeskState, language: Language) -> PadView:
    other = Control("passphrase", language.say_in("button", "Use passphrase"))
    controls = (back(language), other, next_(language, bool(state.entered)))
    return _pin(state, language.say("Staff PIN"), greeting(state.at, state.power, language), controls,
                language)


def _find(state: DeskState, language: Language) -> PadView:
    return PadView(site_head(state, language.say("Find"), language), language.say("Code"), state.entered,
                   keys(_CODE_ROWS, language), (back(language), next_(language, bool(state.entered))),
                   note(state, language))


def _new_code(state: DeskState, language: Language) -> PadView:
    say_in = language.say_in
    controls = (back(language), Control("give_code", say_in("button", "Make a code")),
                Control("two_identifiers", say_in("button", "Two identifiers"),
                        available=bool(state.entered)),
                next_(language, bool(state.entered)))
    prompt = language.say("Code with its check character")
    return PadView(site_head(state, language.say("New person"), language), prompt, state.entered,
                   keys(_CODE_ROWS, language), controls, note(state, language))


def _new_second(state: DeskState, language: Language) -> PadView:
    prompt = language.say("Second identifier, such as a room or record number")
    return PadView(Head(language.say("New person"), state.draft.code), prompt, state.entered,
                   keys(_CODE_ROWS, language), (back(language), next_(language, bool(state.entered))),
                   note(state, language))


def _new_birth(state: DeskState, language: Language) -> PadView:
    prompt = language.say("Birth: year, month, day. Year and month, or the year alone, will do.")
    controls = (back(language), Control("not_known", language.say_in("button", "Not known")),
                next_(language, bool(state.entered)))
    title = language.say("Birth date") if state.amend_what else language.say("New person")
    return PadView(Head(title, state.draft.code or language.time(state.at)), prompt, dated(state.entered),
                   keys(_DIGIT_ROWS, language), controls, note(state, language))


def dated(digits: str) -> str:
    """Digits of a date as they are typed.

    >>> dated("195405"), dated("19"), dated("19540517")
    ('1954-05', '19', '1954-05-17')
    """
    return "-".join(part for part in (digits[:4], digits[4:6], digits[6:]) if part)


def _signer(state: DeskState, language: Language) -> PadView:
    return PadView(head(state, language.say("Sign"), language), language.say("Your initials"), state.entered,
                   keys(_LETTER_ROWS, language), (back(language), next_(language, bool(state.entered))),
                   note(state, language))


def _latency(state: DeskState, language: Language) -> PadView:
    site = state.site
    if site.camera_hz is None:
        prompt = language.say("Film finger and mark in slow motion. Pictures a second of the camera:")
    else:
        prompt = language.say_n(
            "Pictures from finger to mark. %(n)d pass counted.",
            "Pictures from finger to mark. %(n)d passes counted.", len(site.frames))
    done = Control("done", language.say_in("button", "Done"), available=bool(site.frames))
    controls = (back(language), done, next_(language, bool(state.entered)))
    return PadView(site_head(state, language.say("Latency"), language), prompt, state.entered,
                   keys(_DIGIT_ROWS, language), controls, note(state, language))


VIEWS: Final[Mapping[str, Callable[[DeskState, Language], PadView]]] = {
    "first_pin": _first_pin, "first_pin_again": _first_pin_again, "unlock": _unlock, "find": _find,
    "new_code": _new_code, "new_second": _new_second, "new_birth": _new_birth, "signer": _signer,
    "latency": _latency,
}
