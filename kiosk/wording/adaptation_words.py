"""The adaptation record of a language in words: its version and status, and who did which part of it when."""

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.wording.circumstances import language_words

_STATUS: Final[Mapping[str, Callable[[Callable[..., str]], str]]] = {
    "draft": lambda say: say("draft"),
    "reviewed": lambda say: say("reviewed"),
    "piloted": lambda say: say("tried out"),
    "approved": lambda say: say("approved"),
    "out_of_date": lambda say: say("out of date: the English has changed since"),
    "source": lambda say: say("the source"),
}
_PARTS: Final[Mapping[str, Callable[[Callable[..., str], str], str]]] = {
    "X-Forward-Translator": lambda say, who: say("translated by %(who)s", who=who),
    "X-Back-Translator": lambda say, who: say("translated back by %(who)s", who=who),
    "X-Reviewer": lambda say, who: say("reviewed by %(who)s", who=who),
    "X-Pilot": lambda say, who: say("tried out by %(who)s", who=who),
    "X-Approver": lambda say, who: say("approved by %(who)s", who=who),
}


def status_words(status: str, language: Language) -> str:
    """The status of a catalogue; ValueError for an unknown one."""
    if status not in _STATUS:
        raise ValueError(f"status, must be one of {', '.join(_STATUS)}, got {status!r}")
    return _STATUS[status](language.say)


def record_words(language: Language) -> str:
    """The language's own record in its own words; empty for the source, which adapts nothing."""
    if language.status == "source":
        return ""
    say = language.say
    parts = [words(say, _who(language.record[part], language)) for part, words in _PARTS.items()
             if language.record.get(part)]  # fmt: skip
    return say(
        "words %(language)s, version %(version)s: %(status)s, %(parts)s",
        language=language_words(language.tag, language),
        version=language.record.get("X-Adaptation-Version", "1"),
        status=status_words(language.status, language),
        parts=", ".join(parts) or say("signed by no one"),
    )


def _who(signed: str, language: Language) -> str:
    """Initials and the day of a part, which the record keeps as "AB 2026-11-25"."""
    initials, _, day = signed.partition(" ")
    return f"{initials}, {language.date(dt.date.fromisoformat(day))}" if day else initials
