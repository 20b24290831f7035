"""What `kiosk staff`, `audit`, `backup`, `restore` and `upgrade` do: each opens the store with a passphrase.

A passphrase comes from a file's first line or is asked on the terminal; it is never an option's value.
"""

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Final

from kiosk.app.store_opening import FIRST_NAME, Opened, SignIn, asked_passphrase, key_file, open_store, set_up
from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.i18n.language import Language
from kiosk.storage.audit_chain import anchor_from
from kiosk.storage.backup import STORE, backups_in, make_backup, restore
from kiosk.storage.engine import open_file
from kiosk.storage.integrity import examine
from kiosk.storage.migrations import upgrade
from kiosk.storage.rows import Ledger
from kiosk.storage.staff import ROLES, accounts, add_account, close_account, require, staff_named
from kiosk.wording.store_words import break_line

Run = Callable[[argparse.Namespace, Language], int]


def sign_in_options(parser: argparse.ArgumentParser, run: Run) -> None:
    """The store, who opens it, and what then happens."""
    parser.add_argument("--store", type=Path, required=True, metavar="FILE")
    parser.add_argument("--name", default=FIRST_NAME, metavar="NAME")
    parser.add_argument("--passphrase-file", type=Path, metavar="FILE")
    parser.set_defaults(run=run)


def opened(chosen: argparse.Namespace, language: Language, *, read_only: bool = False) -> Opened:
    """The store named on the command line."""
    return open_store(chosen.store, signed_in(chosen, language), machine(), read_only=read_only)


def signed_in(chosen: argparse.Namespace, language: Language) -> SignIn:
    """Who opens it."""
    return SignIn(asked_passphrase(chosen.passphrase_file, language.say("Passphrase: ")), chosen.name)


def staff_options(parser: argparse.ArgumentParser) -> None:
    """The commands below `staff`."""
    commands = parser.add_subparsers(required=True, metavar="set-up|list|add|close|passphrase|recover")
    runs: Final[dict[str, Run]] = {
        "set-up": _set_up, "list": _list, "add": _add, "close": _close, "passphrase": _passphrase,
        "recover": _recover}
    for name, run in runs.items():
        command = commands.add_parser(name)
        sign_in_options(command, run)
        if name in ("add", "close"):
            command.add_argument("who", metavar="WHO")
        if name in ("add", "passphrase", "recover"):
            command.add_argument("--new-passphrase-file", type=Path, metavar="FILE")
        if name == "add":
            command.add_argument("--roles", required=True, metavar=",".join(ROLES))
        if name == "recover":
            command.add_argument("--code-file", type=Path, metavar="FILE")


def audit_options(parser: argparse.ArgumentParser) -> None:
    """`audit verify`."""
    command = parser.add_subparsers(required=True, metavar="verify").add_parser("verify")
    command.add_argument("--anchor", action="append", default=[], metavar="SEQ-VALUE")
    command.add_argument("--backups", type=Path, metavar="FOLDER")
    sign_in_options(command, _verify)


def backup_options(parser: argparse.ArgumentParser) -> None:
    """`backup`."""
    parser.add_argument("--to", type=Path, required=True, metavar="FOLDER")
    sign_in_options(parser, _backup)


def restore_options(parser: argparse.ArgumentParser) -> None:
    """`restore`."""
    parser.add_argument("backup", type=Path, metavar="BACKUP")
    parser.add_argument("--prove", action="store_true")
    sign_in_options(parser, _restore)


def upgrade_options(parser: argparse.ArgumentParser) -> None:
    """`upgrade`."""
    parser.add_argument("--backups", type=Path, required=True, metavar="FOLDER")
    sign_in_options(parser, _upgrade)


def _set_up(chosen: argparse.Namespace, language: Language) -> int:
    _, code = set_up(chosen.store, signed_in(chosen, language), machine())
    print(language.say("Recovery code, told this once: %(code)s", code=code))
    return 0


def _list(chosen: argparse.Namespace, language: Language) -> int:
    for one in accounts(opened(chosen, language, read_only=True).store.ledger):
        state = "" if one.active else language.say(" (closed)")
        print(f"{one.display_name}: {', '.join(one.roles)}{state}")
    return 0


def _add(chosen: argparse.Namespace, language: Language) -> int:
    this, here = opened(chosen, language), machine()
    require(this.account, "site_lead")
    staff_id = here.new_id()
    words = asked_passphrase(chosen.new_passphrase_file, language.say("New passphrase: "))
    roles = [role.strip() for role in chosen.roles.split(",")]
    slots = key_file(chosen.store, here)
    slots.put(this.keys, staff_id, chosen.who, words)
    try:
        add_account(this.store.ledger, staff_id, chosen.who, roles)
    except Refused:
        slots.remove(staff_id)
        raise
    return 0


def _close(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    require(this.account, "site_lead")
    leaver = staff_named(this.store.ledger, chosen.who)
    close_account(this.store.ledger, leaver.id)
    key_file(chosen.store, machine()).remove(leaver.id)
    return 0


def _passphrase(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    words = asked_passphrase(chosen.new_passphrase_file, language.say("New passphrase: "))
    key_file(chosen.store, machine()).put(this.keys, this.account.id, chosen.name, words)
    return 0


def _recover(chosen: argparse.Namespace, language: Language) -> int:
    """A new passphrase for a known site lead by the printed code, and a new code in its place."""
    here = machine()
    slots = key_file(chosen.store, here)
    keys = slots.recover(asked_passphrase(chosen.code_file, language.say("Recovery code: ")))
    engine = open_file(chosen.store, keys)
    ledger = Ledger(engine, here.now, here.new_id, keys.kiosk_id, None, keys.audit)
    known = staff_named(ledger, chosen.name)
    require(known, "site_lead")
    words = asked_passphrase(chosen.new_passphrase_file, language.say("New passphrase: "))
    slots.put(keys, known.id, chosen.name, words)
    with ledger.writing() as writing:
        writing.note_of("recover", "staff", str(known.id))
    print(language.say("Recovery code, told this once: %(code)s", code=slots.new_recovery(keys)))
    return 0


def _verify(chosen: argparse.Namespace, language: Language) -> int:
    anchors = [anchor_from(text) for text in chosen.anchor]
    anchors += [one.anchor for one in backups_in(chosen.backups)] if chosen.backups else []
    this = opened(chosen, language, read_only=True)
    found = examine(chosen.store, this.keys, this.keys.kiosk_id, anchors)
    for one in found.audit.breaks:
        print(break_line(one.kind, one.seq, language))
    if found.audit.breaks:
        raise Refused("audit_broken", {"count": len(found.audit.breaks)})
    if found.fault is not None:
        raise Refused("backup_unsound", {"file": chosen.store.name, "found": found.fault})
    print(language.say("The audit holds: %(lines)s lines, head %(head)s.", lines=found.audit.lines,
                       head=found.audit.head))
    return 0


def _backup(chosen: argparse.Namespace, language: Language) -> int:
    this, here = opened(chosen, language), machine()
    made = make_backup(chosen.store, this.keys, chosen.to, this.keys.kiosk_id, here.now())
    with this.store.ledger.writing() as writing:
        writing.note_of("backup", "backup", made.folder.name, made.manifest["sha256"])
    print(language.say("Backup made and examined: %(folder)s, audit head %(head)s.", folder=made.folder,
                       head=made.anchor))
    return 0


def _restore(chosen: argparse.Namespace, language: Language) -> int:
    words = signed_in(chosen, language)
    keys, _ = key_file(chosen.backup / STORE, machine()).unlock(words.name, words.passphrase)
    restore(chosen.backup, chosen.store, keys, keys.kiosk_id, only_prove=chosen.prove)
    if chosen.prove:
        print(language.say("The backup is whole: a copy of it was opened and examined."))
    else:
        print(language.say("Restored: %(file)s", file=chosen.store))
    return 0


def _upgrade(chosen: argparse.Namespace, language: Language) -> int:
    words, here = signed_in(chosen, language), machine()
    keys, _ = key_file(chosen.store, here).unlock(words.name, words.passphrase)
    made = upgrade(chosen.store, keys, chosen.backups, keys.kiosk_id, here.now())
    if made is None:
        print(language.say("The store has the newest layout already."))
    else:
        print(language.say("The store has the newest layout; the backup before is %(folder)s.",
                           folder=made.folder))
    return 0


STORE_OPTIONS: Final = {"staff": staff_options, "audit": audit_options, "backup": backup_options,
                        "restore": restore_options, "upgrade": upgrade_options}
