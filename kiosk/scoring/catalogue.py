"""Every score: its unit, which way is better, and the scale on which it is averaged and compared.

The only place that knows which way is better. Shares are in percent; a share's scale is the logit of the
share counted over N independent looks. Measure ids are BLOCK.HAND.SCORE.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from norms.table import PRIMARY_MEASURES

SCORING_VERSION: Final = 1
PRIMARY: Final = PRIMARY_MEASURES
LOOK_S: Final = 0.5  # the disc is looked at afresh about twice a second
WHOLE_PERCENT: Final = 100.0

Better = Literal["lower", "higher", "neither"]
Scale = Literal["log", "identity", "logit"]


@dataclass(frozen=True)
class ScoreKind:
    """One score; `decimals` is how many its unit deserves in print."""

    id: str
    unit: str
    better: Better
    scale: Scale
    decimals: int


KINDS: Final[Mapping[str, ScoreKind]] = MappingProxyType({kind.id: kind for kind in (
    ScoreKind("scatter", "mm", "lower", "log", 1),
    ScoreKind("lag", "ms", "lower", "identity", 0),
    ScoreKind("delay", "ms", "lower", "identity", 0),
    ScoreKind("prediction", "ms", "higher", "identity", 0),
    ScoreKind("error_rms", "mm", "lower", "log", 1),
    ScoreKind("time_on_target", "%", "higher", "logit", 0),
    ScoreKind("offset_x", "mm", "neither", "identity", 1),
    ScoreKind("offset_y", "mm", "neither", "identity", 1),
    ScoreKind("contact", "%", "neither", "identity", 0),
    ScoreKind("lifts", "", "neither", "identity", 0),
    ScoreKind("lift_share", "%", "neither", "identity", 0),
)})


def kind_of(measure: str) -> ScoreKind:
    """The kind of a score id or of a measure id; KeyError where there is none.

    >>> kind_of("steady.preferred.scatter").better
    'lower'
    """
    return KINDS[measure.rpartition(".")[2]]


def unit_of(measure: str) -> str:
    """The unit of a score id or of a measure id."""
    return kind_of(measure).unit


def looks(window_s: float) -> float:
    """N of a share of the window: how many independent looks it holds.

    >>> looks(16.0), looks(20.0)
    (32.0, 40.0)
    """
    return window_s / LOOK_S
