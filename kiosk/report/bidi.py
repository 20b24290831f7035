"""Which way each letter of a line runs, and in which order its runs stand on paper.

The algorithm of Unicode Standard Annex 9 (rules W1-W7, N0-N2, I1, I2, L1, L2) for one line by itself. The
controls that embed, override or isolate are not used by our catalogues and are passed over like other
characters without a breadth; left-to-right and right-to-left marks count as letters. A level is even where
text runs from left to right, odd where from right to left.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from unicodedata import bidirectional

PAIRS = {"(": ")", "[": "]", "{": "}"}
DEEPEST = 63  # open brackets that are remembered (BD16)
_PASSED_OVER = {"BN", "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
_NEUTRAL = {"B", "S", "WS", "ON"}
_AS_STRONG = {"L": "L", "R": "R", "EN": "R", "AN": "R"}


@dataclass(frozen=True)
class Run:
    """Characters `start` to `end` (exclusive) of a line, all of one level."""

    start: int
    end: int
    level: int


def runs_in_order(text: str, direction: str) -> tuple[Run, ...]:
    """The runs of a line as they stand from left to right.

    Examples
    --------
    A number keeps its order inside words that run from right to left.

    >>> [(run.start, run.end, run.level) for run in runs_in_order("\\u0627\\u0628 123", "rtl")]
    [(3, 6, 2), (0, 3, 1)]
    """
    starts = levels(text, direction)
    runs, at = [], 0
    for level, same in groupby(starts):
        n = sum(1 for _ in same)
        runs.append(Run(at, at + n, level))
        at += n
    return tuple(_reordered(runs))


@lru_cache(maxsize=4096)
def levels(text: str, direction: str) -> tuple[int, ...]:
    """The level of every character of a line, in the order of the text."""
    base = 1 if direction == "rtl" else 0
    classes = [bidirectional(character) or "L" for character in text]
    kept = [place for place, one in enumerate(classes) if one not in _PASSED_OVER]
    resolved = _Line([text[place] for place in kept], [classes[place] for place in kept], base).levels()
    found, level = dict(zip(kept, resolved, strict=True)), base
    every = []
    for place in range(len(text)):
        level = found.get(place, level)
        every.append(level)
    return tuple(_rest_at_the_end(every, classes, base))


def _reordered(runs: list[Run]) -> list[Run]:
    """Rule L2: from the highest level down, reverse each stretch of runs at that level or above."""
    highest = max((run.level for run in runs), default=0)
    for level in range(highest, 0, -1):
        runs = _turned(runs, [run.level >= level for run in runs])
    return runs


def _turned(runs: list[Run], wanted: list[bool]) -> list[Run]:
    made: list[Run] = []
    at = 0
    for turn, group in groupby(wanted):
        stretch = runs[at : at + sum(1 for _ in group)]
        made += reversed(stretch) if turn else stretch
        at += len(stretch)
    return made


def _rest_at_the_end(every: list[int], classes: Sequence[str], base: int) -> list[int]:
    """Rule L1: spaces before a separator, or at the end of the line, take the line's own level."""
    resting = True
    for place in range(len(every) - 1, -1, -1):
        if classes[place] in ("S", "B"):
            resting = True
        elif classes[place] != "WS" and classes[place] not in _PASSED_OVER:
            resting = False
        if resting:
            every[place] = base
    return every


class _Line:
    """The classes of a line while the rules change them."""

    def __init__(self, letters: list[str], classes: list[str], base: int) -> None:
        self.letters, self.original, self.base = letters, tuple(classes), base
        self.classes = classes
        self.own = "R" if base else "L"

    def levels(self) -> list[int]:
        self._weak()
        for opening, closing in self._bracket_pairs():
            self._bracket_pair(opening, closing)
        self._neutral()
        return [self._level(one) for one in self.classes]

    def _level(self, one: str) -> int:
        """Rules I1 and I2."""
        if self.base:
            return 1 if one == "R" else 2
        return {"L": 0, "R": 1, "EN": 2, "AN": 2}[one]

    def _weak(self) -> None:
        self._marks_and_numbers()
        self._separators()
        self._terminators()
        strong = self.own
        for place, one in enumerate(self.classes):
            if one in ("ES", "ET", "CS"):
                self.classes[place] = "ON"  # W6
            elif one in ("L", "R"):
                strong = one
            elif one == "EN" and strong == "L":
                self.classes[place] = "L"  # W7

    def _marks_and_numbers(self) -> None:
        """Rules W1 to W3."""
        before, strong = self.own, self.own
        for place, one in enumerate(self.classes):
            if one == "NSM":
                one = before
            if one in ("L", "R", "AL"):
                strong = one
            elif one == "EN" and strong == "AL":
                one = "AN"
            self.classes[place] = before = one
        self.classes = ["R" if one == "AL" else one for one in self.classes]

    def _separators(self) -> None:
        """Rule W4: one separator between two numbers of one kind joins them."""
        for place in range(1, len(self.classes) - 1):
            before, one, after = self.classes[place - 1 : place + 2]
            if before == after and (one, before) in (("ES", "EN"), ("CS", "EN"), ("CS", "AN")):
                self.classes[place] = before

    def _terminators(self) -> None:
        """Rule W5: signs such as % and °, next to a number, belong to it."""
        for start, end in self._stretches({"ET"}):
            if "EN" in (self._class(start - 1), self._class(end)):
                self.classes[start:end] = ["EN"] * (end - start)

    def _neutral(self) -> None:
        """Rules N1 and N2."""
        for start, end in self._stretches(_NEUTRAL):
            before, after = (_AS_STRONG[self._class(place)] for place in (start - 1, end))
            self.classes[start:end] = [before if before == after else self.own] * (end - start)

    def _class(self, place: int) -> str:
        return self.classes[place] if 0 <= place < len(self.classes) else self.own

    def _stretches(self, among: set[str]) -> Iterator[tuple[int, int]]:
        at = 0
        for inside, group in groupby([one in among for one in self.classes]):
            n = sum(1 for _ in group)
            if inside:
                yield at, at + n
            at += n

    def _bracket_pairs(self) -> list[tuple[int, int]]:
        """BD16: opening and closing brackets that belong together, by where they open."""
        opened: list[tuple[str, int]] = []
        pairs: list[tuple[int, int]] = []
        for place, letter in enumerate(self.letters):
            if self.classes[place] != "ON":
                continue
            if letter in PAIRS:
                if len(opened) == DEEPEST:
                    return sorted(pairs)
                opened.append((PAIRS[letter], place))
            elif letter in PAIRS.values():
                match = next((n for n in range(len(opened) - 1, -1, -1) if opened[n][0] == letter), None)
                if match is not None:
                    pairs.append((opened[match][1], place))
                    del opened[match:]
        return sorted(pairs)

    def _bracket_pair(self, opening: int, closing: int) -> None:
        """Rule N0: both brackets take the direction of what they enclose, or of what stands before them."""
        inside = {_AS_STRONG[one] for one in self.classes[opening + 1 : closing] if one in _AS_STRONG}
        if not inside:
            return
        strong = self.own
        if self.own not in inside:
            before = (one for one in reversed(self.classes[:opening]) if one in _AS_STRONG)
            strong = _AS_STRONG[next(before, self.own)]
        for place in (opening, closing):
            self.classes[place] = strong
            for mark in range(place + 1, len(self.classes)):
                if self.original[mark] != "NSM":
                    break
                self.classes[mark] = strong
