"""The unlocked store of a kiosk, locked again when nobody touches the screen or after wrong PINs.

Seconds of any one clock. It is never locked during a visit. Locking closes the store's connections and drops
its keys; only a passphrase opens it again. A PIN re-opens the screen while the store is unlocked.
"""

from collections.abc import Callable
from typing import Final

from kiosk.base.errors import Refused
from kiosk.storage.keys import StoreKeys
from kiosk.storage.store import Store

IDLE_S: Final = 15 * 60.0
MOST_WRONG_PINS: Final = 5


class UnlockedStore:
    """A store and its keys until they are locked. before_lock: called before the store is closed."""

    def __init__(self, store: Store, keys: StoreKeys, now_s: float,
                 before_lock: Callable[[], None] = lambda: None) -> None:
        self._store: Store | None = store
        self._before_lock = before_lock
        self._keys: StoreKeys | None = keys
        self._touched_s, self._wrong_pins = now_s, 0

    @property
    def store(self) -> Store:
        """The store; Refused `store_locked` once it is locked."""
        if self._store is None:
            raise Refused("store_locked")
        return self._store

    @property
    def keys(self) -> StoreKeys:
        """Its keys; Refused `store_locked` once it is locked."""
        if self._keys is None:
            raise Refused("store_locked")
        return self._keys

    @property
    def open(self) -> bool:
        """Whether it is still unlocked."""
        return self._store is not None

    def touched(self, now_s: float) -> None:
        """Someone touched the screen."""
        self._touched_s = now_s

    def take_over(self, store: Store) -> None:
        """Use the same store for another account."""
        if self._store is not None:
            self._store = store

    def pass_time(self, now_s: float, *, in_visit: bool) -> bool:
        """Lock after 15 minutes without a touch, never in a visit; returns whether it is still unlocked."""
        if in_visit:
            self._touched_s = now_s
        elif now_s - self._touched_s >= IDLE_S:
            self.lock()
        return self.open

    def pin_tried(self, right: bool) -> bool:
        """Count wrong PINs in a row and lock at the fifth; returns whether it is still unlocked."""
        self._wrong_pins = 0 if right else self._wrong_pins + 1
        if self._wrong_pins >= MOST_WRONG_PINS:
            self.lock()
        return self.open

    def lock(self) -> None:
        """Close the store and drop the keys."""
        if self._store is not None:
            self._before_lock()
            self._store.close()
        self._store = self._keys = None
