"""Contacts besides the one that owns the trial: how many, and for how long. Seconds of the one clock."""


class OtherContacts:
    """Counts the contacts that are not the owner's and keeps when at least one of them was down."""

    def __init__(self) -> None:
        self.down: set[int] = set()
        self.touches = 0
        self._spells_s: list[tuple[float, float]] = []
        self._since_s = 0.0

    def begin(self, t_s: float) -> None:
        """Count from here: only contacts that are still down remain."""
        self._spells_s, self._since_s, self.touches = [], t_s, len(self.down)

    def feed(self, t_s: float, contact: bool, identity: int) -> None:
        """One sample of another contact."""
        if not contact:
            self.forget(t_s, identity)
        elif identity not in self.down:
            self._since_s = self._since_s if self.down else t_s
            self.down.add(identity)
            self.touches += 1

    def forget(self, t_s: float, identity: int) -> None:
        """This contact has lifted, or has become the owner's."""
        if identity in self.down:
            self.down.discard(identity)
            if not self.down:
                self._spells_s.append((self._since_s, t_s))

    def seconds_down(self, start_s: float, end_s: float, now_s: float) -> float:
        """Seconds between start_s and end_s with at least one other contact down, as known at now_s."""
        spells_s = [*self._spells_s, *([(self._since_s, now_s)] if self.down else [])]
        return sum((max(min(to_s, end_s) - max(from_s, start_s), 0.0) for from_s, to_s in spells_s), 0.0)
