"""The cautions of the page: five that never change, in this order, and those that a visit brings with it."""

from collections.abc import Iterable

from kiosk.language import Language
from kiosk.scoring.trial_scores import Reason
from kiosk.wording.facts_worded import worded
from kiosk.wording.reasons_comparison import Sentences


def fixed_cautions(language: Language) -> tuple[str, ...]:
    """The five fixed cautions."""
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


CONDITIONAL: Sentences = {
    "synthetic": lambda say, v: say("SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE.", **v),
    "draft_language": lambda say, v: say(
        "The %(language)s instructions have not been checked by a second translator.", **v
    ),
    "small_n": lambda say, v: say("The reference group is small (n %(n)s): the ranges are wide.", **v),
    "interval": lambda say, v: say(
        "No retest study covers an interval of %(interval)s: the difference is shown without judgement.", **v
    ),
    "state_differs": lambda say, v: say("%(what)s: %(today)s today, %(before)s at visit %(visit)s.", **v),
    "not_understood": lambda say, v: say(
        "The practice trial was not completed as shown; scores may reflect that.", **v
    ),
    "partial": lambda say, v: say(
        "Stopped by the person after trial %(trial)s. %(scored)s of %(measures)s measures scored.", **v
    ),
    "unscored": lambda say, v: say("%(block)s could not be scored: %(why)s", **v),
}


def conditional_cautions(reasons: Iterable[Reason], language: Language) -> tuple[str, ...]:
    """Each caution that this visit brings, once, in the order given; ValueError for an unknown code."""
    return tuple(dict.fromkeys(caution_sentence(one, language) for one in reasons))


def caution_sentence(reason: Reason, language: Language) -> str:
    """One caution in words."""
    if reason.code not in CONDITIONAL:
        raise ValueError(f"caution, must be one of {', '.join(CONDITIONAL)}, got {reason.code!r}")
    return CONDITIONAL[reason.code](language.say, worded(reason.values, language))
