"""A keyboard or a scanner: characters typed, then Enter, told as one text; every other key does nothing.

Listens at all times; the stage says whether the screen shown wants the text. Escape and function keys are
swallowed, so that no key leads out of the kiosk.
"""

from collections.abc import Callable
from typing import Any, Final

ENTER: Final = (13, 271)
BACKSPACE: Final = 8
MOST_CHARACTERS: Final = 64


class Keyboard:
    """What is typed on one window."""

    def __init__(self, window: Any, typing: Callable[[str], None], entered: Callable[[str], None]) -> None:
        self._window, self._typing, self._entered = window, typing, entered
        self.text = ""
        self._listeners = {"on_key_down": self._key, "on_textinput": self._input}
        window.bind(**self._listeners)

    def clear(self) -> None:
        """Forget what was typed."""
        self.text = ""

    def close(self) -> None:
        """Listen no more."""
        self._window.unbind(**self._listeners)

    def _input(self, _window: Any, text: str) -> None:
        typed = "".join(letter for letter in text if letter.isprintable())
        self._set((self.text + typed)[:MOST_CHARACTERS])

    def _key(self, _window: Any, key: int, *_rest: Any) -> bool:
        """Enter tells the text, backspace takes one back; True = nobody else hears of the key."""
        if key in ENTER and self.text:
            text, self.text = self.text, ""
            self._entered(text)
        elif key == BACKSPACE and self.text:
            self._set(self.text[:-1])
        return True

    def _set(self, text: str) -> None:
        self.text = text
        self._typing(text)
