"""Draft speech: every person's screen spoken, marked draft, never over a recording; a stand-in speaks."""

import json
import stat
import wave

import pytest

from kiosk.base.errors import Refused
from kiosk.cli.main import main
from kiosk.demo.speech import SPEAKER, is_draft, speak, spoken_words, stale
from kiosk.i18n.language import load_language
from tests.i18n.sample_catalogue import german
from tests.needed_packages import needs

STAND_IN = """#!/bin/sh
while [ $# -gt 1 ]; do [ "$1" = -w ] && out=$2; shift; done
{ printf 'spoken: '; cat; } > "$out"
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder of catalogues, and a program on the path that writes the words themselves into the file."""
    place = tmp_path / "bin" / SPEAKER
    place.parent.mkdir()
    place.write_text(STAND_IN)
    place.chmod(place.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", str(place.parent), prepend=":")
    (tmp_path / "locales").mkdir()
    return tmp_path / "locales"


def test_every_screen_with_words_is_spoken_and_marked_draft(folder):
    made = speak(load_language("ar"), folder)
    listed = json.loads((folder / "ar" / "spoken" / "spoken.json").read_text("utf-8"))
    assert set(made) == set(listed) and len(made) == 11
    assert {entry["status"] for entry in listed.values()} == {"draft"}
    for screen, words in spoken_words(load_language("ar")):
        sound = folder / "ar" / "spoken" / f"{screen}.wav"
        assert is_draft(sound)
        assert sound.read_text("utf-8") == f"spoken: {words}"


def test_what_someone_recorded_is_not_written_over(folder):
    speak(load_language("en"), folder)
    recorded = folder / "en" / "spoken" / "welcome.wav"
    recorded.write_bytes(b"a voice of the clinic")
    assert not is_draft(recorded)
    assert "welcome" not in speak(load_language("en"), folder)
    assert recorded.read_bytes() == b"a voice of the clinic"


def test_speech_whose_words_have_changed_is_told(folder):
    speak(load_language("en"), folder)
    assert stale(load_language("en"), folder) == ()
    place = folder / "en" / "spoken" / "spoken.json"
    place.write_text(place.read_text("utf-8").replace("Hello.", "Good day."), "utf-8")
    assert stale(load_language("en"), folder) == ("welcome",)


def test_the_check_of_a_catalogue_tells_of_stale_speech(folder, capsys):
    german(folder)
    speak(load_language("de", folder), folder)
    place = folder / "de" / "spoken" / "spoken.json"
    place.write_text(place.read_text("utf-8").replace("Hello.", "Good day."), "utf-8")
    assert main(["languages", "check", "de", "--words-only", "--folder", str(folder)]) == 1
    assert "spoken.json, column welcome: must be spoken anew" in capsys.readouterr().err


def test_without_the_program_one_sentence_says_so(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(Refused, match="no_speaker"):
        speak(load_language("en"), tmp_path)
    assert main(["languages", "speak", "en"]) == 1
    assert capsys.readouterr().err == "Draft speech needs espeak-ng, which is not installed here.\n"


@needs("espeak-ng")
def test_espeak_has_a_voice_for_languages_of_three_scripts(tmp_path):
    for tag in ("ar", "hi", "zh-Hans"):
        speak(load_language(tag), tmp_path)
        with wave.open(str(tmp_path / tag.replace("-", "_") / "spoken" / "welcome.wav")) as sound:
            assert sound.getnframes() / sound.getframerate() > 3.0
