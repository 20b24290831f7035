"""A kiosk that syncs until nothing waits, in a process of its own, to be killed and started again."""

import time
from pathlib import Path

from kiosk.base.errors import Refused
from kiosk.storage.engine import open_file
from kiosk.storage.server import Address, open_server
from kiosk.storage.sync import sync, waiting
from tests.storage.examples import KEYS, store_on


def sync_in_process(path: Path, port: int, database: str, user: str, kiosk_id: str, batch: int) -> None:
    store = store_on(open_file(path, KEYS), KEYS.audit, kiosk_id=kiosk_id)
    server = open_server(Address("127.0.0.1", database, user, port))
    while True:
        try:
            sync(store.ledger, server, batch=batch)
            if not waiting(store.ledger):
                return
        except Refused as refusal:
            if refusal.code != "server_away":
                raise
            time.sleep(0.05)
