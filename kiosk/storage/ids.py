"""New identifiers: UUID version 7 (RFC 9562), from a clock and a source of random bytes, both arguments."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol
from uuid import UUID

_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_RANDOM_BITS: Final = 74
_RANDOM: Final = (1 << _RANDOM_BITS) - 1
_LOW_62: Final = (1 << 62) - 1


class RandomBytes(Protocol):
    """A source of random bytes, such as a numpy Generator."""

    def bytes(self, length: int, /) -> bytes:
        """So many random bytes."""


class IdSource:
    """Calling it gives a new id, always greater than the one before."""

    def __init__(self, now: Callable[[], datetime], rng: RandomBytes) -> None:
        self._now, self._rng = now, rng
        self._last = -1

    def __call__(self) -> UUID:
        """48 bits of milliseconds since 1970, 74 random bits; the last id plus one where that is smaller."""
        milliseconds = (self._now() - _EPOCH) // timedelta(milliseconds=1)
        drawn = int.from_bytes(self._rng.bytes(10), "big") & _RANDOM
        self._last = max(milliseconds << _RANDOM_BITS | drawn, self._last + 1)
        return _as_uuid7(self._last)


def _as_uuid7(number: int) -> UUID:
    milliseconds, drawn = number >> _RANDOM_BITS, number & _RANDOM
    return UUID(int=milliseconds << 80 | 0x7 << 76 | (drawn >> 62) << 64 | 0b10 << 62 | drawn & _LOW_62)
