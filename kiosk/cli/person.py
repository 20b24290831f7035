"""What is kept about one person: `kiosk person export`, `erase` and `due`."""

import argparse
from collections.abc import Mapping
from datetime import timedelta
from hashlib import sha256
from io import StringIO
from typing import Final
from uuid import UUID

from kiosk.app.store_opening import asked_passphrase
from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.cli.opening import opened
from kiosk.exchange.trial_csv import write_samples
from kiosk.i18n.language import Language
from kiosk.storage.accounts import require
from kiosk.storage.column_types import canonical_row
from kiosk.storage.data_subject_rights import everything_of, kept_too_long, person_coded
from kiosk.storage.erasure import erase_person
from kiosk.storage.key_file import write_private
from kiosk.storage.rows import Ledger
from kiosk.storage.server import address_from, give_order, open_server
from kiosk.storage.store import Store
from kiosk.storage.trust_list import open_key_file, signed_order

YEAR: Final = timedelta(days=365.25)
AT_SERVER: Final = "server"


def export(chosen: argparse.Namespace, language: Language) -> int:
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


def erase(chosen: argparse.Namespace, language: Language) -> int:
    """Here and, with the eraser's address and key, on the server and by a signed order at all kiosks."""
    this = opened(chosen, language)
    require(this.account, "site_lead")
    if chosen.server is not None and chosen.key is None:
        raise Refused("signing_key_needed")
    person_id = person_coded(this.store.ledger, chosen.person)
    if chosen.server is None:
        count = erase_person(this.store.ledger, person_id, chosen.reason)
    else:
        here, server = machine(), open_server(address_from(chosen.server))
        words = asked_passphrase(chosen.key_passphrase_file, language.say("Passphrase of the key: "))
        key = open_key_file(chosen.key, words)
        give_order(server, signed_order(key, person_id, chosen.reason, here.now()))
        count = erase_person(this.store.ledger, person_id, chosen.reason)
        _erase_there(Ledger(server, here.now, here.new_id, AT_SERVER), person_id, chosen.reason)
    print(language.say("Erased: %(count)s rows. Backups made before hold them until they are rotated out.",
                       count=count))
    return 0


def _erase_there(there: Ledger, person_id: UUID, reason: str) -> None:
    try:
        erase_person(there, person_id, reason)
    except Refused as refusal:
        if refusal.code != "unknown_person":
            raise


def due(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language, read_only=True)
    for person_id in kept_too_long(this.store.ledger, machine().now() - chosen.years * YEAR):
        print(this.store.person(person_id).code, person_id)
    return 0
