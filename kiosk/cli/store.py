"""The store itself: `kiosk staff`, `audit`, `backup`, `restore` and `upgrade`."""

import argparse

from kiosk.app.store_opening import asked_passphrase, key_file, set_up
from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.cli.opening import opened, say_recovery_code, signed_in
from kiosk.i18n.language import Language
from kiosk.storage.accounts import accounts, add_account, close_account, require, staff_named
from kiosk.storage.audit_chain import anchor_from
from kiosk.storage.backup import STORE, backups_in, make_backup, restore
from kiosk.storage.engine import open_file
from kiosk.storage.integrity import check_integrity
from kiosk.storage.migrations import upgrade
from kiosk.storage.rows import Ledger
from kiosk.wording.store_words import break_line


def set_up_store(chosen: argparse.Namespace, language: Language) -> int:
    _, code = set_up(chosen.store, signed_in(chosen, language), machine())
    say_recovery_code(code, language)
    return 0


def list_staff(chosen: argparse.Namespace, language: Language) -> int:
    for one in accounts(opened(chosen, language, read_only=True).store.ledger):
        state = "" if one.active else language.say(" (closed)")
        print(f"{one.display_name}: {', '.join(one.roles)}{state}")
    return 0


def add_staff(chosen: argparse.Namespace, language: Language) -> int:
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


def close_staff(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    require(this.account, "site_lead")
    leaver = staff_named(this.store.ledger, chosen.who)
    close_account(this.store.ledger, leaver.id)
    key_file(chosen.store, machine()).remove(leaver.id)
    return 0


def change_passphrase(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    words = asked_passphrase(chosen.new_passphrase_file, language.say("New passphrase: "))
    key_file(chosen.store, machine()).put(this.keys, this.account.id, chosen.name, words)
    return 0


def recover(chosen: argparse.Namespace, language: Language) -> int:
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
    say_recovery_code(slots.new_recovery(keys), language)
    return 0


def verify_audit(chosen: argparse.Namespace, language: Language) -> int:
    anchors = [anchor_from(text) for text in chosen.anchor]
    anchors += [one.anchor for one in backups_in(chosen.backups)] if chosen.backups else []
    this = opened(chosen, language, read_only=True)
    found = check_integrity(chosen.store, this.keys, this.keys.kiosk_id, anchors)
    for one in found.audit.breaks:
        print(break_line(one.kind, one.seq, language))
    if found.audit.breaks:
        raise Refused("audit_broken", {"count": len(found.audit.breaks)})
    if found.fault is not None:
        raise Refused("backup_unsound", {"file": chosen.store.name, "found": found.fault})
    print(language.say("The audit holds: %(lines)s lines, head %(head)s.", lines=found.audit.lines,
                       head=found.audit.head))
    return 0


def backup(chosen: argparse.Namespace, language: Language) -> int:
    this, here = opened(chosen, language), machine()
    made = make_backup(chosen.store, this.keys, chosen.to, this.keys.kiosk_id, here.now())
    with this.store.ledger.writing() as writing:
        writing.note_of("backup", "backup", made.folder.name, made.manifest["sha256"])
    print(language.say("Backup made and examined: %(folder)s, audit head %(head)s.", folder=made.folder,
                       head=made.anchor))
    return 0


def restore_backup(chosen: argparse.Namespace, language: Language) -> int:
    words = signed_in(chosen, language)
    keys, _ = key_file(chosen.backup / STORE, machine()).unlock(words.name, words.passphrase)
    restore(chosen.backup, chosen.store, keys, keys.kiosk_id, only_prove=chosen.prove)
    if chosen.prove:
        print(language.say("The backup is whole: a copy of it was opened and examined."))
    else:
        here = machine()
        ledger = Ledger(open_file(chosen.store, keys), here.now, here.new_id, keys.kiosk_id, None, keys.audit)
        with ledger.writing() as writing:
            first = writing.begin_epoch()
        ledger.engine.dispose()
        print(language.say("Restored: %(file)s", file=chosen.store))
        print(language.say("The audit goes on with a new count, at line %(seq)s.", seq=first))
    return 0


def confirm_clock(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    require(this.account, "site_lead")
    if chosen.confirm is not None:
        this.store.confirm_date(this.store.find_visit(chosen.confirm).id)
    elif chosen.doubted:
        this.store.say_clock(right=False)
    else:
        this.store.say_clock(right=True)
        print(language.say("The clock counts as right from now: %(now)s.", now=machine().now().isoformat()))
    return 0


def upgrade_store(chosen: argparse.Namespace, language: Language) -> int:
    words, here = signed_in(chosen, language), machine()
    keys, _ = key_file(chosen.store, here).unlock(words.name, words.passphrase)
    made = upgrade(chosen.store, keys, chosen.backups, keys.kiosk_id, here.now())
    if made is None:
        print(language.say("The store has the newest layout already."))
    else:
        print(language.say("The store has the newest layout; the backup before is %(folder)s.",
                           folder=made.folder))
    return 0
