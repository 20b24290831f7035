"""`kiosk sync` to a real server with a real certificate: only a server that proves its name gets a byte."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from kiosk.cli.main import main
from kiosk.i18n.language import load_language
from kiosk.storage import tables
from kiosk.wording.reasons import sentence
from tests.storage.certificates import Authority
from tests.storage.postgres_server import USER

HOST = "localhost"


@pytest.fixture(scope="module")
def authority() -> Authority:
    return Authority()


@pytest.fixture
def database(postgres, authority):
    """An empty database on a server with a certificate for its name; without TLS again afterwards."""
    name = f"tls{datetime.now(UTC):%H%M%S%f}"
    postgres.new_database(name)
    postgres.encrypts(*authority.certificate(HOST))
    yield name
    postgres.encrypts(None)


@pytest.fixture
def sync(postgres, database, authority, tmp_path: Path, capsys, monkeypatch):
    """Run `kiosk sync` with an address file; its exit code and what it said."""
    monkeypatch.chdir(tmp_path)
    Path("w").write_text("a lamp beside the harbour wall\n")
    Path("ca.pem").write_bytes(authority.root)
    signed = ["--store", "s.store", "--passphrase-file", "w"]
    assert main(["staff", "set-up", *signed]) == 0
    enrol(capsys, signed)

    def run(*words: str, **address: str) -> tuple[int, str]:
        Path("server.json").write_text(json.dumps({
            "host": HOST, "port": postgres.port, "database": database, "user": USER, "root_ca": "ca.pem"}
            | address))
        code = main(["sync", "--server", "server.json", *words, *signed])
        told = capsys.readouterr()
        return code, told.out + told.err
    return run


def enrol(capsys, signed: list[str]) -> None:
    """The site lead makes the site's key and its trust list, and loads it here."""
    site = ["--key", "site.key", "--key-passphrase-file", "w"]
    assert main(["trust", "key", *site]) == 0
    key = shown(capsys, signed)[1]
    assert main(["trust", "sign", *site, "list.json", "--kiosk", shown(capsys, signed)[0], key]) == 0
    fingerprint = capsys.readouterr().out.partition("fingerprint ")[2].split()[0]
    assert main(["trust", "load", "list.json", "--fingerprint", fingerprint, *signed]) == 0
    capsys.readouterr()


def shown(capsys, signed: list[str]) -> tuple[str, str]:
    """The kiosk's name and key, as it tells them."""
    capsys.readouterr()
    assert main(["trust", "show", *signed]) == 0
    name, _, rest = capsys.readouterr().out.partition(": key ")
    return name, rest.split(",")[0]


def connections_in_plain(postgres, database) -> int:
    """How many of this database's connections are not encrypted, as the server itself counts them."""
    with postgres.engine(database).connect() as connection:
        return connection.exec_driver_sql(
            "SELECT count(*) FROM pg_stat_ssl JOIN pg_stat_activity USING (pid) "
            f"WHERE datname = '{database}' AND NOT ssl AND pid <> pg_backend_pid()").scalar_one()


def rows_there(postgres, database) -> int:
    with postgres.engine(database).connect() as connection:
        if not sa.inspect(connection).has_table("staff"):
            return 0
        return connection.scalar(sa.select(sa.func.count()).select_from(tables.staff))


def test_the_steps_of_the_handbook_set_a_server_up_and_a_kiosk_sends_to_it_encrypted(
        postgres, database, sync, capsys):
    code, told = sync("--set-up")
    assert code == 0 and "\nSent " in told
    name = shown(capsys, ["--store", "s.store", "--passphrase-file", "w"])[0]
    assert main(["server", "login", "kiosk_01", "--kiosk", name, "--server", "server.json",
                 "--password-out", "secret"]) == 0
    capsys.readouterr()
    postgres.asks_for_passwords("kiosk_01")
    assert main(["staff", "add", "nurse", "--roles", "administer", "--new-passphrase-file", "w", "--store",
                 "s.store", "--passphrase-file", "w"]) == 0
    code, told = sync(user="kiosk_01", password_file="secret")
    assert code == 0 and told.endswith("took 0; erased 0 people.\n"), told
    assert rows_there(postgres, database) == 2
    assert connections_in_plain(postgres, database) == 0
    Path("secret").write_text("another word\n")
    assert refused(sync(user="kiosk_01", password_file="secret"), "server_login_refused")


def refused(ran: tuple[int, str], code: str) -> bool:
    return ran == (1, sentence(code, {}, load_language("en")) + "\n")


def certificates(authority: Authority) -> dict[str, tuple[tuple[bytes, bytes] | tuple[None], str]]:
    """What a server may show that is not the clinic's, and what is said of it."""
    earlier = datetime.now(UTC) - timedelta(days=9)
    return {
        "another authority": (Authority("elsewhere").certificate(HOST), "server_not_vouched_for"),
        "run out": (authority.certificate(HOST, earlier), "server_not_vouched_for"),
        "another name": (authority.certificate("records.harbour.example"), "server_other_name"),
        "none": ((None,), "server_speaks_plainly"),
    }


@pytest.mark.parametrize("shown", ["another authority", "run out", "another name", "none"])
def test_a_server_that_does_not_prove_its_name_is_refused_before_anything_is_sent(
        postgres, database, authority, sync, shown):
    certificate, code = certificates(authority)[shown]
    postgres.encrypts(*certificate)
    assert refused(sync("--set-up"), code)
    assert rows_there(postgres, database) == 0
    postgres.encrypts(*authority.certificate(HOST))
    assert sync("--set-up")[0] == 0
    assert rows_there(postgres, database) == 1


def test_each_refusal_has_a_sentence_of_its_own():
    codes = ("server_not_vouched_for", "server_other_name", "server_speaks_plainly", "server_login_refused",
             "server_away", "server_not_ours")
    assert len({sentence(code, {}, load_language("en")) for code in codes}) == len(codes)
