"""A simulated touch panel: true positions of a fingertip in, the reports of a panel with known faults out.

Millimetres and seconds as in Samples. The true movement should be sampled at 240 a second or more. Every draw
comes from the generator passed in. Invented panels: no real one was measured for them.
"""

from dataclasses import dataclass, fields
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from kiosk.pursuit.samples import AxisRanges, Floats, Samples, WindowRect
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Touch

MOVING_MM_S: Final = 5.0
OTHER_IDENTITY: Final = 1
STAMP_STEP_S: Final = 1e-6  # reports of one cluster, apart


@dataclass(frozen=True)
class SimulatedPanel:
    """A panel and its faults; the defaults are a panel without any.

    latency_s: a report holds the place where the finger was so long before its stamp; picture and touch
    together. smoothing_s: time constant of a first-order filter, which adds about as much.
    jitter_mm, moving_jitter_mm: SD on one axis of white noise, always and only while the finger moves,
    before the filter.
    gap_s every gap_every_s: nothing is reported. cluster: so many reports share the last one's stamp.
    edge_bias_mm: how far a touch at the panel's edge is pulled inwards; it falls to none over edge_mm.
    dead_rows_mm: in this band of y the contact is lost. palm_s: between these moments a palm rests on the
    panel. half_mm: half the panel's width and height.
    """

    rate_hz: float = 120.0
    latency_s: float = 0.0
    smoothing_s: float = 0.0
    jitter_mm: float = 0.0
    moving_jitter_mm: float = 0.0
    gap_s: float = 0.0
    gap_every_s: float = 1.0
    cluster: int = 1
    edge_bias_mm: float = 0.0
    edge_mm: float = 15.0
    dead_rows_mm: tuple[float, float] | None = None
    palm_s: tuple[float, float] | None = None
    half_mm: tuple[float, float] = (109.0, 68.0)

    def __post_init__(self) -> None:
        for name in (field.name for field in fields(self)):
            value = getattr(self, name)
            if isinstance(value, int | float) and not (np.isfinite(value) and value >= 0):
                raise ValueError(f"{name} must be finite and not below 0, got {value!r}")
        for name in ("rate_hz", "gap_every_s", "edge_mm", "cluster"):
            if not getattr(self, name) > 0:
                raise ValueError(f"{name} must be above 0, got {getattr(self, name)!r}")

    @property
    def delay_s(self) -> float:
        """How late an even movement is reported: latency, filter and the wait for the last of a cluster.

        A first-order filter with weight a trails a ramp by (1 - a)/a reports (Oppenheim and Schafer,
        Discrete-Time Signal Processing: group delay at frequency 0, from memory).
        """
        weight = 1.0 if self.smoothing_s == 0 else 1 - np.exp(-1 / (self.rate_hz * self.smoothing_s))
        return float(self.latency_s + ((1 - weight) / weight + (self.cluster - 1) / 2) / self.rate_hz)


def reported(hand: Samples, panel: SimulatedPanel, rng: Generator) -> Samples:
    """What the panel reports of this movement, with one row where a contact ends, as a device gives it."""
    t_s = hand.t_s[0] + panel.latency_s + rng.uniform() / panel.rate_hz + (
        np.arange(int((hand.t_s[-1] - hand.t_s[0]) * panel.rate_hz) + 1) / panel.rate_hz)
    then_s = t_s - panel.latency_s
    at = np.clip(np.searchsorted(hand.t_s, then_s, side="right") - 1, 0, hand.t_s.size - 1)
    x_mm, y_mm = np.interp(then_s, hand.t_s, hand.x_mm), np.interp(then_s, hand.t_s, hand.y_mm)
    down = hand.contact[at]
    if panel.dead_rows_mm is not None:
        low_mm, high_mm = panel.dead_rows_mm
        down = down & ~((y_mm >= low_mm) & (y_mm <= high_mm))
    moving = np.hypot(np.gradient(x_mm, t_s), np.gradient(y_mm, t_s)) > MOVING_MM_S
    x_mm, y_mm = (_pulled_in(
        _smoothed(_with_jitter(one, moving, panel, rng), down, panel), half_mm, panel)
        for one, half_mm in zip((x_mm, y_mm), panel.half_mm, strict=True))
    ends = ~down & np.concatenate([[False], down[:-1]])
    given = (down & ~_in_gap(t_s, panel, rng)) | ends
    held = np.arange(t_s.size) - ends  # a contact ends where it was last
    return Samples(_stamped(t_s[given], panel), x_mm[held][given], y_mm[held][given], down[given])


def _smoothed(place_mm: Floats, down: NDArray[np.bool_], panel: SimulatedPanel) -> Floats:
    """First-order low-pass filter that starts anew with every contact."""
    if panel.smoothing_s == 0:
        return place_mm
    share = 1 - np.exp(-1 / (panel.rate_hz * panel.smoothing_s))
    out = place_mm.copy()
    for at in range(1, out.size):
        if down[at] and down[at - 1]:
            out[at] = out[at - 1] + share * (place_mm[at] - out[at - 1])
    return out


def _pulled_in(place_mm: Floats, half_mm: float, panel: SimulatedPanel) -> Floats:
    near = np.clip((np.abs(place_mm) - half_mm + panel.edge_mm) / panel.edge_mm, 0.0, 1.0)
    return place_mm - np.sign(place_mm) * panel.edge_bias_mm * near


def _with_jitter(place_mm: Floats, moving: NDArray[np.bool_], panel: SimulatedPanel,
                 rng: Generator) -> Floats:
    return (place_mm + panel.jitter_mm * rng.standard_normal(place_mm.size)
            + panel.moving_jitter_mm * moving * rng.standard_normal(place_mm.size))


def _in_gap(t_s: Floats, panel: SimulatedPanel, rng: Generator) -> NDArray[np.bool_]:
    phase_s: Floats = (t_s - t_s[0] + rng.uniform() * panel.gap_every_s) % panel.gap_every_s
    return np.less(phase_s, panel.gap_s)


def _stamped(t_s: Floats, panel: SimulatedPanel) -> Floats:
    """Time stamps as they arrive: all reports of a cluster with its last one, kept in order."""
    order = np.arange(t_s.size)
    last = np.minimum((order // panel.cluster + 1) * panel.cluster, t_s.size) - 1
    stamped: Floats = t_s[last] - (last - order) * STAMP_STEP_S
    return stamped


def touches(hand: Samples, panel: SimulatedPanel, calibration: Calibration, ranges: AxisRanges,
            window: WindowRect, set_off_ns: int, rng: Generator) -> list[Touch]:
    """The same as touches of a capture, sorted; a palm rests near the panel's first corner."""
    seen = reported(hand, panel, rng)
    x_raw, y_raw = calibration.to_raw(seen.x_mm, seen.y_mm, ranges, window)
    t_ns = set_off_ns + np.rint(seen.t_s * 1e9).astype(np.int64)
    found = [Touch(int(at), float(x), float(y), bool(contact))
             for at, x, y, contact in zip(t_ns, x_raw, y_raw, seen.contact, strict=True)]
    if panel.palm_s is not None:
        palm_x, palm_y = (from_ + 0.1 * (to - from_) for from_, to in (
            (ranges.left, ranges.right), (ranges.bottom, ranges.top)))
        found += [Touch(set_off_ns + round(at_s * 1e9), palm_x, palm_y, contact, OTHER_IDENTITY, "palm")
                  for at_s, contact in zip(panel.palm_s, (True, False), strict=True)]
    return sorted(found, key=lambda touch: touch.t_ns)
