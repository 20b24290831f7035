"""Between kiosks: `kiosk sync` with the clinic's server, and `kiosk site-pack` with reference tables."""

import argparse
from datetime import timedelta
from typing import Final

from kiosk.base.errors import Refused
from kiosk.cli.opening import opened
from kiosk.i18n.language import Language
from kiosk.i18n.message import N_
from kiosk.storage.accounts import require
from kiosk.storage.row_checks import RowFault
from kiosk.storage.server import address_from, open_server, set_up_server
from kiosk.storage.site_pack import load_pack, pack_of, read_pack, write_pack
from kiosk.storage.sync import Synced, sign_earlier, sync

FAULTS: Final = {
    RowFault.UNKNOWN_TABLE: N_("unknown table"), RowFault.NOT_SIGNED: N_("wrong signature"),
    RowFault.OTHER_CONTENT: N_("changed content"), RowFault.BAD_VALUE: N_("impossible value")}
MOST_OFF: Final = timedelta(hours=1)


def sync_store(chosen: argparse.Namespace, language: Language) -> int:
    server = open_server(address_from(chosen.server))
    this = opened(chosen, language)
    if chosen.set_up:
        require(this.account, "site_lead")
        set_up_server(server)
    if chosen.sign_earlier or chosen.erase_many:
        require(this.account, "site_lead")
    if chosen.sign_earlier:
        sign_earlier(this.store.ledger)
    done = sync(this.store.ledger, server, erase_many=chosen.erase_many)
    say_synced(done, language)
    return 1 if done.conflicts or done.stays_out or done.waiting else 0


def say_synced(done: Synced, language: Language) -> None:
    """What was sent and taken by table, who was erased, and by name what stays out."""
    table, sent, taken = language.say("table"), language.say("sent"), language.say("taken")
    print(f"{table:<20} {sent:>9} {taken:>9}")
    for name in sorted({*done.sent, *done.taken}):
        if done.sent[name] or done.taken[name]:
            print(f"{name:<20} {done.sent[name]:>9} {done.taken[name]:>9}")
    print(language.say("Sent %(pushed)s rows, took %(pulled)s; erased %(erased)s people.", pushed=done.pushed,
                       pulled=done.pulled, erased=done.erased))
    for one in done.conflicts:
        print(language.say("%(table)s %(key)s is another on the server.", table=one.table, key=one.key))
    for out in done.stays_out:
        print(language.say("%(table)s: %(key)s from %(kiosk)s stays out: %(fault)s.", table=out.table,
                           key=out.key, kiosk=out.kiosk_id, fault=language.say_message(FAULTS[out.fault])))
    if done.refused > len(done.stays_out):
        print(language.say("Rows that stay out, in all: %(count)s", count=done.refused))
    if abs(done.clock_off) > MOST_OFF:
        print(language.say("The clocks of this kiosk and of the server are %(hours)s hours apart.",
                           hours=language.number(abs(done.clock_off) / timedelta(hours=1), 1)))
    if done.waiting:
        print(language.say("%(count)s people are to be erased at once; that waits for --erase-many by the "
                           "site lead.", count=done.waiting))


def export_site_pack(chosen: argparse.Namespace, language: Language) -> int:
    pack = pack_of(opened(chosen, language, read_only=True).store.ledger)
    write_pack(pack, chosen.file)
    print(language.say("Fingerprint: %(found)s", found=pack.fingerprint))
    return 0


def load_site_pack(chosen: argparse.Namespace, language: Language) -> int:
    pack = read_pack(chosen.file)
    wanted = chosen.fingerprint
    if wanted is not None and wanted.upper() != pack.fingerprint:
        raise Refused("fingerprint_differs", {"found": pack.fingerprint, "wanted": wanted})
    this = opened(chosen, language)
    require(this.account, "site_lead")
    print(language.say("Fingerprint: %(found)s", found=pack.fingerprint))
    print(language.say("New reference tables: %(count)s", count=load_pack(this.store.ledger, pack)))
    return 0
