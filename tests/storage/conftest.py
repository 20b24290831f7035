"""One PostgreSQL server for all storage tests that need one, with the kiosk's tables as a template."""

import itertools
from collections.abc import Callable, Iterator

import pytest
import sqlalchemy as sa

from kiosk.storage.server_schema import set_up_server
from tests.storage.postgres_server import PostgresServer, programs

NUMBER = itertools.count(1)


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    if programs() is None:
        pytest.skip("PostgreSQL is not installed (package postgresql)")
    server = PostgresServer().start()
    server.new_database("kiosk_template")
    engine = server.engine("kiosk_template")
    set_up_server(engine)
    engine.dispose()
    yield server
    server.remove()


@pytest.fixture
def clinic_database(postgres: PostgresServer) -> Iterator[Callable[..., sa.Engine]]:
    """An own database with the kiosk's tables; called, it gives an engine, as its owner or another user."""
    name, engines = f"clinic{next(NUMBER)}", []
    postgres.new_database(name, "kiosk_template")

    def entered(user: str | None = None) -> sa.Engine:
        engines.append(postgres.engine(name, user) if user else postgres.engine(name))
        return engines[-1]

    yield entered
    for engine in engines:
        engine.dispose()
