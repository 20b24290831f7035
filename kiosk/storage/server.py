"""The way to the clinic's server: one PostgreSQL that many kiosks push to and pull from.

The address is a small JSON file: host, port, database, user, password_file, root_ca. Any server but this very
machine must show a certificate for its name that root_ca vouches for (TLS, verify-full). Answers take seconds
at most: a kiosk never waits for its server.
"""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage.server_schema import layout
from kiosk.storage.tables import SCHEMA_REVISION

LOOPBACK: Final = ("127.0.0.1", "::1", "localhost")
CONNECT_S: Final = 3


@dataclass(frozen=True)
class Address:
    """Where the server is and how it is entered; password_file and root_ca are paths."""

    host: str
    database: str
    user: str
    port: int = 5432
    password_file: str = ""
    root_ca: str = ""


def address_from(file: Path) -> Address:
    """The address in a file; Refused `server_file_unreadable`."""
    try:
        return Address(**json.loads(file.read_text("utf-8")))
    except (OSError, ValueError, TypeError) as fault:
        raise Refused("server_file_unreadable", {"file": file.name}) from fault


def open_server(address: Address) -> sa.Engine:
    """The server's engine; nothing is sent yet. Refused `server_without_tls`, `server_file_unreadable`.

    Once it is asked it may refuse: server_not_vouched_for, server_other_name, server_speaks_plainly (all
    three before anything is sent), server_login_refused, server_away.
    """
    local = address.host in LOOPBACK
    if not local and not address.root_ca:
        raise Refused("server_without_tls", {"host": address.host})
    if address.root_ca and not Path(address.root_ca).is_file():
        raise Refused("server_file_unreadable", {"file": Path(address.root_ca).name})
    options = {"connect_timeout": str(CONNECT_S)}
    if address.root_ca:
        options |= {"sslmode": "verify-full", "sslrootcert": address.root_ca}
    url = sa.URL.create("postgresql+psycopg", address.user, _password(address), address.host, address.port,
                        address.database, options)
    return sa.create_engine(url, pool_pre_ping=True, hide_parameters=True)


def check_layout(connection: sa.Connection) -> None:
    """Refused `server_not_ours` where the server was set up for another layout, or not at all."""
    if not sa.inspect(connection).has_table("layout"):
        raise Refused("server_not_ours")
    if connection.scalar(sa.select(sa.func.max(layout.c.revision))) != SCHEMA_REVISION:
        raise Refused("server_not_ours")


def _password(address: Address) -> str | None:
    if not address.password_file:
        return None
    try:
        return Path(address.password_file).read_text("utf-8").strip()
    except OSError as fault:
        raise Refused("server_file_unreadable", {"file": Path(address.password_file).name}) from fault
