"""A line of progress for commands that take long: how far, and about how long still. Seconds."""

import sys
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import Final, TextIO, TypeVar

from kiosk.i18n.language import Language

Item = TypeVar("Item")
EVERY_S: Final = 1.0


def with_progress(items: Iterable[Item], total: int, language: Language, now: Callable[[], datetime],
                  out: TextIO | None = None) -> Iterator[Item]:
    """The items, with a line on standard error at most once a second: one line that is written over on a
    terminal, a new line each time elsewhere."""
    out = sys.stderr if out is None else out
    began = told = now()
    end = "\r" if out.isatty() else "\n"
    for done, item in enumerate(items, start=1):
        yield item
        at = now()
        if (at - told).total_seconds() >= EVERY_S:
            told, left_s = at, (at - began).total_seconds() / done * (total - done)
            print(_line(done, total, left_s, language), end=end, file=out, flush=True)


def _line(done: int, total: int, left_s: float, language: Language) -> str:
    share = language.say("%(n)s of %(m)s", n=language.number(done), m=language.number(total))
    left = language.say("about %(seconds)s s left", seconds=language.number(left_s))
    return f"{share}, {left} "
