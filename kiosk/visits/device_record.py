"""The tablet as it is kept: its class, latency, calibration and checks. Pixels, millimetres, milliseconds.

A tablet's checks are the newest of touch and display, of the five crosses and of the lines; a tablet that was
never checked is not held back. Decision touch-7.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import hypot, sqrt
from typing import Final
from uuid import UUID

from kiosk.touch.latency import LEAST_READINGS, MOST_SD_MS
from kiosk.touch.slide import METHOD as BY_SLIDE
from kiosk.touch.verdict import DeviceReason, Verdict, worst

AGREE_SE: Final = 2.58           # 99 % of what two standard errors leave to chance
FRAME_MS: Final = 1000.0 / 240.0  # of a common slow-motion camera


@dataclass(frozen=True)
class Device:
    """A tablet. device_class is the panel kind named by the site; `simulated` is reserved."""

    id: UUID
    device_class: str
    label: str
    placement: str
    protector: str
    panel_px_w: int
    panel_px_h: int
    input_fuzz: float | None = None
    serial_sha256: str | None = None
    latency_ms: float | None = None
    latency_sd_ms: float | None = None
    latency_method: str | None = None


@dataclass(frozen=True)
class KeptLatency:
    """A latency as it was kept: of film or of a slide (method), with the SD of its passes or pairs."""

    latency_ms: float
    sd_ms: float | None
    method: str

    @property
    def se_ms(self) -> float:
        """At most the standard error: both methods average five or more; never less than a frame of film."""
        sd_ms = MOST_SD_MS if self.sd_ms is None else self.sd_ms
        return max(sd_ms / sqrt(LEAST_READINGS), FRAME_MS / sqrt(12.0))


def latency_that_counts(newest: Sequence[KeptLatency]) -> KeptLatency | None:
    """Of the newest latency of each method: film is the reference; where a slide does not agree, none counts.

    Decision touch-9.
    """
    film = next((one for one in newest if one.method != BY_SLIDE), None)
    slide = next((one for one in newest if one.method == BY_SLIDE), None)
    if film is None or slide is None:
        return film or slide
    apart_ms = abs(film.latency_ms - slide.latency_ms)
    return film if apart_ms <= AGREE_SE * hypot(film.se_ms, slide.se_ms) else None


@dataclass(frozen=True)
class CalibrationRecord:
    """A stored calibration: pixels a millimetre in both axes, and how it was found."""

    id: UUID
    device_id: UUID
    method: str
    px_per_mm_x: float
    px_per_mm_y: float
    window_px_w: int
    window_px_h: int
    readings: tuple[float, ...] = ()
    display: str = ""

    def fits(self, display: str, window_px: tuple[int, int]) -> bool:
        """Whether it still holds: the same display, and a window of the size it was found for.

        A resolution of which the window is only a part belongs in the display's name.
        """
        return (self.display, self.window_px_w, self.window_px_h) == (display, *window_px)


@dataclass(frozen=True)
class KeptCheck:
    """A check as it was kept; mean_offset_mm only of the crosses, response_ms only of lines."""

    id: UUID
    verdict: Verdict
    reasons: tuple[DeviceReason, ...]
    made_at: datetime
    mean_offset_mm: float | None = None
    response_ms: float | None = None


@dataclass(frozen=True)
class TabletChecks:
    """The newest check of each kind, None where there has been none."""

    panel: KeptCheck | None = None
    crosses: KeptCheck | None = None
    lines: KeptCheck | None = None

    @property
    def verdict(self) -> Verdict:
        """The strictest of them; pass where nothing was found."""
        return worst(self._reasons())

    @property
    def reason(self) -> DeviceReason | None:
        """The first of the reasons that make the verdict."""
        return next((one for one in self._reasons() if one.verdict == self.verdict), None)

    @property
    def refusal(self) -> DeviceReason | None:
        """Why nobody is tested on it; None where somebody may be."""
        return self.reason if self.verdict == "refuse" else None

    def _reasons(self) -> Iterator[DeviceReason]:
        for check in (self.panel, self.crosses, self.lines):
            yield from () if check is None else check.reasons
