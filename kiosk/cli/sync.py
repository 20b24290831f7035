"""Between kiosks: `kiosk sync` with the clinic's server, and `kiosk site-pack` with reference tables."""

import argparse

from kiosk.base.errors import Refused
from kiosk.cli.opening import opened
from kiosk.i18n.language import Language
from kiosk.storage.accounts import require
from kiosk.storage.server import address_from, open_server, set_up_server
from kiosk.storage.site_pack import load_pack, pack_of, read_pack, write_pack
from kiosk.storage.sync import sync


def sync_store(chosen: argparse.Namespace, language: Language) -> int:
    server = open_server(address_from(chosen.server))
    this = opened(chosen, language)
    if chosen.set_up:
        require(this.account, "site_lead")
        set_up_server(server)
    done = sync(this.store.ledger, server)
    print(language.say("Sent %(pushed)s rows, took %(pulled)s; erased %(erased)s people.", pushed=done.pushed,
                       pulled=done.pulled, erased=done.erased))
    for one in done.conflicts:
        print(language.say("%(table)s %(key)s is another on the server.", table=one.table, key=one.key))
    return 1 if done.conflicts else 0


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
