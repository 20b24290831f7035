"""The measures together: how many are low or changed, and in how many of 100 people that many are."""

from collections.abc import Sequence
from dataclasses import dataclass

from norms.change import Change
from norms.reasons import Refusal
from norms.standing import Standing
from norms.table import Table


@dataclass(frozen=True)
class Profile:
    """Low scores. `chances_percent[k-1]` = in about how many of 100 people k or more are low;
    `chance_percent` is the entry for `n_low` (for 1 where none is low)."""

    measures: tuple[str, ...]
    n_scored: int
    n_low: int
    low: tuple[str, ...]
    chance_percent: float
    chances_percent: tuple[float, ...]
    n_correlation: int
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class ChangeProfile:
    """Reliable changes. `chances_percent[k-1]` = in at most how many of 100 unchanged people k or more
    are reliably poorer (and as many better); the two chances are the entries for the counts (at least 1)."""

    measures: tuple[str, ...]
    n_compared: int
    n_worse: int
    worse: tuple[str, ...]
    n_better: int
    better: tuple[str, ...]
    chance_worse_percent: float
    chance_better_percent: float
    chances_percent: tuple[float, ...]
    n_correlation: int
    warnings: tuple[str, ...]


def profile(table: Table, standings: Sequence[Standing]) -> Profile | Refusal:
    """Count low scores and say how common that many are, for the very measures given."""
    raise NotImplementedError


def change_profile(table: Table, changes: Sequence[Change]) -> ChangeProfile | Refusal:
    """Count reliable changes and say how common that many are, for the very measures compared."""
    raise NotImplementedError
