"""README, SAFETY, DEVELOPERS and the handbook, and the command lines that stand in their blocks of code."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
README, DEVELOPERS, SAFETY = ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "SAFETY.md"
HANDBOOK = sorted((ROOT / "kiosk" / "handbook").glob("*.md"))
DECISIONS = sorted((ROOT / "kiosk" / "decisions").glob("*.md"))
DOCUMENTS = [README, DEVELOPERS, SAFETY, *HANDBOOK]
_OURS = re.compile(r"(kiosk|norms|python3?)\b")
_FENCE = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


def blocks(text: str) -> Iterator[str]:
    """The lines of code: those of fenced blocks, and all that are indented by four columns or more."""
    for fenced in _FENCE.findall(text):
        yield from fenced.splitlines()[1:-1]
    for line in _FENCE.sub("", text).splitlines():
        if line.startswith("    "):
            yield line.strip()


def commands(path: Path) -> list[str]:
    """The commands of ours in a document's code, as typed, without their comments."""
    return [
        shlex.join(words)
        for line in blocks(path.read_text("utf-8"))
        if _OURS.match(line) and (words := shlex.split(line, comments=True))
    ]


def arguments(command: str) -> list[str] | None:
    """What the kiosk's command line gets of a command; None where another program runs."""
    words = shlex.split(command)
    for before in (["python3", "kiosk"], ["python3", "-m", "kiosk"], ["kiosk"]):
        if words[: len(before)] == before:
            return words[len(before) :]
    for before in (["python3", "-m", "norms"], ["norms"]):
        if words[: len(before)] == before:
            return ["norms", *words[len(before) :]]
    return None
