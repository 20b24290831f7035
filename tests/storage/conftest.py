"""One PostgreSQL server for all storage tests that need one, with one database of the kiosk's tables."""

from collections.abc import Callable, Iterator

import pytest
import sqlalchemy as sa

from kiosk.storage.server import server, set_up_server
from kiosk.storage.tables import metadata
from tests.needed_packages import need
from tests.storage.postgres_server import PostgresServer

NAME = "clinic"


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    need("postgresql")
    server = PostgresServer().start()
    server.new_database(NAME)
    engine = server.engine(NAME)
    set_up_server(engine)
    engine.dispose()
    yield server
    server.remove()


@pytest.fixture
def clinic_database(postgres: PostgresServer) -> Iterator[Callable[..., sa.Engine]]:
    """The database, empty; called, it gives an engine, as its owner or another user."""
    engines = []
    postgres.empty(NAME, [*metadata.tables, *(set(server.tables) - {"layout"})])

    def entered(user: str | None = None) -> sa.Engine:
        engines.append(postgres.engine(NAME, user) if user else postgres.engine(NAME))
        return engines[-1]

    yield entered
    for engine in engines:
        engine.dispose()
