"""The scores of one trial and of a block, as they travel between rooms.

Values in the unit of the scoring catalogue, unrounded; None where not scored, with the reason as a code.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Scored:
    """One figure: value and its standard error in the unit, or None and a reason code."""

    value: float | None
    se: float | None = None
    reason: str | None = None


@dataclass(frozen=True)
class Reason:
    """A reason or caution: a code with the values that words need."""

    code: str
    values: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True)
class Validity:
    """Whether a trial is fit to be scored: reasons make it invalid, cautions travel with it."""

    valid: bool
    reasons: tuple[Reason, ...] = ()
    cautions: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class ErrorSpectrum:
    """Power of the error in x and y together: f_hz and power (mm^2/Hz), each of shape (n,).

    segments: how many stretches on the glass it is the mean of. not_sized: why the size of a shake cannot be
    told (too few touches a second, an input filter that is not known), or None.
    """

    f_hz: NDArray[np.float64]
    power: NDArray[np.float64]
    segments: int
    not_sized: str | None = None


@dataclass(frozen=True)
class TrialScores:
    """Every score of one trial by score id (scatter, lag, ...), with its validity.

    spectrum is there only as long as the recording is at hand: it is not kept, and not compared.
    """

    values: Mapping[str, Scored]
    validity: Validity
    spectrum: ErrorSpectrum | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True)
class BlockScore:
    """A block's score: `value` in the unit, `scaled` the mean of the trials on the norm scale, `se` on it.

    trial_variance is the sample variance of the trials on the scale (None below two); unit as in the
    catalogue.
    """

    measure: str
    value: float | None
    scaled: float | None
    se: float | None
    n_trials: int
    unit: str
    reason: str | None = None
    trial_variance: float | None = None
