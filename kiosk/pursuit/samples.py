"""Touch samples: as the glass gave them, and in millimetres.

RawTouch holds device units and nanoseconds of one monotonic clock. Samples holds seconds since the disc set
off (negative: before) and millimetres, y up, origin at the field's centre. contact False marks a lift; the
position of a lifted sample is where the finger last was. Arrays are read-only, equally long, sorted by time;
no NaN.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AxisRanges:
    """Raw values at the panel's edges: left, right, bottom, top (an axis may run either way)."""

    left: float
    right: float
    bottom: float
    top: float


@dataclass(frozen=True)
class WindowRect:
    """The window on the panel in pixels, origin at the panel's bottom left."""

    left_px: int
    bottom_px: int
    width_px: int
    height_px: int
    panel_width_px: int
    panel_height_px: int


@dataclass(frozen=True)
class RawTouch:
    """One contact's samples in device units: t_ns int64, x_raw, y_raw float64, contact bool, each (n,)."""

    t_ns: NDArray[np.int64]
    x_raw: Floats
    y_raw: Floats
    contact: NDArray[np.bool_]
    ranges: AxisRanges
    window: WindowRect

    def __post_init__(self) -> None:
        freeze(self, {"t_ns": np.int64, "x_raw": np.float64, "y_raw": np.float64, "contact": np.bool_})


@dataclass(frozen=True)
class Samples:
    """Samples in millimetres: t_s, x_mm, y_mm float64 and contact bool, each of shape (n,)."""

    t_s: Floats
    x_mm: Floats
    y_mm: Floats
    contact: NDArray[np.bool_]

    def __post_init__(self) -> None:
        freeze(self, {"t_s": np.float64, "x_mm": np.float64, "y_mm": np.float64, "contact": np.bool_})


def freeze(owner: object, columns: dict[str, type[np.generic]]) -> None:
    """Replace the named fields by read-only arrays of the given types, all of one length.

    Raises ValueError naming the columns when their lengths differ.
    """
    lengths = {}
    for name, kind in columns.items():
        array = np.array(getattr(owner, name), dtype=kind)
        array.setflags(write=False)
        object.__setattr__(owner, name, array)
        lengths[name] = array.shape
    if len(set(lengths.values())) > 1:
        raise ValueError(f"columns of one recording must be equally long, got {lengths}")
