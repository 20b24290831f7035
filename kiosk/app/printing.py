"""Printing a page through the system's print server (CUPS: lp, lpstat, cancel), and saving it as a file.

The page goes through the standard input of lp, never through a file of ours. The job is followed to its end
or cancelled after a time; the server drops the data of both where it is told `PreserveJobFiles No`, which
`check --site` looks for. Nothing here waits: `tick` is called once a frame with
the seconds of a monotonic clock, and looks at what the programs have said by then.
"""

import os
import re
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from kiosk.base.errors import Refused
from norms import Refusal

LONGEST_S: Final = 60.0
BETWEEN_LOOKS_S: Final = 0.5
LONGEST_QUESTION_S: Final = 5.0
PIPE_BYTES: Final = 65536
Phase = Literal["sending", "following", "cancelling", "ended"]
_REQUEST: Final = re.compile(r"request id is (\S+)")
_JOB: Final = re.compile(r"^(\S+)\s", re.MULTILINE)


@dataclass(frozen=True)
class Printer:
    """A printer of this machine; `words` is what people call it."""

    name: str
    words: str


def default_printer() -> Printer:
    """The machine's default printer, else its first; Refused `no_printer` or `printer_did_not_answer`."""
    named = re.search(r": (\S+)$", _asked("lpstat", "-d").strip())
    names = [named.group(1)] if named else _asked("lpstat", "-e").split()
    if not names:
        raise Refused("no_printer")
    told = re.search(r"Description: (.+)", _asked("lpstat", "-l", "-p", names[0]))
    return Printer(names[0], told.group(1).strip() if told else names[0])


class PrintJob:
    """One page on its way. `outcome` is None until it has ended, then "printed" or the reason."""

    def __init__(self, pdf: bytes, tag: str, printer: Printer, now_s: float, paper: str = "A4",
                 longest_s: float = LONGEST_S) -> None:
        self.printer = printer
        self.outcome: Literal["printed"] | Refusal | None = None
        self.job = ""
        self._left, self._until_s, self._next_look_s = pdf, now_s + longest_s, now_s
        self._stopped_by_hand = False
        self._phase: Phase = "sending"
        self._program = _started("lp", "-d", printer.name, "-t", f"page {tag}", "-o", f"media={paper}")
        if self._program is None:
            self._end(Refusal("no_printer"))
        elif self._program.stdin is not None:
            os.set_blocking(self._program.stdin.fileno(), False)

    def tick(self, now_s: float) -> None:
        """Look once at how far it is."""
        if self._phase == "sending":
            self._send(now_s)
        elif self._phase == "following":
            self._follow(now_s)
        elif self._phase != "ended":
            self._clear_up(now_s)

    def cancel(self, now_s: float) -> None:
        """Staff want it no more."""
        if self._phase in ("sending", "following"):
            self._stopped_by_hand = True
            self._give_up(now_s)

    def _send(self, now_s: float) -> None:
        program = self._program
        if program is None:
            return
        self._feed(program)
        if program.poll() is None:
            if now_s >= self._until_s:
                self._give_up(now_s)
            return
        found = _REQUEST.search(_said(program))
        if found is None:
            self._give_up(now_s)
            return
        self.job, self._phase, self._program = found.group(1), "following", None

    def _feed(self, program: subprocess.Popen[bytes]) -> None:
        """As much of the page as the program takes now; then its input is closed."""
        if program.stdin is None or program.stdin.closed:
            return
        try:
            while self._left:
                self._left = self._left[os.write(program.stdin.fileno(), self._left[:PIPE_BYTES]):]
            program.stdin.close()
        except BlockingIOError:
            return
        except OSError:
            self._left = b""  # the program has ended; its answer says why

    def _follow(self, now_s: float) -> None:
        program = self._program
        if program is None and now_s >= self._next_look_s:
            self._next_look_s = now_s + BETWEEN_LOOKS_S
            self._program = _started("lpstat", "-W", "not-completed", "-o", self.printer.name)
        elif program is not None and program.poll() is not None:
            self._looked(program)
        if self._phase == "following" and now_s >= self._until_s:
            self._give_up(now_s)

    def _looked(self, program: subprocess.Popen[bytes]) -> None:
        self._program = None
        if program.returncode == 0 and self.job not in _JOB.findall(_said(program)):
            badly = _ended_badly(self.printer.name, self.job)
            self._end(Refusal("printer_did_not_answer") if badly else "printed")

    def _give_up(self, now_s: float) -> None:
        """Take back what is known to be there; of a job without a name, all of ours at this printer."""
        _killed(self._program)
        known = (self.job,) if self.job else ("-a", self.printer.name)
        self._phase, self._until_s = "cancelling", now_s + LONGEST_QUESTION_S
        self._program = _started("cancel", "-x", *known)

    def _clear_up(self, now_s: float) -> None:
        program = self._program
        ended = program is None or program.poll() is not None
        if not ended and now_s < self._until_s:
            return
        _killed(program)
        cleared = program is not None and ended and program.returncode == 0
        if self.job and not cleared:
            self._end(Refusal("job_not_cancelled", {"job": self.job}))
        else:
            self._end(Refusal("print_cancelled" if self._stopped_by_hand else "printer_did_not_answer"))

    def _end(self, outcome: Literal["printed"] | Refusal) -> None:
        self.outcome, self._phase, self._program, self._left = outcome, "ended", None, b""


def save_page(folder: Path, tag: str, pdf: bytes) -> Path:
    """The page as a file named by its tag; a different page of that name is never written over.

    Refused `cannot_write`.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        place = _free_place(folder, tag, pdf)
        if not place.exists():
            with place.open("xb") as file:
                file.write(pdf)
                file.flush()
                os.fsync(file.fileno())
        return place
    except OSError as fault:
        raise Refused("cannot_write", {"file": f"{tag}.pdf", "why": fault.strerror or "no access"}) from fault


def _free_place(folder: Path, tag: str, pdf: bytes) -> Path:
    place, number = folder / f"{tag}.pdf", 1
    while place.exists() and place.read_bytes() != pdf:
        number += 1
        place = folder / f"{tag}-{number}.pdf"
    return place


def _ended_badly(printer: str, job: str) -> bool:
    """Whether the server says that a job that is no longer waiting was aborted or cancelled, not printed."""
    told = _asked("lpstat", "-l", "-W", "completed", "-o", printer)
    own = re.search(rf"^{re.escape(job)}\s.*?(?=^\S|\Z)", told, re.MULTILINE | re.DOTALL)
    return own is not None and re.search(r"abort|cancel", own.group(0)) is not None


def _asked(*command: str) -> str:
    """What a short question to the server answers, in the C locale."""
    try:
        done = subprocess.run(command, env=_environment(), stdin=subprocess.DEVNULL, capture_output=True,
                              timeout=LONGEST_QUESTION_S)
    except FileNotFoundError as fault:
        raise Refused("no_printer") from fault
    except subprocess.TimeoutExpired as fault:
        raise Refused("printer_did_not_answer") from fault
    return done.stdout.decode("utf-8", "replace")


def _started(*command: str) -> "subprocess.Popen[bytes] | None":
    """The program running, None where it is not installed. Only lp is given input."""
    given = subprocess.PIPE if command[0] == "lp" else subprocess.DEVNULL
    try:
        return subprocess.Popen(command, env=_environment(), stdin=given, stdout=subprocess.PIPE,
                                stderr=subprocess.DEVNULL)
    except FileNotFoundError:
        return None


def _said(program: "subprocess.Popen[bytes]") -> str:
    """All an ended program printed."""
    return "" if program.stdout is None else program.stdout.read().decode("utf-8", "replace")


def _killed(program: "subprocess.Popen[bytes] | None") -> None:
    if program is not None and program.poll() is None:
        program.kill()
        program.wait()


def _environment() -> dict[str, str]:
    return {**os.environ, "LC_ALL": "C"}
