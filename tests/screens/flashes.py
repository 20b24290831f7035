"""How often each small square of the window flashes within a second, counted from its pixels frame by frame.

A flash is a pair of opposing changes in relative luminance of a tenth of the whole range or more, where the
darker state is below 0.80: the general flash of WCAG 2.2, success criterion 2.3.1 (ITU-R BT.1702 has the same
rule, with 20 cd/m2 and 160 cd/m2). Both allow more than three a second where all that flashes is smaller than
0.006 sr, a quarter of ten degrees: 540 mm2 at 300 mm. Ours is a quarter of that, 135 mm2, less than the ring
of the contact cue: a disc with its ring and a hand that pass by change a few squares four times in a second.
Squares are 5.4 mm wide on panel A. Luminance 0 to 1; shapes (frames, squares). Decision tests-2.
"""

from collections import deque

import numpy as np

LEAST_CHANGE, BRIGHT = 0.10, 0.80
MOST_A_SECOND, LESS_THAN_MM2 = 3, 0.25 * 0.006 * 300**2
SQUARE_PX = 32
SQUARE_MM2 = (SQUARE_PX / 5.88) ** 2
_LINEAR = np.array([c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
                    for c in np.arange(256) / 255], dtype=np.float32)
_WEIGHTS = [(_LINEAR * weight).astype(np.float32) for weight in (0.2126, 0.7152, 0.0722)]


def squares(rgba, width=1280, height=800):
    """Mean relative luminance of each square of a frame, (squares,)."""
    pixels = np.frombuffer(rgba, dtype=np.uint8).reshape(height, width, 4)[::2, ::2]
    light = sum(weight[pixels[..., channel]] for channel, weight in enumerate(_WEIGHTS))
    half = SQUARE_PX // 2
    return light.reshape(height // SQUARE_PX, half, width // SQUARE_PX, half).mean(axis=(1, 3)).ravel()


class Flashes:
    """Fed with a frame's luminances at a time, it keeps the most flashes a second of every square."""

    def __init__(self, frames_a_second):
        self._recent = deque(maxlen=frames_a_second)
        self._low = self._high = None

    def add(self, light):
        if self._low is None:
            self._low, self._high = light.copy(), light.copy()
            self._way = np.zeros(light.shape, dtype=int)
            self._in_second, self.most = np.zeros(light.shape, dtype=int), np.zeros(light.shape, dtype=int)
        rises = (light - self._low >= LEAST_CHANGE) & (self._low < BRIGHT) & (self._way <= 0)
        falls = (self._high - light >= LEAST_CHANGE) & (light < BRIGHT) & (self._way >= 0) & ~rises
        self._way = np.where(rises, 1, np.where(falls, -1, self._way))
        turned = rises | falls
        self._low = np.where(turned, light, np.minimum(self._low, light))
        self._high = np.where(turned, light, np.maximum(self._high, light))
        if len(self._recent) == self._recent.maxlen:
            self._in_second -= self._recent[0]
        self._recent.append(turned)
        self._in_second += turned
        self.most = np.maximum(self.most, self._in_second)

    @property
    def worst(self):
        """Flashes in the worst second of the worst square: two changes make one."""
        return int(self.most.max()) // 2

    @property
    def area_mm2(self):
        """How much of the glass flashed more than three times in some second."""
        return float(np.count_nonzero(self.most // 2 > MOST_A_SECOND) * SQUARE_MM2)


def flashes_of(course, frames_a_second):
    """The worst second of luminances (frames, squares)."""
    found = Flashes(frames_a_second)
    for light in course:
        found.add(light)
    return found.worst
