"""Two kiosks of a clinic as their site leads set them up: by command, each with its own key, one server."""

import json
from pathlib import Path

import pytest
import sqlalchemy as sa

from kiosk.command import main
from kiosk.storage import tables
from tests.storage.postgres_server import USER

WORDS = {"a": "a lamp beside the harbour wall", "b": "three grey boats in the rain"}


@pytest.fixture
def at(postgres, clinic_database, tmp_path: Path, monkeypatch, capsys):
    """Run a command at kiosk `a` or `b`; its exit code and what it said."""
    monkeypatch.chdir(tmp_path)
    owner = clinic_database()
    Path("server.json").write_text(json.dumps({
        "host": "127.0.0.1", "port": postgres.port, "database": owner.url.database, "user": USER}))
    for kiosk, words in WORDS.items():
        Path(f"{kiosk}.words").write_text(words + "\n")

    def run(kiosk: str, *words: str) -> tuple[int, str]:
        code = main([*words, "--store", f"{kiosk}.store", "--passphrase-file", f"{kiosk}.words"])
        told = capsys.readouterr()
        return code, told.out + told.err
    run.server = owner
    return run


@pytest.fixture
def synced(at):
    """A visit at a, sent to the server, taken at b."""
    assert at("a", "demo", "--no-window", "--visits", "1", "--out", "out")[0] == 0
    assert at("b", "staff", "set-up")[0] == 0
    for kiosk in "ab":
        assert at(kiosk, "sync", "--server", "server.json")[0] == 0
    return at


def test_no_two_kiosks_have_the_same_name_and_a_visit_of_one_is_whole_in_the_other(synced):
    with synced.server.connect() as connection:
        names = connection.scalars(sa.select(tables.audit.c.kiosk_id).distinct()).all()
    assert len(names) == 2
    visit = json.loads(Path("out/findings.json").read_text())["visits"][0]["visit"]["id"]
    assert synced("b", "report", visit, "--out", "again.pdf")[0] == 0
    for kiosk in "ab":
        assert synced(kiosk, "person", "export", "K-0412-7", "--out", kiosk)[0] == 0
    samples = {kiosk: {path.name: path.read_bytes() for path in Path(kiosk).glob("trial-*.csv")}
               for kiosk in "ab"}
    assert samples["a"] == samples["b"] and len(samples["a"]) == 11
    for kiosk in "ab":
        assert synced(kiosk, "audit", "verify")[0] == 0


def test_a_site_pack_is_loaded_only_under_the_fingerprint_read_out_where_it_was_made(at):
    assert at("a", "demo", "--no-window", "--visits", "1", "--out", "out")[0] == 0  # keeps the demo's table
    assert at("b", "staff", "set-up")[0] == 0
    code, told = at("a", "site-pack", "export", "tables.zip")
    read_out = told.split()[-1]
    assert code == 0 and len(read_out) == 24
    other = read_out[:-1] + ("0" if read_out[-1] != "0" else "1")
    code, told = at("b", "site-pack", "load", "tables.zip", "--fingerprint", other)
    assert code == 1 and read_out in told
    loaded = at("b", "site-pack", "load", "tables.zip", "--fingerprint", read_out.lower())
    assert loaded == (0, f"Fingerprint: {read_out}\nNew reference tables: 1\n")
    assert at("b", "site-pack", "export", "again.zip")[1].split()[-1] == read_out
    assert Path("again.zip").read_bytes() == Path("tables.zip").read_bytes()


def test_accounts_of_another_kiosk_open_nothing_and_lead_nothing_here(synced):
    for kiosk in "ab":
        assert synced(kiosk, "staff", "list")[1].count("site_lead") == 1
    code, told = synced("b", "staff", "close", "site")
    assert code == 1 and "last site lead" in told


def test_a_person_erased_at_one_kiosk_is_gone_at_the_other_and_on_the_server(synced):
    assert synced("b", "person", "erase", "K-0412-7", "--reason", "asked", "--server", "server.json")[0] == 0
    for kiosk in "ba":
        assert synced(kiosk, "sync", "--server", "server.json")[0] == 0
    assert synced("a", "person", "export", "K-0412-7", "--out", "x") == (
        1, "Nobody in the store has the code K-0412-7.\n")
    with synced.server.connect() as connection:
        assert connection.scalar(sa.select(sa.func.count()).select_from(tables.person)) == 0
        assert connection.scalar(sa.select(sa.func.count()).select_from(tables.trial)) == 0
