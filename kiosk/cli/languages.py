"""What `kiosk languages` does, from template to approval; catalogues are told by their tag."""

import argparse
import datetime as dt
import sys
from pathlib import Path

from kiosk.base.errors import Fault, Refused
from kiosk.base.settings import locales_folder
from kiosk.i18n.adaptation import ROLES, sign
from kiosk.i18n.catalogue_file import catalogue_path, header
from kiosk.i18n.checking import check
from kiosk.i18n.language import SOURCE_TAG, Language, available, load_language
from kiosk.i18n.merging import update
from kiosk.i18n.spreadsheet import sheet_text, take_back
from kiosk.i18n.template import write_template
from kiosk.wording.adaptation_words import status_words
from kiosk.wording.reasons import fault_sentence, sentence


def languages_options(parser: argparse.ArgumentParser) -> None:
    """The commands below `languages`, each with the folder of catalogues that it works in."""
    commands = parser.add_subparsers(required=True, metavar="|".join(_RUN))
    for name, run in _RUN.items():
        command = commands.add_parser(name)
        command.add_argument("--folder", type=Path, default=locales_folder(), metavar="DIR")
        command.set_defaults(run=run)
        if name != "template":
            command.add_argument("tag", nargs="?" if name in ("update", "check") else None, metavar="TAG")
        _OPTIONS.get(name, _no_options)(command)


def _no_options(parser: argparse.ArgumentParser) -> None:
    """None of its own."""


def _check_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--words-only", action="store_true")


def _out_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, required=True, metavar="FILE|DIR")


def _sheet_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("sheet", type=Path, metavar="FILE.csv")


def _approve_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--role", required=True, choices=ROLES)
    parser.add_argument("--by", required=True, metavar="INITIALS")
    parser.add_argument("--date", required=True, type=dt.date.fromisoformat, metavar="YYYY-MM-DD")


def _template(chosen: argparse.Namespace, language: Language) -> int:
    print(write_template(chosen.folder))
    return 0


def _update(chosen: argparse.Namespace, language: Language) -> int:
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


def _check(chosen: argparse.Namespace, language: Language) -> int:
    faults = 0
    for tag in _tags(chosen):
        found = check(tag, chosen.folder)
        told = [*found.faults, *_speech(tag, chosen.folder)]
        told += [] if chosen.words_only else _screens(tag, chosen.folder, language)
        faults += len(told)
        for fault in told:
            print(f"{tag}: {fault_sentence(fault, language)}", file=sys.stderr)
        print(
            language.say(
                "%(tag)s: %(messages)s messages, %(faults)s faults, %(same)s as in English.",
                tag=tag,
                messages=found.messages,
                faults=len(told),
                same=len(found.same_as_source),
            )
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


def _sheet(chosen: argparse.Namespace, language: Language) -> int:
    chosen.out.write_text(sheet_text(chosen.tag, chosen.folder), "utf-8", newline="")
    print(chosen.out)
    return 0


def _take(chosen: argparse.Namespace, language: Language) -> int:
    changed = take_back(chosen.tag, chosen.folder, chosen.sheet)
    print(language.say("%(tag)s: %(n)s messages changed.", tag=chosen.tag, n=changed))
    return 0


def _preview(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.demo.language_preview import write_preview

    load_language(chosen.tag, chosen.folder)
    count = write_preview(chosen.tag, chosen.folder, chosen.out)
    print(language.say("%(n)d pictures are in %(folder)s.", n=count, folder=chosen.out))
    return 0


def _speak(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.demo.speech import speak

    made = speak(load_language(chosen.tag, chosen.folder), chosen.folder)
    told = language.say("%(tag)s: %(n)s screens spoken, drafts to be recorded.", tag=chosen.tag, n=len(made))
    print(told)
    return 0


def _approve(chosen: argparse.Namespace, language: Language) -> int:
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


_RUN = {
    "template": _template, "update": _update, "check": _check, "sheet": _sheet, "take": _take,
    "preview": _preview, "speak": _speak, "approve": _approve,
}  # fmt: skip
_OPTIONS = {
    "check": _check_options, "sheet": _out_option, "preview": _out_option, "take": _sheet_option,
    "approve": _approve_options,
}  # fmt: skip
