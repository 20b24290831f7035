"""What the page says and draws: words ready, numbers rounded, plot coordinates as plain numbers.

Screens and page read these types and add no words of their own. Coordinates: z* and other z are plain
deviates (below 0 = poorer, rises to the right); days count from the first visit shown; paths are
millimetres on the glass, y up, arrays of shape (n, 2), a row of NaN breaks the line (finger off the
glass). None stands where there is nothing to draw; an empty string where there is nothing to say.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Mark = Literal["", "poorer", "better", "ahead"]
DotState = Literal["scored", "not_scored", "not_done"]


@dataclass(frozen=True)
class Labelled:
    """A value under its label: Code / K-0412-7."""

    label: str
    value: str


@dataclass(frozen=True)
class Tick:
    """A number on an axis of z and where it stands."""

    z: float
    text: str


@dataclass(frozen=True)
class TrialDots:
    """The trials of one block in order of testing, under the block's name."""

    label: str
    dots: tuple[DotState, ...]


@dataclass(frozen=True)
class Fit:
    """Fit to read? The answer, the dots, facts of the recording, and notes in whole sentences."""

    title: str
    answer: str
    groups: tuple[TrialDots, ...]
    facts: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Headline:
    """One of the two sentences at the top: its word (Today, Change), the sentence, and its chance.

    `brief`: the sentence without names, where there is less room.
    """

    word: str
    sentence: str
    chance: str
    brief: str = ""


@dataclass(frozen=True)
class MeasureRow:
    """One primary measure.

    `value` with its unit; `usual` the range of 80 of 100; `percentile` and `interval` bare numbers;
    `standing` the label with its standard score. z_star, interval_z (of the reference group), own_z (of the
    person's own measurement error) and z_before are for the plot. `low` as the sentence at the top counts it.
    `z_text` stands beside a mark that lies beyond the scale; `short_reason` on the scale where there is no
    standing (the notes of the profile say why).
    """

    measure: str
    name: str
    value: str
    usual: str
    percentile: str
    interval: str
    label: str
    standard_score: str
    z_star: float | None
    interval_z: tuple[float, float] | None
    z_before: float | None
    low: bool = False
    own_z: tuple[float, float] | None = None
    z_text: str = ""
    short_reason: str = ""


@dataclass(frozen=True)
class ScaleWords:
    """The words around the profile scale and the heads of its columns."""

    title: str
    today: str
    usual_range: str
    poorer: str
    usual: str
    better: str
    percentile: str
    standing: str


@dataclass(frozen=True)
class Profile:
    """The primary measures together; `reference` names the reference group.

    `keys` explain the marks: the label names the mark to draw (dot, ring, whisker, poorer, better).
    """

    words: ScaleWords
    ticks: tuple[Tick, ...]
    rows: tuple[MeasureRow, ...]
    keys: tuple[Labelled, ...]
    notes: tuple[str, ...]
    reference: str


@dataclass(frozen=True)
class ValueTable:
    """Values and own history, shown where nothing can be compared: one column a visit, oldest first."""

    title: str
    explanation: str
    heads: tuple[str, ...]
    names: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class ChangeRow:
    """One measure then and now: values with units, expected value and limits, and the reading in words."""

    measure: str
    name: str
    before: str
    today: str
    expected: str
    limits: str
    reading: str
    mark: Mark


@dataclass(frozen=True)
class ChartPoint:
    """One visit on the chart: days since the first visit shown, z*, and its date in words."""

    day: float
    z: float
    date: str


@dataclass(frozen=True)
class ChangeChart:
    """One measure over the visits; limits_z hold for the latest visit's date only."""

    title: str
    ticks: tuple[Tick, ...]
    points: tuple[ChartPoint, ...]
    limits_z: tuple[float, float] | None
    limits_key: str


@dataclass(frozen=True)
class ChangeSection:
    """Change since an earlier visit. Without rows, `notes` say why there is none."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[ChangeRow, ...]
    chart: ChangeChart | None
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class PathFigure:
    """The disc's path and the hand's in one trial, mm, shape (n, 2)."""

    label: str
    target_xy_mm: NDArray[np.float64]
    hand_xy_mm: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("target_xy_mm", "hand_xy_mm"):
            object.__setattr__(self, name, _read_only_points(name, getattr(self, name)))


@dataclass(frozen=True)
class PathSection:
    """The paths in order of testing."""

    title: str
    explanation: str
    figures: tuple[PathFigure, ...]


@dataclass(frozen=True)
class SignOff:
    """Who takes the page over: labels of the lines, and the state of review."""

    clinician: str
    signature: str
    date: str
    state: str


@dataclass(frozen=True)
class PageContent:
    """Everything the page shows. Exactly one of `profile` and `values` is there.

    `watermark` holds the words across the page of a synthetic table, one a line, else none.
    """

    language: str
    script: str
    direction: str
    title: str
    subtitle: str
    place: str
    when: str
    tag_label: str
    page_tag: str
    page_number: str
    identity: tuple[Labelled, ...]
    visit_line: str
    fit: Fit
    headlines: tuple[Headline, ...]
    profile: Profile | None
    values: ValueTable | None
    change: ChangeSection | None
    paths: PathSection
    conditions: tuple[Labelled, ...]
    cautions_title: str
    cautions: tuple[str, ...]
    sign_off: SignOff
    footer: str
    watermark: tuple[str, ...] = ()


@dataclass(frozen=True)
class PaperPixels:
    """A printed page as it will look: its sizes on paper and in pixels, RGB bytes in rows from the top."""

    width_mm: float
    height_mm: float
    width_px: int
    height_px: int
    rgb: bytes


def _read_only_points(name: str, points: NDArray[np.float64]) -> NDArray[np.float64]:
    array = np.array(points, dtype=np.float64)
    if array.ndim != 2 or array.shape[1] != 2:
        raise ValueError(f"{name}, must have the shape (n, 2), got {array.shape}")
    array.setflags(write=False)
    return array
