"""The store by command, as a site lead types it: accounts, audit, backup and restore, one person's data."""

from pathlib import Path

import pytest

from kiosk.cli.main import main

WORDS, OTHER = "a lamp beside the harbour wall", "three grey boats in the rain"


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    """Run one command in a folder with passphrase files `w` and `w2`; its exit code and what it said."""
    monkeypatch.chdir(tmp_path)
    Path("w").write_text(WORDS + "\n")
    Path("w2").write_text(OTHER + "\n")

    def run(*words: str, name: str = "site", secret: str = "w") -> tuple[int, str]:
        code = main([*words, "--store", "s.store", "--name", name, "--passphrase-file", secret])
        told = capsys.readouterr()
        return code, told.out + told.err
    return run


def test_a_site_lead_sets_up_names_staff_and_recovers(at):
    code = at("staff", "set-up")[1].rpartition(": ")[2].strip()
    assert len(code) == 39
    assert at("staff", "set-up") == (1, "There is a key file s.store.keys already.\n")
    assert at("staff", "add", "nurse", "--roles", "administer", "--new-passphrase-file", "w2")[0] == 0
    assert at("staff", "list", name="nurse", secret="w2") == (
        0, "nurse: administer\nsite: administer, interpret, site_lead\n")
    refused = at("staff", "close", "site", name="nurse", secret="w2")
    assert refused == (1, "This needs the role site_lead.\n")
    assert at("staff", "close", "nurse")[0] == 0
    assert "nurse: administer (closed)" in at("staff", "list")[1]
    assert at("staff", "close", "site")[0] == 1
    Path("code").write_text(code)
    recovered = at("staff", "recover", "--code-file", "code", "--new-passphrase-file", "w2")
    assert recovered[0] == 0 and code not in recovered[1]
    assert at("staff", "list", secret="w2")[0] == 0
    assert at("staff", "list")[0] == 1
    assert not any(one in path.read_bytes() for path in Path().iterdir() if path.name.startswith("s.store")
                   for one in (WORDS.encode(), OTHER.encode(), code.encode()))
    assert Path("s.store").stat().st_mode & 0o077 == 0


def test_a_visit_is_backed_up_verified_restored_handed_out_and_erased(at):
    assert main(["demo", "--no-window", "--visits", "1", "--out", "o", "--store", "s.store",
                 "--passphrase-file", "w"]) == 0
    assert at("backup", "--to", "b")[0] == 0
    backup = str(next(Path("b").iterdir()))
    assert at("audit", "verify", "--backups", "b")[0] == 0
    assert at("audit", "verify", "--anchor", "9999-" + "00ff" * 8)[0] == 1
    assert at("restore", backup, "--prove")[0] == 0
    assert at("restore", backup)[0] == 1
    Path("s.store").rename("gone")
    Path("s.store.keys").rename("gone.keys")
    assert at("restore", backup)[0] == 0
    assert at("person", "export", "K-0412-7", "--out", "p")[0] == 0
    assert len(list(Path("p").glob("trial-*.csv"))) >= 11 and len(list(Path("p").glob("page-*.pdf"))) == 1
    assert '"code":"K-0412-7"' in Path("p/person.json").read_text()
    assert at("person", "erase", "K-0412-7", "--reason", "asked")[0] == 0
    assert at("person", "export", "K-0412-7", "--out", "p2")[0] == 1
    assert at("audit", "verify")[0] == 0


def test_a_wrong_passphrase_is_one_sentence_and_the_next_try_waits(at):
    at("staff", "set-up")
    assert at("staff", "list", secret="w2") == (1, "This name and passphrase do not open s.store.keys.\n")
    assert at("staff", "list")[1].startswith("Wait ")
