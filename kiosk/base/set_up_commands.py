"""Runs the commands that set-up consists of, some side by side, and tells in one sentence why one failed.

Their words are read as they come. They may hold what has been opened here (the lock of the set-up), so that
where this process dies a second set-up waits for them. When this process ends they end.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from types import MappingProxyType
from typing import Protocol

from kiosk.base.set_up_failures import sentence_of

AT_ONCE = 4
LOOK_EVERY_S = 0.1
END_WITHIN_S = 5.0
# Nothing of the caller's own Python may lead pip elsewhere; its words are read, so they are in English.
LEFT_BEHIND = ("PYTHONPATH", "PYTHONHOME", "PYTHONDONTWRITEBYTECODE", "PIP_USER", "PIP_TARGET", "PIP_PREFIX")
ENGLISH = {"LC_ALL": "C.UTF-8", "LANGUAGE": "C"}
KEPT_LINES = 400

Commands = Sequence[Sequence[str]]
Hear = Callable[[str], None]
Watch = Callable[[], None]


def _nothing() -> None:
    """Do nothing while the command runs."""


def _unheard(line: str) -> None:
    """A line that nobody waits for."""


class Run(Protocol):
    """Runs commands side by side; a set-up that cannot go on ends with one sentence."""

    def __call__(self, commands: Commands, hear: Hear = _unheard, watch: Watch = _nothing) -> None:
        """hear: takes every line they say. watch: is called again and again while they run."""


class Command:
    """A running command and what it has written so far."""

    def __init__(self, words: Sequence[str], environment: dict[str, str], held: Sequence[int]) -> None:
        self.words = words
        self._said = tempfile.TemporaryFile()  # noqa: SIM115 - open as long as the command works
        self._read_to = 0
        self.lines: list[str] = []
        self.process = subprocess.Popen(
            words, env=environment, stdin=subprocess.DEVNULL, stdout=self._said, stderr=subprocess.STDOUT,
            pass_fds=held)  # fmt: skip

    def new_lines(self) -> list[str]:
        """What it has said since it was last asked; only whole lines while it is at work."""
        ended = self.process.poll() is not None
        said = os.pread(self._said.fileno(), 1 << 24, self._read_to)
        whole = said if ended else said[: said.rfind(b"\n") + 1]
        self._read_to += len(whole)
        new = whole.decode("utf-8", "replace").replace("\r", "\n").splitlines()
        self.lines = [*self.lines, *new][-KEPT_LINES:]
        return new

    def end(self) -> None:
        """End it if it is at work still."""
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(END_WITHIN_S)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        self._said.close()


class CommandRunner:
    """Runs commands, at most AT_ONCE at a time. It is a Run."""

    def __init__(self, held: Sequence[int] = (), beside: Mapping[str, str] = MappingProxyType({})) -> None:
        """held: what is handed on while they work. beside: variables of theirs beside this process's."""
        self._held, self._beside = held, beside

    def __call__(self, commands: Commands, hear: Hear = _unheard, watch: Watch = _nothing) -> None:
        """hear: takes every line they say. watch: is called again and again while they run."""
        waiting, at_work = list(reversed(commands)), list[Command]()
        try:
            while waiting or at_work:
                while waiting and len(at_work) < AT_ONCE:
                    at_work.append(self._start(waiting.pop()))
                self._look_at(at_work, hear)
                watch()
        finally:
            for command in at_work:
                command.end()

    def _start(self, words: Sequence[str]) -> Command:
        kept = {name: value for name, value in os.environ.items() if name not in LEFT_BEHIND}
        try:
            return Command(words, {**kept, **ENGLISH, **self._beside}, self._held if os.name != "nt" else ())
        except OSError as fault:
            raise SystemExit(f"Set-up did not finish: {words[0]} does not start: {fault.strerror}.") from None

    def _look_at(self, at_work: list[Command], hear: Hear) -> None:
        with suppress(subprocess.TimeoutExpired):
            at_work[0].process.wait(LOOK_EVERY_S)
        for command in list(at_work):
            code = command.process.poll()
            for line in command.new_lines():
                hear(line)
            if code:
                raise SystemExit(sentence_of(command.words, code, command.lines))
            if code == 0:
                at_work.remove(command)
                command.end()
