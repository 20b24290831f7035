"""A site's own words, in files beside its store: the name of the place, and the leaflet's last sentence.

The file of sentences (kiosk.rights beside kiosk.store) has a line a language:

    en: You can ask the records office, room 2, to see what was kept about you.

A language's tag, a colon, one sentence of at most 200 characters. Empty lines and lines that begin with #
are passed over. Where the person's language has no line, the usual sentence stands.

Decisions page-10, storage-10.
"""

import re
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from kiosk.base.errors import Fault, FaultyFile

LONGEST: Final = 200  # characters of a sentence, and of the name of a place
_LINE: Final = re.compile(r"([a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*)\s*:\s*(\S.*)")


def place_beside(store: Path) -> Path:
    """Where the name of the place is kept."""
    return store.with_suffix(".place")


def place_named(path: Path) -> str:
    """The name of the place; empty where none can be read."""
    try:
        return path.read_text("utf-8").strip()[:LONGEST]
    except (OSError, ValueError):
        return ""


def sentences_beside(store: Path) -> Path:
    """Where the site's own sentences stand."""
    return store.with_suffix(".rights")


def own_sentences(path: Path) -> Mapping[str, str]:
    """The sentences by language; empty where there is no file. FaultyFile with every fault of the file."""
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError:
        return MappingProxyType({})
    except OSError as fault:
        raise FaultyFile([Fault(str(path), None, None, "cannot_be_read", fault.strerror)]) from fault
    except ValueError as fault:
        raise FaultyFile([Fault(str(path), None, None, "must_be_utf8_text")]) from fault
    found: dict[str, str] = {}
    faults = [_take(found, path, row, line) for row, line in _lines(text)]
    if any(faults):
        raise FaultyFile([one for one in faults if one is not None])
    return MappingProxyType(found)


def _lines(text: str) -> list[tuple[int, str]]:
    numbered = enumerate(map(str.strip, text.splitlines()), start=1)
    return [(row, line) for row, line in numbered if line and not line.startswith("#")]


def _take(found: dict[str, str], path: Path, row: int, line: str) -> Fault | None:
    """One line into what was found, or what is wrong with it."""
    said = _LINE.fullmatch(line)
    if said is None:
        return Fault(str(path), row, None, "must_be_a_language_and_a_sentence", line[:40])
    tag, sentence = said.groups()
    if tag in found:
        return Fault(str(path), row, None, "must_name_a_language_once", tag)
    if len(sentence) > LONGEST:
        return Fault(str(path), row, None, "must_be_short_enough", f"{len(sentence)}")
    found[tag] = sentence
    return None
