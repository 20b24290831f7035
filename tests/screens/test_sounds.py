"""Tones and spoken instructions: when they sound, soft and short, silent without a loudspeaker."""

import os
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np
import pytest

from kiosk.screens.screen import OwnAction
from kiosk.screens.sounds import LASTS_S, TONES_HZ, Sounds, write_tone
from kiosk.touch.calibration import PANEL_A


class Heard(Sounds):
    """Sounds that are only noted."""

    def __init__(self, folder: Path, tones: bool) -> None:
        super().__init__(folder, tones=tones)
        self.played: list[str] = []

    def _play(self, path: Path) -> None:
        self.played.append(path.name)


def shown(tmp_path, steps, english, *screens, tones=True):
    from kiosk.screens.stage import Stage

    sounds = Heard(tmp_path, tones)
    stage = Stage(PANEL_A, lambda: 0.0, offscreen=True, sounds=sounds)
    for screen in screens:
        stage.show(steps["right"][screen], english)
        stage.draw()
    stage.close()
    return sounds.played


def spoken(tmp_path, screen="welcome"):
    folder = tmp_path / "en" / "spoken"
    folder.mkdir(parents=True)
    write_tone(folder / f"{screen}.wav", (440.0,))


def test_a_trial_that_is_over_and_the_end_are_told_and_nothing_sounds_in_the_field(tmp_path, steps, english):
    played = shown(tmp_path, steps, english, "welcome", "demonstration", "trial", "rest", "trial_wander",
                   "not_understood", "thanks")
    assert played == ["rest.wav", "not_understood.wav", "thanks.wav"]


def test_tones_are_silent_unless_they_are_wanted(tmp_path, steps, english):
    assert shown(tmp_path, steps, english, "rest", "thanks", tones=False) == []


def test_a_spoken_welcome_is_heard_once_and_again_on_its_button(tmp_path, steps, english):
    spoken(tmp_path)
    from kiosk.screens.stage import Stage

    sounds = Heard(tmp_path, False)
    stage = Stage(PANEL_A, lambda: 0.0, offscreen=True, sounds=sounds)
    said = []
    stage.on_action = said.append
    stage.show(steps["right"]["welcome"], english)
    assert sounds.played == ["welcome.wav"]
    stage.choose(OwnAction.SAY_AGAIN)
    assert sounds.played == ["welcome.wav"] * 2 and said == []
    stage.close()


def test_without_a_spoken_file_there_is_no_button_for_it(room, steps, english):
    room.stage.show(steps["right"]["welcome"], english)
    assert OwnAction.SAY_AGAIN not in room.stage.actions()


def test_what_is_still_heard_stops_in_the_field_even_where_someone_has_spoken_a_trial(tmp_path):
    spoken(tmp_path, "trial")
    sounds = Heard(tmp_path, True)
    sounds.screen("en", "trial", silent=True)
    assert sounds.played == []


@pytest.mark.parametrize("name", sorted(TONES_HZ))
def test_a_tone_is_short_soft_begins_and_ends_in_silence_and_has_its_pitches(tmp_path, name):
    write_tone(tmp_path / "tone.wav", TONES_HZ[name])
    with wave.open(str(tmp_path / "tone.wav")) as sound:
        rate = sound.getframerate()
        levels = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2") / 32767
    assert len(levels) / rate == pytest.approx(LASTS_S, abs=0.001)
    assert np.abs(levels).max() <= 0.25 and abs(levels[0]) < 0.001 and abs(levels[-1]) < 0.01
    for part, pitch in zip(np.array_split(levels, len(TONES_HZ[name])), TONES_HZ[name], strict=True):
        fine = 8 * len(part)
        strongest = np.fft.rfftfreq(fine, 1 / rate)[np.abs(np.fft.rfft(part, fine)).argmax()]
        assert strongest == pytest.approx(pitch, abs=4.0)


@pytest.mark.parametrize(("driver", "state"), [("dummy", "play"), ("nosuch", "stop")])
def test_a_machine_without_a_loudspeaker_stays_silent_and_goes_on(tmp_path, driver, state):
    program = (
        "import sys\nfrom pathlib import Path\nfrom kiosk.screens.sounds import Sounds\n"
        "sounds = Sounds(Path(sys.argv[1]), tones=True)\nsounds.screen('en', 'thanks', silent=False)\n"
        "print(sounds._heard.state)\nsounds.silence()\n")
    ran = subprocess.run([sys.executable, "-c", program, str(tmp_path)], capture_output=True, text=True,
                         env={**os.environ, "SDL_AUDIODRIVER": driver}, check=True)
    assert ran.stdout.split()[-1] == state
