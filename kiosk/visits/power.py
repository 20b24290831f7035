"""The battery, and whether it is enough for a visit.

Below 30 % and not charging nothing is handed over; below 10 % in a rest the visit pauses, kept as it is.
"""

from dataclasses import dataclass
from typing import Final

LEAST_TO_BEGIN_PERCENT: Final = 30.0
LEAST_TO_GO_ON_PERCENT: Final = 10.0


@dataclass(frozen=True)
class Power:
    """The battery: percent 0 to 100 and whether it charges; None = this machine has none or does not say."""

    percent: float | None = None
    charging: bool | None = None


def enough_to_begin(power: Power) -> bool:
    """Whether a visit may be handed over; a machine without a battery has enough."""
    return power.percent is None or power.charging is True or power.percent >= LEAST_TO_BEGIN_PERCENT


def must_pause(power: Power) -> bool:
    """Whether the visit pauses at the next rest.

    >>> must_pause(Power(9.0, False)), must_pause(Power(9.0, True)), must_pause(Power(10.0, False))
    (True, False, False)
    """
    return power.percent is not None and power.charging is not True and (
        power.percent < LEAST_TO_GO_ON_PERCENT)
