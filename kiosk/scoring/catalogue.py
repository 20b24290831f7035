"""Every score: its unit, which way is better, and the scale on which it is averaged and compared.

The only place that knows which way is better. Shares are in percent; a share's scale is the logit of the
share counted over N independent looks. Measure ids are BLOCK.HAND.SCORE. A kind that is better neither way is
a fact: plotted and told, never set beside a reference table. tremor_excess is in nat, gain a plain ratio.

Decision scoring-10.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from norms.table.table import FOLLOW_LOOKS, PRIMARY_MEASURES

SCORING_VERSION: Final = 1
PRIMARY: Final = PRIMARY_MEASURES
LOOK_S: Final = 0.5  # the disc is looked at afresh about twice a second
WHOLE_PERCENT: Final = 100.0

ONLY_CIRCLES: Final = ("lag",)
ONLY_WANDERING: Final = ("delay", "follow")
OF_SEVERAL_BLOCKS: Final = ("prediction",)

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
    ScoreKind("follow", "%", "higher", "logit", 0),
    ScoreKind("prediction", "ms", "higher", "identity", 0),
    ScoreKind("error_rms", "mm", "lower", "log", 1),
    ScoreKind("time_on_target", "%", "higher", "logit", 0),
    ScoreKind("along_sd", "mm", "lower", "log", 1),
    ScoreKind("across_sd", "mm", "lower", "log", 1),
    ScoreKind("offset_x", "mm", "neither", "identity", 1),
    ScoreKind("offset_y", "mm", "neither", "identity", 1),
    ScoreKind("contact", "%", "neither", "identity", 0),
    ScoreKind("lifts", "", "neither", "identity", 0),
    ScoreKind("lift_share", "%", "neither", "identity", 0),
    ScoreKind("lag_as_recorded", "ms", "neither", "identity", 0),
    ScoreKind("delay_as_recorded", "ms", "neither", "identity", 0),
    ScoreKind("gain", "", "neither", "identity", 2),
    ScoreKind("stalls", "", "neither", "identity", 0),
    ScoreKind("stall_share", "%", "neither", "identity", 1),
    ScoreKind("tremor_hz", "Hz", "neither", "identity", 0),
    ScoreKind("tremor_mm", "mm", "neither", "identity", 1),
    ScoreKind("tremor_excess", "", "neither", "identity", 1),
    ScoreKind("practice", "%", "neither", "identity", 0),
    ScoreKind("hand_difference", "%", "neither", "identity", 0),
    ScoreKind("direction_difference", "%", "neither", "identity", 0),
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


def is_fact(measure: str) -> bool:
    """Whether a measure is a fact, without a standing.

    >>> is_fact("steady.preferred.gain"), is_fact("wander.preferred.follow")
    (True, False)
    """
    return kind_of(measure).better == "neither"


def trial_scores(circle: bool) -> tuple[str, ...]:
    """The scores of one trial that a table may judge, on a circle or on a wandering path.

    >>> trial_scores(True)
    ('scatter', 'lag', 'error_rms', 'time_on_target', 'along_sd', 'across_sd')
    """
    elsewhere = {*OF_SEVERAL_BLOCKS, *(ONLY_WANDERING if circle else ONLY_CIRCLES)}
    return tuple(name for name in KINDS if not is_fact(name) and name not in elsewhere)


def looks(window_s: float, score: str = "time_on_target") -> float:
    """N of a share: how many independent looks the window holds; 20 for the share of variance, follow.

    >>> looks(16.0), looks(20.0), looks(20.0, "follow")
    (32.0, 40.0, 20.0)
    """
    return FOLLOW_LOOKS if score == "follow" else window_s / LOOK_S
