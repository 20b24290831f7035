"""The cautions of the page: five that never change, in this order, and those that a visit brings with it."""

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.scoring.trial_scores import Reason
from kiosk.wording.circumstances import language_words, state_words, token_words
from kiosk.wording.facts_worded import worded
from kiosk.wording.measures import block_name
from kiosk.wording.reasons import sentence

FIXED_CAUTIONS = 5
Facts = Mapping[str, float | str]


def fixed_cautions(language: Language) -> tuple[str, ...]:
    say = language.say
    return (
        say(
            "This page describes how one person followed a moving disc on this tablet on this day. It does "
            "not diagnose or rule out anything, and must not be the only reason for a decision."
        ),
        say(
            "For a qualified clinician who knows the person. Low scores also come from tiredness, pain, poor "
            "sight, cold hands, worry, new surroundings or unclear instructions."
        ),
        say("One or two low scores are common in healthy people; the sentence at the top says how common."),
        say(
            "'Reliable' means larger than chance and practice usually produce. It does not say why, or "
            "whether it matters to the person. People whose performance varies more from day to day pass "
            "the limits more often."
        ),
        say(
            "Compare only with visits on the same kind of tablet, with the same input, hand and battery "
            "version. Differences between visits in state or set-up are listed above."
        ),
    )


def conditional_cautions(reasons: Iterable[Reason], language: Language) -> tuple[str, ...]:
    """Each caution that this visit brings, once, in order; differences of state in one paragraph."""
    told: dict[str, list[str]] = {}
    for place, reason in enumerate(reasons):
        key = reason.code if reason.code == "state_differs" else str(place)
        told.setdefault(key, []).append(caution_sentence(reason, language))
    return tuple(dict.fromkeys(" ".join(said) for said in told.values()))


def caution_sentence(reason: Reason, language: Language) -> str:
    """One caution in words; ValueError for an unknown code."""
    if reason.code in _SPECIAL:
        return _SPECIAL[reason.code](reason.values, language)
    if reason.code not in _PLAIN:
        raise ValueError(f"caution, must be one of {', '.join(CODES)}, got {reason.code!r}")
    return language.say_message(_PLAIN[reason.code], **worded(reason.values, language))


def _draft_language(values: Facts, language: Language) -> str:
    named = language_words(str(values["language"]), language)
    return language.say(
        "The %(language)s instructions have not been checked by a second translator.", language=named
    )


def _state_differs(values: Facts, language: Language) -> str:
    what, visit = str(values["what"]), values["visit"]
    if what == "device":
        return language.say("Another tablet than at visit %(visit)s.", visit=visit)
    today, before = (_answer(what, str(values[when]), language) for when in ("today", "before"))
    return language.say("%(what)s: %(today)s today, %(before)s at visit %(visit)s.", visit=visit, today=today,
                        before=before, what=state_words(what, language))


def _answer(what: str, token: str, language: Language) -> str:
    return language_words(token, language) if what == "language" else token_words(token, language)


def _partial(values: Facts, language: Language) -> str:
    known = worded(values, language)
    counted = language.say("%(scored)s of %(measures)s measures scored.", **known)
    how = str(values["how"])
    told = _stopped(how, known, language) if values["trial"] else _stopped_at_once(how, language)
    return f"{told} {counted}"


def _stopped(how: str, known: dict[str, str], language: Language) -> str:
    if how == "stopped_by_person":
        return language.say("Stopped by the person after trial %(trial)s.", **known)
    if how == "stopped_by_staff":
        return language.say("Stopped by staff after trial %(trial)s.", **known)
    return language.say("Not carried on after trial %(trial)s.", **known)


def _stopped_at_once(how: str, language: Language) -> str:
    """Ended before any trial that counts was done."""
    if how == "stopped_by_person":
        return language.say("Stopped by the person before the first scored trial.")
    if how == "stopped_by_staff":
        return language.say("Stopped by staff before the first scored trial.")
    return language.say("Not carried on to the first scored trial.")


def _unscored(values: Facts, language: Language) -> str:
    block = block_name(str(values["block"]), language)
    why = sentence(str(values["why"]), values, language)
    return language.say("%(block)s could not be scored: %(why)s", block=block[:1].upper() + block[1:],
                        why=why[:1].lower() + why[1:])


def _table_not_stated(values: Facts, language: Language) -> str:
    missing = [language.say_message(_NOT_STATED[name]) for name in str(values["missing"]).split(",")]
    return language.say("The reference table does not say: %(missing)s.", missing=", ".join(missing))


_NOT_STATED: Final[Messages] = {
    "population": N_("who was tested"),
    "country": N_("in which country"),
    "setting": N_("in what setting"),
    "sampling": N_("how people were found"),
    "exclusions": N_("who was left out"),
    "retest_people": N_("whether people in the retest study were stable"),
    "retest_interval": N_("why the retest study had its interval"),
    "retest_blinding": N_("whether staff of the retest study knew the first scores"),
}
_PLAIN: Final[Messages] = {
    "synthetic": N_("SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE."),
    "small_n": N_("The reference group is small (n %(n)s): the ranges are wide."),
    "interval": N_(
        "No retest study covers an interval of %(interval)s: the difference is shown without judgement."
    ),
    "not_understood": N_("The practice trial was not completed as shown; scores may reflect that."),
}
_SPECIAL: Mapping[str, Callable[[Facts, Language], str]] = {
    "draft_language": _draft_language,
    "table_not_stated": _table_not_stated,
    "state_differs": _state_differs,
    "partial": _partial,
    "unscored": _unscored,
}
CODES = (*_PLAIN, *_SPECIAL)
