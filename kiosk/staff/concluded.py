"""A concluded visit as staff look at it: its page in words, its findings, its paths over time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kiosk.visits.findings import Findings
from kiosk.wording.page_parts import PageContent
from kiosk.wording.trial_curves import TrialCurves


@dataclass(frozen=True, eq=False)
class ReplayTrial:
    """One trial of the first and of the latest visit, mm and seconds from the window's start.

    Arrays are read-only; first and latest are (t_s (n,), disc (n, 2), hand (n, 2)), first None where the
    earlier visit has no such trial. Hand is NaN where the finger was off the screen. curves: the latest's.
    """

    block: str
    number: int
    first: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None
    latest: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
    curves: TrialCurves | None = None


@dataclass(frozen=True, eq=False)
class Concluded:
    """The concluded visit at hand.

    reviewed: its page is signed. language: the person's at this visit, that of the leaflet. visit_dates: when
    the first and the latest visit took place. pdf: the page as it would be printed.
    """

    content: PageContent
    findings: Findings
    language: str
    reviewed: bool = False
    replay: tuple[ReplayTrial, ...] = ()
    visit_dates: tuple[str, str] = ("", "")
    pdf: bytes = b""

    @property
    def tag(self) -> str:
        """The page's tag."""
        return self.content.page_tag
