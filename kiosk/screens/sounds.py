"""Soft tones and spoken instructions; silent where none are wanted or the machine has no loudspeaker.

A tone tells that a trial is over, that the person waits for someone, or that all is done. It sounds when such
a screen comes up and is over in 0.4 s; no sound is ever begun on a screen in the field, and one that is still
heard is stopped there. A spoken instruction is a file of the language's folder: TAG/spoken/SCREEN.wav.
"""

import math
import wave
from collections.abc import Mapping
from pathlib import Path
from struct import pack
from tempfile import TemporaryDirectory
from typing import Any, Final

TONES_HZ: Final[Mapping[str, tuple[float, ...]]] = {
    "rest": (392.0,), "not_understood": (392.0, 523.3), "thanks": (392.0, 523.3, 659.3),
}
LASTS_S: Final = 0.4
RISES_S: Final = 0.03
RATE_HZ: Final = 22_050
LOUDNESS: Final = 0.25
SPOKEN: Final = "spoken"


class Sounds:
    """Tones and speech of the screens. tones: whether they are wanted; folder: of the catalogues."""

    def __init__(self, folder: Path, *, tones: bool) -> None:
        self._folder, self._tones = folder, tones
        self._made = TemporaryDirectory(prefix="kiosk-tones-")
        self._known: dict[Path, Any] = {}
        self._heard: Any = None

    def screen(self, tag: str, name: str, *, silent: bool) -> None:
        """Play what goes with a screen of the person: its recorded speech, else its tone."""
        self.silence()
        if silent:
            return
        if self.spoken(tag, name) is not None:
            self.speak(tag, name)
        elif self._tones and name in TONES_HZ:
            self._play(self._tone(name))

    def spoken(self, tag: str, screen: str) -> Path | None:
        """The file in which a language speaks a screen; None where nobody has spoken it."""
        path = self._folder / tag.replace("-", "_") / SPOKEN / f"{screen}.wav"
        return path if path.is_file() else None

    def speak(self, tag: str, screen: str) -> None:
        """Play the speech of a screen from its beginning."""
        path = self.spoken(tag, screen)
        if path is not None:
            self.silence()
            self._play(path)

    def silence(self) -> None:
        """Stop the sound that is playing."""
        if self._heard is not None:
            self._heard.stop()
            self._heard = None

    def _play(self, path: Path) -> None:
        if path not in self._known:
            from kivy.core.audio import SoundLoader

            self._known[path] = SoundLoader.load(str(path))
        self._heard = self._known[path]
        if self._heard is not None:  # None: this machine cannot read the file
            self._heard.play()

    def _tone(self, name: str) -> Path:
        path = Path(self._made.name) / f"{name}.wav"
        if not path.is_file():
            write_tone(path, TONES_HZ[name])
        return path


def write_tone(path: Path, pitches_hz: tuple[float, ...]) -> None:
    """The pitches one after the other, each rising softly and fading, together LASTS_S."""
    each = round(LASTS_S * RATE_HZ / len(pitches_hz))
    levels = [softly(number, each) * math.sin(2 * math.pi * pitch * number / RATE_HZ)
              for pitch in pitches_hz for number in range(each)]
    with wave.open(str(path), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(RATE_HZ)
        sound.writeframes(pack(f"<{len(levels)}h", *(round(32767 * LOUDNESS * one) for one in levels)))


def softly(number: int, of: int) -> float:
    """How loud a sample is, 0 at both ends.

    >>> softly(0, 8820), round(softly(662, 8820), 2), softly(8820, 8820)
    (0.0, 0.92, 0.0)
    """
    rising = min(number / (RISES_S * RATE_HZ), 1.0)
    return rising * (1.0 - number / of)
