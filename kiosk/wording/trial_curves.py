"""One trial's movement as the results draw it: arrays over time and over frequency."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class TrialCurves:
    """One trial's movement from instant to instant, and its spectrum; read-only.

    along_mm, across_mm (n,): from the disc as followed, its mean off, NaN where off the glass; hand_mm_s,
    disc_mm_s (n,). f_hz, power, fitted_power (k,): mm^2/Hz, empty where there was too little contact.
    """

    along_mm: NDArray[np.float64]
    across_mm: NDArray[np.float64]
    hand_mm_s: NDArray[np.float64]
    disc_mm_s: NDArray[np.float64]
    f_hz: NDArray[np.float64]
    power: NDArray[np.float64]
    fitted_power: NDArray[np.float64]
