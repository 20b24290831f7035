"""`kiosk languages`: a catalogue from template to approval, named by its language tag."""

import argparse
import sys
from pathlib import Path

from kiosk.base.errors import Fault, Refused
from kiosk.i18n.adaptation import sign
from kiosk.i18n.catalogue_file import catalogue_path, header
from kiosk.i18n.catalogue_update import update, write_template
from kiosk.i18n.checking import check
from kiosk.i18n.language import SOURCE_TAG, Language, available, load_language
from kiosk.i18n.spreadsheet import sheet_text, take_back
from kiosk.wording.adaptation_words import status_words
from kiosk.wording.reasons import fault_sentence, sentence


def template(chosen: argparse.Namespace, language: Language) -> int:
    print(write_template(chosen.folder))
    return 0


def update_catalogues(chosen: argparse.Namespace, language: Language) -> int:
    write_template(chosen.folder)
    for tag in _tags(chosen):
        done = update(tag, chosen.folder)
        print(
            language.say(
                "%(tag)s: %(messages)s messages, %(missing)s without words, %(fuzzy)s to be looked at again.",
                tag=tag,
                messages=done.messages,
                missing=done.missing,
                fuzzy=done.fuzzy,
            )
        )
    return 0


def check_catalogues(chosen: argparse.Namespace, language: Language) -> int:
    faults = 0
    for tag in _tags(chosen):
        found = check(tag, chosen.folder)
        told = [*found.faults, *_speech(tag, chosen.folder)]
        told += [] if chosen.words_only else _screens(tag, chosen.folder, language)
        faults += len(told)
        for fault in told:
            print(f"{tag}: {fault_sentence(fault, language)}", file=sys.stderr)
        print(
            language.say("%(tag)s: %(messages)s messages, %(faults)s faults, %(same)s as in English.",
                         tag=tag, messages=found.messages, faults=len(told), same=len(found.same_as_source))
        )
    return 1 if faults else 0


def _speech(tag: str, folder: Path) -> list[Fault]:
    """Draft speech whose words have changed since."""
    from kiosk.demo.speech import FOLDER, LIST, stale

    place = catalogue_path(tag, folder).parents[1] / FOLDER / LIST
    if not place.is_file():
        return []
    screens = stale(load_language(tag, folder), folder)
    return [Fault(str(place), None, screen, "must_be_spoken_anew", None) for screen in screens]


def _screens(tag: str, folder: Path, language: Language) -> list[Fault]:
    from kiosk.demo.language_preview import screen_faults

    try:
        return screen_faults(tag, folder)
    except Refused as refusal:
        print(sentence(refusal.code, refusal.values, language), file=sys.stderr)
        return []


def sheet(chosen: argparse.Namespace, language: Language) -> int:
    chosen.out.write_text(sheet_text(chosen.tag, chosen.folder), "utf-8", newline="")
    print(chosen.out)
    return 0


def take(chosen: argparse.Namespace, language: Language) -> int:
    taken = take_back(chosen.tag, chosen.folder, chosen.sheet)
    print(language.say("%(tag)s: %(n)s messages changed.", tag=chosen.tag, n=taken.changed))
    if taken.absent:
        print(language.say("%(tag)s: %(n)s messages have no row in this file; they stay as they were.",
                           tag=chosen.tag, n=taken.absent))
    return 0


def preview(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.demo.language_preview import write_preview

    load_language(chosen.tag, chosen.folder)
    count = write_preview(chosen.tag, chosen.folder, chosen.out)
    print(language.say("%(n)d pictures are in %(folder)s.", n=count, folder=chosen.out))
    return 0


def speak_drafts(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.demo.speech import speak

    made = speak(load_language(chosen.tag, chosen.folder), chosen.folder)
    told = language.say("%(tag)s: %(n)s screens spoken, drafts to be recorded.", tag=chosen.tag, n=len(made))
    print(told)
    return 0


def approve(chosen: argparse.Namespace, language: Language) -> int:
    path = catalogue_path(chosen.tag, chosen.folder)
    faults = len(check(chosen.tag, chosen.folder).faults)
    if faults:
        raise Refused("catalogue_has_faults", {"tag": chosen.tag, "count": faults})
    sign(path, chosen.role, chosen.by, chosen.date)
    status = status_words(load_language(chosen.tag, chosen.folder).status, language)
    version = header(path)["X-Adaptation-Version"]
    print(
        language.say(
            "%(tag)s, version %(version)s: %(status)s.", tag=chosen.tag, version=version, status=status
        )
    )
    return 0


def _tags(chosen: argparse.Namespace) -> list[str]:
    if chosen.tag is not None:
        return [chosen.tag]
    return [tag for tag in available(chosen.folder) if tag != SOURCE_TAG]
