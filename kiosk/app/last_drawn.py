"""What was drawn last: the same screen is not drawn anew while it shows the same, or under a finger.

Decision screens-11.
"""


class LastDrawn:
    """A screen by its name, and all that it shows."""

    def __init__(self) -> None:
        self._screen = ""
        self._shown: object = None

    def forget(self) -> None:
        """Something changed, or another picture lay over it: it is drawn anew, yet not under a finger."""
        self._shown = None

    def takes(self, screen: str, shown: object, *, pressed: bool) -> bool:
        """Whether this is to be drawn now.

        A button under a finger stays until it lifts, else the press would be lost; another screen does not
        wait.
        """
        if shown == self._shown or (pressed and screen == self._screen):
            return False
        self._screen, self._shown = screen, shown
        return True
