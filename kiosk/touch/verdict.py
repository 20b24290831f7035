"""The verdict of a tablet check: pass, warn or refuse, with a reason for each figure beyond its threshold."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

Verdict = Literal["pass", "warn", "refuse"]
_ROUNDING: Final = 1e-9  # a figure on its threshold is not beyond it


@dataclass(frozen=True)
class DeviceReason:
    """One figure beyond its threshold: a code, its values, and the verdict that it leads to."""

    code: str
    values: Mapping[str, object] = field(default_factory=dict)
    verdict: Verdict = "warn"


def worst(reasons: Iterable[DeviceReason]) -> Verdict:
    """The strictest verdict of all reasons; pass where there is none.

    >>> worst([]), worst([DeviceReason("a")]), worst([DeviceReason("a"), DeviceReason("b", {}, "refuse")])
    ('pass', 'warn', 'refuse')
    """
    found = {reason.verdict for reason in reasons}
    return "refuse" if "refuse" in found else "warn" if "warn" in found else "pass"


def above(value: float, most: float) -> bool:
    """Beyond an upper threshold."""
    return value > most + _ROUNDING * max(abs(most), 1.0)


def below(value: float, least: float) -> bool:
    """Beyond a lower threshold."""
    return value < least - _ROUNDING * max(abs(least), 1.0)
