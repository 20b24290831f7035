"""A plain chart with two axes, written as SVG text: lines, dots, bars, shaded bands and words.

Data coordinates go in, y up; the picture is 720 x 440 pixels. Lines are told apart by their words and their
dashes, not by colour alone. Colours are dark on white (contrast above 7:1 for words and lines).
"""

from collections.abc import Iterable, Sequence
from html import escape
from math import ceil, floor, inf, log10

WIDTH, HEIGHT = 720, 440
LEFT, RIGHT, TOP, BOTTOM = 76, 120, 44, 56
INK, GRID, BAND = "#1a1a1a", "#dddddd", "#e3ebf3"
WORDS_APART = 13
Ends = tuple[float, float]


class Chart:
    """One picture; parts are drawn in the order in which they are added."""

    def __init__(self, title: str, x_words: str, y_words: str, x: Ends, y: Ends) -> None:
        self.x, self.y = _wide(x), _wide(y)
        self._parts: list[str] = []
        self._beside: list[tuple[float, str]] = []
        self._frame(title, x_words, y_words)

    def line(self, points: Sequence[Ends], dashes: str = "", thick: float = 1.6) -> None:
        path = " ".join(f"{self._left(x):.2f},{self._top(y):.2f}" for x, y in points)
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        self._parts.append(f'<polyline points="{path}" fill="none" stroke="{INK}" '
                           f'stroke-width="{thick}"{dashed}/>')

    def band(self, low: float, high: float) -> None:
        """A shaded strip over the whole width."""
        self._box(self.x[0], self.x[1], low, high, BAND)

    def bar(self, x: Ends, height: float, shade: str = "#7d93a8") -> None:
        self._box(x[0], x[1], self.y[0], height, shade)

    def dot(self, x: float, y: float, radius: float = 3.5) -> None:
        self._parts.append(f'<circle cx="{self._left(x):.2f}" cy="{self._top(y):.2f}" r="{radius}" '
                           f'fill="white" stroke="{INK}" stroke-width="1.3"/>')

    def words_right(self, y: float, words: str) -> None:
        """Words beside the right edge at a height of the data, or a little above where it is taken."""
        self._beside.append((self._top(y) + 4, words))

    def svg(self) -> str:
        below = inf
        for top, words in sorted(self._beside, key=lambda one: -one[0]):
            below = min(top, below - WORDS_APART)
            self._words(WIDTH - RIGHT + 8, below, words)
        self._beside.clear()
        return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" '
                f'viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="12">\n'
                f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>\n'
                + "\n".join(self._parts) + "\n</svg>\n")

    def _frame(self, title: str, x_words: str, y_words: str) -> None:
        for value in ticks(*self.y):
            self._rule(LEFT, self._top(value), WIDTH - RIGHT, self._top(value))
            self._words(LEFT - 8, self._top(value) + 4, f"{value:g}", "end")
        for value in ticks(*self.x):
            self._rule(self._left(value), HEIGHT - BOTTOM, self._left(value), HEIGHT - BOTTOM + 5)
            self._words(self._left(value), HEIGHT - BOTTOM + 20, f"{value:g}", "middle")
        self._words(LEFT, 24, title, size=15)
        self._words((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 14, x_words, "middle")
        self._words(18, (TOP + HEIGHT - BOTTOM) / 2, y_words, "middle", turned=True)

    def _box(self, x_0: float, x_1: float, low: float, high: float, shade: str) -> None:
        left, top = self._left(x_0), self._top(high)
        self._parts.append(f'<rect x="{left:.2f}" y="{top:.2f}" width="{self._left(x_1) - left:.2f}" '
                           f'height="{max(self._top(low) - top, 0):.2f}" fill="{shade}"/>')

    def _rule(self, x_0: float, y_0: float, x_1: float, y_1: float) -> None:
        self._parts.append(f'<line x1="{x_0:.2f}" y1="{y_0:.2f}" x2="{x_1:.2f}" y2="{y_1:.2f}" '
                           f'stroke="{GRID}"/>')

    def _words(self, left: float, top: float, words: str, anchor: str = "start", size: int = 12,
               turned: bool = False) -> None:
        turn = f' transform="rotate(-90 {left:.2f} {top:.2f})"' if turned else ""
        self._parts.append(f'<text x="{left:.2f}" y="{top:.2f}" text-anchor="{anchor}" font-size="{size}" '
                           f'fill="{INK}"{turn}>{escape(words)}</text>')

    def _left(self, x: float) -> float:
        return LEFT + (x - self.x[0]) / (self.x[1] - self.x[0]) * (WIDTH - LEFT - RIGHT)

    def _top(self, y: float) -> float:
        return HEIGHT - BOTTOM - (y - self.y[0]) / (self.y[1] - self.y[0]) * (HEIGHT - TOP - BOTTOM)


def ticks(low: float, high: float, about: int = 6) -> list[float]:
    """Round numbers between two ends, 1, 2 or 5 apart at some power of ten.

    >>> ticks(18, 91)
    [20, 40, 60, 80]
    """
    rough = (high - low) / about
    power = 10.0 ** floor(log10(rough))
    step = next(power * part for part in (1, 2, 5, 10) if power * part >= rough)
    places = max(0, -floor(log10(step)))
    found = [round(step * k, places) for k in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]
    return [int(value) if places == 0 else value for value in found]


def ends(values: Iterable[float], margin: float = 0.06) -> Ends:
    """Lowest and highest with a margin."""
    found = list(values)
    spread = (max(found) - min(found)) * margin
    return min(found) - spread, max(found) + spread


def _wide(found: Ends) -> Ends:
    low, high = found
    return found if high - low > 1e-12 * max(abs(low), abs(high), 1e-9) else (low - 0.5, high + 0.5)
