"""What `kiosk languages` does: template, update, check, approve; catalogues are told by their tag."""

import argparse
import datetime as dt
import sys
from pathlib import Path

from kiosk.errors import Refused
from kiosk.language import SOURCE_TAG, Language, available, catalogue_path, header, load_language
from kiosk.languages.adaptation import ROLES, sign
from kiosk.languages.checking import check
from kiosk.languages.merging import update
from kiosk.languages.template import write_template
from kiosk.settings import locales_folder
from kiosk.wording.reasons import fault_sentence


def languages_options(parser: argparse.ArgumentParser) -> None:
    """The commands below `languages`, each with the folder of catalogues that it works in."""
    commands = parser.add_subparsers(required=True, metavar="template|update|check|approve")
    for name, run in (("template", _template), ("update", _update), ("check", _check), ("approve", _approve)):
        command = commands.add_parser(name)
        command.add_argument("--folder", type=Path, default=locales_folder(), metavar="DIR")
        command.set_defaults(run=run)
        if name in ("update", "check"):
            command.add_argument("tag", nargs="?", metavar="TAG")
        if name == "approve":
            _approve_options(command)


def _approve_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tag", metavar="TAG")
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
        faults += len(found.faults)
        for fault in found.faults:
            print(f"{tag}: {fault_sentence(fault, language)}", file=sys.stderr)
        print(
            language.say(
                "%(tag)s: %(messages)s messages, %(faults)s faults, %(same)s as in English.",
                tag=tag,
                messages=found.messages,
                faults=len(found.faults),
                same=len(found.same_as_source),
            )
        )
    return 1 if faults else 0


def _approve(chosen: argparse.Namespace, language: Language) -> int:
    path = catalogue_path(chosen.tag, chosen.folder)
    faults = len(check(chosen.tag, chosen.folder).faults)
    if faults:
        raise Refused("catalogue_has_faults", {"tag": chosen.tag, "count": faults})
    sign(path, chosen.role, chosen.by, chosen.date)
    status = load_language(chosen.tag, chosen.folder).status
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
