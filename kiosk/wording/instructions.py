"""Everything a person being tested reads: short messages, about six words a sentence, no praise by result.

One message fits two lines of capitals 6 mm high, three where a language is longer. Sentences that do not fit
one screen together go on to a next page of it. Decision screens-1.
"""

from collections.abc import Callable
from dataclasses import dataclass

from kiosk.i18n.language import Language
from kiosk.visits.actions import Action, CourseAction
from kiosk.visits.course import Step


@dataclass(frozen=True)
class ScreenWords:
    """A headline, sentences, and the words of the buttons by action, in the order they stand."""

    headline: str
    sentences: tuple[str, ...] = ()
    buttons: tuple[tuple[Action, str], ...] = ()


def screen_words(step: Step, language: Language) -> ScreenWords:
    """What the screen of this step says; empty for the wordless demonstration."""
    return _WORDS[step.screen](step, language)


def stop_word(language: Language) -> str:
    """On every person's screen; at most 23 mm wide at capitals of 4 mm."""
    return language.say_in("button", "Stop")


def next_word(language: Language) -> str:
    """The main button where one screen's words take another page."""
    return language.say_in("button", "Next")


def say_again_word(language: Language) -> str:
    """The button that plays the spoken instruction once more."""
    return language.say_in("button", "Say again")


def staff_word(language: Language) -> str:
    """The word in the corner that opens the screens for staff."""
    return language.say_in("corner", "Staff")


def finger_hint(language: Language) -> str:
    """After ten seconds without a finger in the ring."""
    return language.say("Nothing felt yet. Dry the finger and the glass, or ask staff.")


def use_this_hand(language: Language) -> ScreenWords:
    """The second page of the instruction, beside the picture of a hand."""
    return ScreenWords(
        language.say("Use the hand shown here."),
        (language.say("This first one is just to try. It does not count."),),
        ((CourseAction.READY, language.say_in("button", "I am ready")),))


def staff_choices(language: Language) -> tuple[tuple[CourseAction, str], ...]:
    """What staff choose from when the practice was not understood twice."""
    return ((CourseAction.RETRY, language.say_in("button", "Explain and try again")),
            (CourseAction.GO_ON_MARKED, language.say_in("button", "Go on, marked")),
            (CourseAction.END, language.say_in("button", "End here")))


def locked_words(language: Language) -> ScreenWords:
    """The neutral screen after a restart, and between person and staff."""
    return ScreenWords(language.say("This tablet is locked."),
                       (language.say("Please give it to the staff."),))


def _welcome(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(
        language.say("Hello."),
        (language.say("You will follow a moving disc with your finger."),
         language.say("It takes about seven minutes."), language.say("You can rest or stop at any time.")),
        ((CourseAction.BEGIN, language.say_in("button", "Begin")),))


def _finger_check(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("Put your finger in the ring."),
                       (language.say("Use the soft part of your finger, not the nail."),))


def _demonstration(step: Step, language: Language) -> ScreenWords:
    return ScreenWords("")


def _instruction(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(
        language.say("Put your finger on the disc."),
        (language.say("Keep it there. When it moves, go with it."),
         language.say("If you lose it, just go back to it.")),
        ((CourseAction.SHOW_AGAIN, language.say_in("button", "Show again")),
         (CourseAction.READY, language.say_in("button", "I am ready"))))


def _trial(step: Step, language: Language) -> ScreenWords:
    """Two ways to say it; the second is for a language in which the first does not fit the circle."""
    return ScreenWords(language.say("When you are ready, put your finger on the disc."),
                       (language.say("Put your finger on the disc."),))


def _not_understood_once(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("Now let us watch it once more, and try again."), (),
                       ((CourseAction.SHOW_AGAIN, language.say_in("button", "Show again")),))


def _not_understood(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("Please wait."), (language.say("Someone will help you."),))


def _rest(step: Step, language: Language) -> ScreenWords:
    left = _trials_left(step.trials_left_in_block, language)
    return ScreenWords(language.say("Thank you. Rest your hand."), (left,) if left else (), _ready(language))


def _trials_left(n: int, language: Language) -> str:
    """Few are said in words; none says nothing."""
    spoken = {1: language.say("One more with this hand."), 2: language.say("Two more with this hand."),
              3: language.say("Three more with this hand.")}
    if n in spoken:
        return spoken[n]
    return language.say_n("%(n)d more with this hand.", "%(n)d more with this hand.", n) if n else ""


def _change_hand(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("Now use your other hand."), (), _ready(language))


def _new_path(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("This disc will change direction often."), (), _ready(language))


def _stop_menu(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(
        language.say("Do you want to rest, go on, or end here?"), (),
        ((CourseAction.REST, language.say_in("button", "Rest")),
         (CourseAction.GO_ON, language.say_in("button", "Go on")),
         (CourseAction.END, language.say_in("button", "End here"))))


def _stopped(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("What you did is saved."), (),
                       ((CourseAction.GO_ON, language.say_in("button", "Next")),))


def _thanks(step: Step, language: Language) -> ScreenWords:
    return ScreenWords(language.say("You are done."),
                       (language.say("Thank you for your time."),
                        language.say("Please give the tablet back to the staff.")))


def _ready(language: Language) -> tuple[tuple[CourseAction, str], ...]:
    return ((CourseAction.READY, language.say_in("button", "I am ready")),)


_WORDS: dict[str, Callable[[Step, Language], ScreenWords]] = {
    "welcome": _welcome, "finger_check": _finger_check, "demonstration": _demonstration,
    "instruction": _instruction, "trial": _trial, "not_understood_once": _not_understood_once,
    "not_understood": _not_understood, "rest": _rest, "change_hand": _change_hand, "new_path": _new_path,
    "stop_menu": _stop_menu, "stopped": _stopped, "thanks": _thanks,
}
