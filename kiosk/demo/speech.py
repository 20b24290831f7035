"""Draft speech for a language: each screen of the person spoken by espeak-ng, until someone records it.

Files are locales/TAG/spoken/SCREEN.wav, which the screens play; spoken.json beside them says of each that was
made here that it is a draft, from which words and by which voice. A file that the clinic recorded is not in
that list, or is another than the list's, and is never written over. Decision languages-8.
"""

import json
import shutil
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from subprocess import CalledProcessError, run
from typing import Final

from kiosk.base.canonical_json import JsonObject
from kiosk.base.errors import Refused
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import load_battery
from kiosk.visits.course import Course, Step
from kiosk.wording.instructions import screen_words, use_this_hand

SPEAKER: Final = "espeak-ng"
FOLDER: Final = "spoken"
LIST: Final = "spoken.json"
VOICES: Final = {"zh": "cmn", "pt": "pt-br", "en": "en-gb", "fr": "fr-fr"}  # where its voice is not the tag
WORDS_PER_MINUTE: Final = "140"
LEVEL: Final = "100"


def speak(language: Language, folder: Path) -> tuple[str, ...]:
    """Speak every screen that no one has recorded; the screens spoken. Refused where there is no speaker."""
    program = shutil.which(SPEAKER)
    if program is None:
        raise Refused("no_speaker", {"program": SPEAKER})
    place = folder / language.tag.replace("-", "_") / FOLDER
    place.mkdir(parents=True, exist_ok=True)
    listed, made = _listed(place), []
    for screen, words in spoken_words(language):
        sound = place / f"{screen}.wav"
        if sound.is_file() and not is_draft(sound):
            continue
        _say(program, language.tag, words, sound)
        listed[screen] = {"status": "draft", "by": SPEAKER, "words": words, "sha256": _hash(sound)}
        made.append(screen)
    (place / LIST).write_text(json.dumps(listed, ensure_ascii=False, indent=1) + "\n", "utf-8")
    return tuple(made)


def is_draft(sound: Path) -> bool:
    """Whether a sound is still the one that was made here; any other was recorded by someone."""
    entry = _listed(sound.parent).get(sound.stem)
    return entry is not None and entry["sha256"] == _hash(sound)


def stale(language: Language, folder: Path) -> tuple[str, ...]:
    """Screens whose draft speech says other words than the catalogue does now."""
    place = folder / language.tag.replace("-", "_") / FOLDER
    listed = _listed(place)
    return tuple(
        screen for screen, words in spoken_words(language)
        if screen in listed and is_draft(place / f"{screen}.wav") and listed[screen]["words"] != words
    )  # fmt: skip


def spoken_words(language: Language) -> Iterator[tuple[str, str]]:
    """Every screen that is spoken, with its words in the order they are read."""
    for screen, step in _steps().items():
        words = screen_words(step, language)
        said = [words.headline, *words.sentences]
        if screen == "instruction":
            hand = use_this_hand(language)
            said += [hand.headline, *hand.sentences]
        if screen == "rest":
            said = said[:1]  # how many trials are left differs from rest to rest
        yield screen, " ".join(filter(None, said))


def _steps() -> dict[str, Step]:
    """One step of each screen with words; what it says does not depend on the trial."""
    first = Course(load_battery(), form="A", preferred_hand="right").step
    names = (
        "welcome", "finger_check", "instruction", "not_understood_once", "not_understood", "rest",
        "change_hand", "new_path", "stop_menu", "stopped", "thanks",
    )  # fmt: skip
    return {name: Step(name, first.plan, first.hand_side, first.progress_dots, 0) for name in names}  # type: ignore[arg-type]


def _say(program: str, tag: str, words: str, sound: Path) -> None:
    voice = VOICES.get(tag.partition("-")[0], tag.partition("-")[0])
    asked = [program, "-v", voice, "-s", WORDS_PER_MINUTE, "-a", LEVEL, "-w", str(sound), "--stdin"]
    try:
        run(asked, input=words.encode("utf-8"), check=True, capture_output=True)
    except CalledProcessError as failed:
        raise Refused("speaker_has_no_voice", {"program": SPEAKER, "tag": tag}) from failed


def _listed(place: Path) -> JsonObject:
    path = place / LIST
    found: JsonObject = json.loads(path.read_text("utf-8")) if path.is_file() else {}
    return found


def _hash(sound: Path) -> str:
    return sha256(sound.read_bytes()).hexdigest()
