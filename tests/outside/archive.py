"""What a kiosk's store holds once the kiosk is closed, read with its passphrase."""

from datetime import UTC, datetime
from secrets import token_bytes

import numpy as np

from kiosk.app.store_opening import Machine, SignIn, open_store
from kiosk.storage.ids import IdSource


def kept(store, passphrase):
    """The store of a kiosk that is closed; nothing is written."""
    def now():
        return datetime.now(UTC)

    machine = Machine(now, IdSource(now, np.random.default_rng(0)), token_bytes)
    return open_store(store, SignIn(passphrase), machine, read_only=True).store


def visits(store, passphrase):
    """Every visit, oldest first, with its trials in order of position."""
    archive = kept(store, passphrase)
    return [(archive, visit, sorted(archive.trials_of(visit.id), key=lambda one: one.position))
            for visit in archive.visits_since(datetime(2000, 1, 1, tzinfo=UTC))]
