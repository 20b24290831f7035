"""The adaptation record of a language in words: its version and status, and who did which part of it when.

Decision languages-9.
"""

import datetime as dt
from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.wording.circumstances import language_words

_STATUS: Final[Messages] = {
    "draft": N_("draft"),
    "reviewed": N_("reviewed"),
    "piloted": N_("tried out"),
    "approved": N_("approved"),
    "out_of_date": N_("out of date: the English has changed since"),
    "source": N_("the source"),
}
_PARTS: Final[Messages] = {
    "X-Forward-Translator": N_("translated by %(who)s"),
    "X-Back-Translator": N_("translated back by %(who)s"),
    "X-Reviewer": N_("reviewed by %(who)s"),
    "X-Pilot": N_("tried out by %(who)s"),
    "X-Approver": N_("approved by %(who)s"),
}


def status_words(status: str, language: Language) -> str:
    """The status of a catalogue; ValueError for an unknown one."""
    return language.say_one_of(_STATUS, status, "status")


def record_words(language: Language) -> str:
    """The language's own record in its own words; empty for the source, which adapts nothing."""
    if language.status == "source":
        return ""
    parts = [
        language.say_message(words, who=_who(language.record[part], language))
        for part, words in _PARTS.items()
        if language.record.get(part)
    ]
    return language.say(
        "words %(language)s, version %(version)s: %(status)s, %(parts)s",
        language=language_words(language.tag, language),
        version=language.record.get("X-Adaptation-Version", "1"),
        status=status_words(language.status, language),
        parts=", ".join(parts) or language.say("signed by no one"),
    )


def _who(signed: str, language: Language) -> str:
    """Initials and the day of a part, which the record keeps as "AB 2026-11-25"."""
    initials, _, day = signed.partition(" ")
    return f"{initials}, {language.date(dt.date.fromisoformat(day))}" if day else initials
