"""How far set-up is, on standard error: one line rewritten on a terminal, else a new line now and then."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Callable
from typing import TextIO

SHOWN_EVERY_S = {True: 0.2, False: 10.0}  # on a terminal; in a log


class Progress:
    """Says sentences that stay, and shows lines that the next one replaces."""

    def __init__(self, out: TextIO | None = None, now_s: Callable[[], float] = time.monotonic) -> None:
        self._out = sys.stderr if out is None else out
        self._now_s = now_s
        self._on_terminal = self._out.isatty()
        self._shown_s = now_s()
        self._line_stands = False

    def tell(self, sentence: str) -> None:
        """Show a sentence on a line of its own, which stays."""
        self._wipe()
        print(sentence, file=self._out, flush=True)

    def show(self, line: str) -> None:
        """How far it is; left out where the last was shown a moment ago."""
        if self._now_s() - self._shown_s < SHOWN_EVERY_S[self._on_terminal]:
            return
        self._shown_s = self._now_s()
        if not self._on_terminal:
            print(line, file=self._out, flush=True)
            return
        self._wipe()
        print(line[: shutil.get_terminal_size().columns - 1], end="", file=self._out, flush=True)
        self._line_stands = True

    def _wipe(self) -> None:
        if self._line_stands:
            print("\r\x1b[K", end="", file=self._out)
            self._line_stands = False


class TimeLeft:
    """Time left from how fast the parts so far came; nothing is said in the first seconds."""

    SAID_AFTER_S = 3.0

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        self._now_s = now_s
        self._began_s = now_s()

    def words(self, done: float, of: float) -> str:
        """", about 20 s left", or nothing where that cannot be known yet.

        >>> clock = iter([0.0, 10.0])
        >>> TimeLeft(lambda: next(clock)).words(done=1.0, of=3.0)
        ', about 20 s left'
        """
        gone_s = self._now_s() - self._began_s
        if gone_s < self.SAID_AFTER_S or done <= 0 or of <= done:
            return ""
        left_s = gone_s * (of - done) / done
        return f", about {left_s:.0f} s left" if left_s < 90 else f", about {left_s / 60:.0f} min left"
