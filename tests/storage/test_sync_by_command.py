"""Two kiosks of a clinic as their site leads set them up: by command, each with its own key, one server."""

import json
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path

import pytest
import sqlalchemy as sa

from kiosk.cli.main import main
from kiosk.storage import tables
from kiosk.storage.server import received
from tests.storage.postgres_server import USER

WORDS = {"a": "a lamp beside the harbour wall", "b": "three grey boats in the rain"}


class Clinic:
    """Two kiosks and their server; `at` runs a command at one: its exit code and what it said."""

    def __init__(self, folder: Path, server: sa.Engine, port: int) -> None:
        self.folder, self.server = folder, server
        self.address = folder / "server.json"
        self.address.write_text(json.dumps({
            "host": "127.0.0.1", "port": port, "database": server.url.database, "user": USER}))
        for kiosk, words in WORDS.items():
            (folder / f"{kiosk}.words").write_text(words + "\n")

    def at(self, kiosk: str, *words: object) -> tuple[int, str]:
        told = StringIO()
        with redirect_stdout(told), redirect_stderr(told):
            code = main([*map(str, words), "--store", str(self.folder / f"{kiosk}.store"),
                         "--passphrase-file", str(self.folder / f"{kiosk}.words")])
        return code, told.getvalue()

    def enrol(self) -> None:
        """The site lead makes the two keys and the trust list, and loads it at both kiosks."""
        for name in ("site", "eraser"):
            assert self.off("trust", "key", *self.key(name))[0] == 0
        kiosks = [word for one in "ab" for word in ("--kiosk", *self.shown(one))]
        eraser = json.loads((self.folder / "eraser.key").read_text())["public"]
        code, told = self.off("trust", "sign", *self.key("site"), self.folder / "list.json", *kiosks,
                              "--eraser", eraser)
        assert code == 0
        for one in "ab":
            assert self.at(one, "trust", "load", self.folder / "list.json", "--fingerprint",
                           told.partition("fingerprint ")[2].split()[0])[0] == 0

    def key(self, name: str) -> tuple[object, ...]:
        return ("--key", self.folder / f"{name}.key", "--key-passphrase-file", self.folder / "a.words")

    def shown(self, kiosk: str) -> tuple[str, str]:
        name, _, rest = self.at(kiosk, "trust", "show")[1].partition(": key ")
        return name, rest.split(",")[0]

    def off(self, *words: object) -> tuple[int, str]:
        """A command that opens no store."""
        told = StringIO()
        with redirect_stdout(told), redirect_stderr(told):
            code = main([*map(str, words)])
        return code, told.getvalue()

    def sync(self, kiosk: str, *more: str) -> int:
        return self.at(kiosk, "sync", "--server", self.address, *more)[0]


@pytest.fixture(scope="module")
def clinic(postgres, tmp_path_factory) -> Iterator[Clinic]:
    """A visit at a; b is new. The tests below follow each other as the days of a clinic do."""
    postgres.new_database("two_kiosks")
    engine = postgres.engine("two_kiosks")
    clinic = Clinic(tmp_path_factory.mktemp("clinic"), engine, postgres.port)
    assert clinic.at("a", "demo", "--no-window", "--visits", "1", "--out", clinic.folder / "out")[0] == 0
    assert clinic.at("b", "staff", "set-up")[0] == 0
    yield clinic
    engine.dispose()


def test_a_site_pack_is_loaded_only_under_the_fingerprint_read_out_where_it_was_made(clinic):
    pack, again = clinic.folder / "tables.zip", clinic.folder / "again.zip"
    code, told = clinic.at("a", "site-pack", "export", pack)
    read_out = told.split()[-1]
    assert code == 0 and len(read_out) == 24
    other = read_out[:-1] + ("0" if read_out[-1] != "0" else "1")
    code, told = clinic.at("b", "site-pack", "load", pack, "--fingerprint", other)
    assert code == 1 and read_out in told
    loaded = clinic.at("b", "site-pack", "load", pack, "--fingerprint", read_out.lower())
    assert loaded == (0, f"Fingerprint: {read_out}\nNew reference tables: 1\n")
    assert clinic.at("b", "site-pack", "export", again)[1].split()[-1] == read_out
    assert again.read_bytes() == pack.read_bytes()


def test_no_two_kiosks_have_the_same_name_and_a_visit_of_one_is_whole_in_the_other(clinic):
    code, told = clinic.at("a", "sync", "--server", clinic.address, "--set-up")
    assert code == 1 and "is not on a trust list" in told
    clinic.enrol()
    assert [clinic.sync("a"), clinic.sync("b")] == [0, 0]
    with clinic.server.connect() as connection:
        names = connection.scalars(sa.select(tables.audit.c.kiosk_id).distinct()).all()
    assert len(names) == 2
    visit = json.loads((clinic.folder / "out/findings.json").read_text())["visits"][0]["visit"]["id"]
    assert clinic.at("b", "report", visit, "--out", clinic.folder / "again.pdf")[0] == 0
    samples = {}
    for kiosk in "ab":
        out = clinic.folder / kiosk
        assert clinic.at(kiosk, "person", "export", "K-0412-7", "--out", out)[0] == 0
        samples[kiosk] = {path.name: path.read_bytes() for path in out.glob("trial-*.csv")}
    assert samples["a"] == samples["b"] and len(samples["a"]) == 11
    assert [clinic.at(kiosk, "audit", "verify")[0] for kiosk in "ab"] == [0, 0]


def test_what_stays_out_is_told_by_name_once_and_without_control_characters(clinic):
    with clinic.server.begin() as connection:
        connection.execute(received.insert(), {
            "table_name": "no\x1b[2Jtable", "row_key": "K", "kiosk_id": "01", "sha256": "",
            "received_at": datetime.now(UTC), "signature": "00"})
    code, told = clinic.at("b", "sync", "--server", clinic.address)
    assert code == 1 and "no?[2Jtable: K from 01 stays out: unknown table." in told
    code, told = clinic.at("b", "sync", "--server", clinic.address)
    assert code == 0 and "K from 01" not in told and "Rows that stay out, in all: 1" in told
    with clinic.server.begin() as connection:
        connection.execute(received.delete().where(received.c.row_key == "K"))


def test_accounts_of_another_kiosk_open_nothing_and_lead_nothing_here(clinic):
    for kiosk in "ab":
        assert clinic.at(kiosk, "staff", "list")[1].count("site_lead") == 1
    code, told = clinic.at("b", "staff", "close", "site")
    assert code == 1 and "last site lead" in told


def test_a_person_erased_at_one_kiosk_is_gone_at_the_other_and_on_the_server(clinic):
    erased = clinic.at("b", "person", "erase", "K-0412-7", "--reason", "asked", "--server", clinic.address,
                       *clinic.key("eraser"))
    assert erased[0] == 0
    assert [clinic.sync(kiosk) for kiosk in "ba"] == [0, 0]
    assert clinic.at("a", "person", "export", "K-0412-7", "--out", clinic.folder / "x") == (
        1, "Nobody in the store has the code K-0412-7.\n")
    with clinic.server.connect() as connection:
        assert connection.scalar(sa.select(sa.func.count()).select_from(tables.person)) == 0
        assert connection.scalar(sa.select(sa.func.count()).select_from(tables.trial)) == 0


def test_a_login_gets_a_new_password_and_what_was_erased_is_cleared_by_the_owner(clinic):
    words = []
    for _ in range(2):
        code, told = clinic.off("server", "login", "kiosk_b7", "--server", clinic.address, "--kiosk", "b",
                                "--password-out", clinic.folder / "secret")
        words.append((clinic.folder / "secret").read_text())
        assert code == 0 and words[-1].strip() not in told
    assert len(set(words)) == 2
    wrong = clinic.off("server", "login", "B;", "--server", clinic.address,
                       "--password-out", clinic.folder / "x")
    assert wrong[0] == 1 and "B;" in wrong[1]
    assert clinic.off("server", "clear", "--server", clinic.address)[0] == 0
