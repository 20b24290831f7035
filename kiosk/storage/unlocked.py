"""The open store of a kiosk, let go of when nobody touches it or a PIN is guessed at.

Seconds of any one clock. A running visit is never locked in its middle. When the store is let go of its
connections close and its keys are dropped; only a passphrase brings it back. A PIN re-opens the screen while
the store is still open, and nothing else.
"""

from collections.abc import Callable
from typing import Final

from kiosk.base.errors import Refused
from kiosk.storage.keys import StoreKeys
from kiosk.storage.store import Store

IDLE_S: Final = 15 * 60.0
MOST_WRONG_PINS: Final = 5


class Unlocked:
    """A store and its keys while they may be used."""

    def __init__(self, store: Store, keys: StoreKeys, now_s: float,
                 before: Callable[[], None] = lambda: None) -> None:
        self._store: Store | None = store
        self._before = before
        self._keys: StoreKeys | None = keys
        self._touched_s, self._wrong_pins = now_s, 0

    @property
    def store(self) -> Store:
        """The store; Refused `store_locked` once it was let go of."""
        if self._store is None:
            raise Refused("store_locked")
        return self._store

    @property
    def keys(self) -> StoreKeys:
        """Its keys; Refused `store_locked` once they were dropped."""
        if self._keys is None:
            raise Refused("store_locked")
        return self._keys

    @property
    def open(self) -> bool:
        """Whether it may still be used."""
        return self._store is not None

    def touched(self, now_s: float) -> None:
        """Someone touched the screen."""
        self._touched_s = now_s

    def take_over(self, store: Store) -> None:
        """The same store in the name of another account."""
        if self._store is not None:
            self._store = store

    def pass_time(self, now_s: float, *, in_visit: bool) -> bool:
        """Let go after 15 minutes untouched, never in a visit; whether it is still open."""
        if in_visit:
            self._touched_s = now_s
        elif now_s - self._touched_s >= IDLE_S:
            self.let_go()
        return self.open

    def pin_tried(self, right: bool) -> bool:
        """Count wrong PINs in a row; the fifth lets go. Whether it is still open."""
        self._wrong_pins = 0 if right else self._wrong_pins + 1
        if self._wrong_pins >= MOST_WRONG_PINS:
            self.let_go()
        return self.open

    def let_go(self) -> None:
        """Close the store and drop the keys; whatever still writes is ended before."""
        if self._store is not None:
            self._before()
            self._store.close()
        self._store = self._keys = None
