"""The verdict of a tablet's check in words."""

from kiosk.i18n.language import Language
from kiosk.touch.verdict import Verdict


def verdict_words(verdict: Verdict, language: Language) -> str:
    """Pass, warn or refuse, in words."""
    say = language.say
    return {"pass": say("Fit for visits."), "warn": say("Fit for visits, with a note."),
            "refuse": say("Not fit for visits.")}[verdict]
