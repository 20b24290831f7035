"""What `kiosk person`, `sync` and `site-pack` do: a person's rights, the clinic's server, other kiosks."""

import argparse
from collections.abc import Mapping
from datetime import timedelta
from hashlib import sha256
from io import StringIO
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.cli.export import export_options
from kiosk.cli.leaflet import leaflet_options
from kiosk.cli.store import STORE_OPTIONS, opened, sign_in_options
from kiosk.exchange.trial_csv import write_samples
from kiosk.i18n.language import Language
from kiosk.storage.column_types import canonical_row
from kiosk.storage.erasure import REASONS, erase_person
from kiosk.storage.key_file import write_private
from kiosk.storage.rights import everything_of, kept_too_long, person_coded
from kiosk.storage.rows import Ledger
from kiosk.storage.server import address_from, open_server
from kiosk.storage.server_schema import set_up_server
from kiosk.storage.site_pack import load_pack, pack_of, read_pack, write_pack
from kiosk.storage.staff import require
from kiosk.storage.store import Store
from kiosk.storage.sync import sync

YEAR: Final = timedelta(days=365.25)
AT_SERVER: Final = "server"


def add_options(name: str, parser: argparse.ArgumentParser) -> None:
    """What a command that opens the store takes."""
    OPTIONS[name](parser)


def person_options(parser: argparse.ArgumentParser) -> None:
    """The commands below `person`."""
    commands = parser.add_subparsers(required=True, metavar="export|erase|due")
    out = commands.add_parser("export")
    out.add_argument("person", metavar="CODE|ID")
    out.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    sign_in_options(out, _export)
    erase = commands.add_parser("erase")
    erase.add_argument("person", metavar="CODE|ID")
    erase.add_argument("--reason", required=True, choices=REASONS)
    erase.add_argument("--server", type=Path, metavar="FILE")
    sign_in_options(erase, _erase)
    due = commands.add_parser("due")
    due.add_argument("--years", type=float, required=True, metavar="N")
    sign_in_options(due, _due)


def sync_options(parser: argparse.ArgumentParser) -> None:
    """`sync`."""
    parser.add_argument("--server", type=Path, required=True, metavar="FILE")
    parser.add_argument("--set-up", action="store_true")
    sign_in_options(parser, _sync)


def site_pack_options(parser: argparse.ArgumentParser) -> None:
    """`site-pack export` and `load`."""
    commands = parser.add_subparsers(required=True, metavar="export|load")
    for name, run in (("export", _pack), ("load", _load)):
        command = commands.add_parser(name)
        command.add_argument("file", type=Path, metavar="FILE")
        command.add_argument("--fingerprint", metavar="XXXX-XXXX-XXXX-XXXX-XXXX")
        sign_in_options(command, run)


def _export(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    person_id = person_coded(this.store.ledger, chosen.person)
    for name, content in person_files(this.store, person_id).items():
        place = chosen.out / name
        write_private(place, content)
    with this.store.ledger.writing() as writing:
        writing.note_of("export_person", "person", str(person_id))
    print(language.say("Everything kept about this person is in %(folder)s, readable by anyone: guard it.",
                       folder=chosen.out))
    return 0


def person_files(store: Store, person_id: UUID) -> Mapping[str, str | bytes]:
    """Every row as JSON (bytes by their sha256), each trial's samples as CSV, each page as PDF."""
    rows = everything_of(store.ledger, person_id)
    lines = ",\n".join(f'"{name}":[{",".join(canonical_row(row) for row in of_table)}]'
                       for name, of_table in rows.items())
    files: dict[str, str | bytes] = {"person.json": "{" + lines + "}\n"}
    for visit in store.visits_of(person_id):
        for trial in store.trials_of(visit.id):
            text = StringIO()
            write_samples(trial.record.samples, text)
            files[f"trial-{trial.id}.csv"] = text.getvalue()
        files |= {f"page-{page.page_tag}-{sha256(page.pdf).hexdigest()[:8]}.pdf": page.pdf
                  for page in store.reports_of(visit.id)}
    return files


def _erase(chosen: argparse.Namespace, language: Language) -> int:
    """Here first, then on the server; there by the eraser's own address."""
    this = opened(chosen, language)
    require(this.account, "site_lead")
    person_id = person_coded(this.store.ledger, chosen.person)
    count = erase_person(this.store.ledger, person_id, chosen.reason)
    if chosen.server is not None:
        here = machine()
        there = Ledger(open_server(address_from(chosen.server)), here.now, here.new_id, AT_SERVER)
        _erase_there(there, person_id, chosen.reason)
    print(language.say("Erased: %(count)s rows. Backups made before hold them until they are rotated out.",
                       count=count))
    return 0


def _erase_there(there: Ledger, person_id: UUID, reason: str) -> None:
    try:
        erase_person(there, person_id, reason)
    except Refused as refusal:
        if refusal.code != "unknown_person":
            raise


def _due(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language, read_only=True)
    for person_id in kept_too_long(this.store.ledger, machine().now() - chosen.years * YEAR):
        print(this.store.person(person_id).code, person_id)
    return 0


def _sync(chosen: argparse.Namespace, language: Language) -> int:
    server: Any = open_server(address_from(chosen.server))
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


def _pack(chosen: argparse.Namespace, language: Language) -> int:
    pack = pack_of(opened(chosen, language, read_only=True).store.ledger)
    write_pack(pack, chosen.file)
    print(language.say("Fingerprint: %(found)s", found=pack.fingerprint))
    return 0


def _load(chosen: argparse.Namespace, language: Language) -> int:
    pack = read_pack(chosen.file)
    wanted = chosen.fingerprint
    if wanted is not None and wanted.upper() != pack.fingerprint:
        raise Refused("fingerprint_differs", {"found": pack.fingerprint, "wanted": wanted})
    this = opened(chosen, language)
    require(this.account, "site_lead")
    print(language.say("Fingerprint: %(found)s", found=pack.fingerprint))
    print(language.say("New reference tables: %(count)s", count=load_pack(this.store.ledger, pack)))
    return 0


OPTIONS: Final = {**STORE_OPTIONS, "export": export_options, "person": person_options, "sync": sync_options,
                  "site-pack": site_pack_options, "leaflet": leaflet_options}
