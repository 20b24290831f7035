"""What leaves for research by command: of all visits only those that may, and nobody's name."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from kiosk.app.store_opening import SignIn, open_store
from kiosk.cli.composition import machine
from kiosk.cli.main import main
from kiosk.scoring.trial_scores import BlockScore
from kiosk.storage import tables
from kiosk.storage.erasure import erase_person
from kiosk.visits.staff_archive import Amendment
from tests.storage.examples import BEGINS, Examples
from tests.storage.search import words

WORDS = "a lamp beside the harbour wall"
STORE = ("--store", "s.store", "--passphrase-file", "w")
MAY = 7.125  # mm; every visit has a value of its own


@pytest.fixture
def store(tmp_path: Path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("w").write_text(WORDS + "\n")
    assert main(["staff", "set-up", *STORE]) == 0
    return open_store(Path("s.store"), SignIn(WORDS), machine()).store


def kept(store, value: float, purpose: str, use: str) -> Examples:
    """A person with names and one scored visit whose only score has this value."""
    ex = Examples(round(1000 * value))
    ex.person = replace(ex.person, code=f"ZQ-{round(1000 * value)}-K", family_name="Quillfeather",
                        given_name="Wilhelmina", birth_date="1954-05-17")
    ex.visit = replace(ex.visit, purpose=purpose, research_use=use)
    ex.begin(store)
    block = BlockScore("steady.preferred.scatter", value, value / 3, 0.04, 3, "mm")
    store.add_scores(ex.visit.id, 1, [], [block])
    return ex


def test_only_what_may_leave_leaves_and_names_and_birth_dates_never(store):
    may = kept(store, MAY, "reference", "yes")
    values = iter(7.25 + 0.125 * number for number in range(16))
    for purpose in ("care", "training", "demo"):
        kept(store, next(values), purpose, "yes")
    for use in ("no", "not_asked"):
        kept(store, next(values), "reference", use)
        kept(store, next(values), "retest", use)
    back = kept(store, next(values), "retest", "yes")
    store.begin_visit(replace(back.visit, id=back.new_id(), purpose="care", research_use="no",
                              started_at=BEGINS + timedelta(days=1)))
    void = kept(store, next(values), "reference", "yes")
    store.amend(Amendment("visit", void.visit.id, "void", "wrong person"))
    gone = kept(store, next(values), "reference", "yes")
    erase_person(store.ledger, gone.person.id, "asked")
    store.close()
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    content = b"".join(path.read_bytes() for path in Path().glob("sample*"))
    text = content.decode()
    assert str(MAY) in text and text.count("P0000") == 1
    assert [one for number in range(16) if (one := str(7.25 + 0.125 * number)) in text] == []
    ids = {str(may.person.id), may.person.id.hex, str(may.visit.id), str(may.device.id)}
    planted = words("Quillfeather", "Wilhelmina", "1954-05", may.person.code, *ids)
    assert [what for what, piece in planted.items() if piece in content] == []


def test_a_research_package_holds_the_same_visits_and_no_others(store, capsys):
    may = kept(store, MAY, "reference", "yes")
    kept(store, 7.25, "care", "yes")
    kept(store, 7.375, "reference", "no")
    store.close()
    assert main(["export", "all", "--to", "csv", "--out", "package", *STORE]) == 0
    content = b"".join(path.read_bytes() for path in Path("package").iterdir())
    assert str(MAY).encode() in content and b"7.25" not in content and b"7.375" not in content
    planted = words("Quillfeather", "Wilhelmina", "1954-05", may.person.code, str(may.person.id))
    assert [what for what, piece in planted.items() if piece in content] == []
    assert "1 visits of 1 people are in package." in capsys.readouterr().out
    lines = open_store(Path("s.store"), SignIn(WORDS), machine()).store.ledger.all(
        sa.select(tables.audit).where(tables.audit.c.action == "export_package"))
    assert [line["object_kind"] for line in lines] == ["package"]


def test_an_account_that_may_only_run_visits_cannot_export(store, capsys):
    may = kept(store, MAY, "reference", "yes")
    store.close()
    Path("w2").write_text("another lamp beside the wall\n")
    assert main(["staff", "add", "nurse", "--roles", "administer", "--new-passphrase-file", "w2",
                 *STORE]) == 0
    asked = ("--store", "s.store", "--passphrase-file", "w2", "--name", "nurse")
    for kind in ("csv", "sample", "bids", "fhir"):
        assert main(["export", "all", "--to", kind, "--out", "out", *asked]) == 1
    visit = str(may.visit.id)
    for more in ((), ("--identified",)):
        assert main(["export", visit, "--to", "fhir", "--out", "out", *more, *asked]) == 1
    assert not Path("out").exists()


def test_one_visit_goes_out_de_identified_where_agreed_and_identified_where_asked_in_words(store, capsys):
    may, care = kept(store, MAY, "reference", "yes"), kept(store, 7.25, "care", "not_asked")
    store.close()
    assert main(["export", str(may.visit.id), "--to", "fhir", "--out", "may.json", *STORE]) == 0
    assert main(["export", str(care.visit.id), "--to", "fhir", "--out", "care.json", *STORE]) == 1
    assert not Path("care.json").exists() and "--identified" in capsys.readouterr().err
    assert main(["export", str(care.visit.id), "--to", "fhir", "--identified", "--out", "care.json",
                 "--release", "R5", *STORE]) == 0
    open_text, filed = Path("may.json").read_text(), Path("care.json").read_text()
    assert may.person.code not in open_text and "1954" not in open_text
    assert care.person.code in filed and '"birthDate": "1954"' in filed and "Quillfeather" not in filed
    assert main(["export", str(may.visit.id), "--to", "csv", "--out", "x", *STORE]) == 2
    assert main(["export", "all", "--to", "fhir", "--identified", "--out", "x", *STORE]) == 2


def test_one_visit_of_a_person_of_ninety_leaves_only_identified(store, capsys):
    old = kept(store, MAY, "reference", "yes")
    store.add_person(replace(old.person, birth_date="1930-05-17"))
    store.close()
    assert main(["export", str(old.visit.id), "--to", "fhir", "--out", "old.json", *STORE]) == 1
    assert not Path("old.json").exists()
    asked = ("export", str(old.visit.id), "--to", "fhir", "--identified", "--out", "old.json")
    assert main([*asked, *STORE]) == 0


@pytest.mark.parametrize("kind", ["bids", "fhir"])
def test_all_visits_go_out_as_a_dataset_or_as_bundles_and_only_those_that_may(store, kind):
    ex = kept(store, MAY, "reference", "yes")
    store.add_trial(ex.trial())
    kept(store, 7.25, "care", "yes")
    store.close()
    assert main(["export", "all", "--to", kind, "--out", "out", *STORE]) == 0
    names = [path.name for path in Path("out").rglob("*") if path.is_file()]
    assert len([name for name in names if "P00001" in name]) >= 1
    assert not [name for name in names if "P00002" in name]


def test_where_nobody_agreed_nothing_is_written(store, capsys):
    kept(store, 8.0, "reference", "no")
    store.close()
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 1
    assert not Path("sample.csv").exists()


def test_what_leaves_for_research_is_chosen_in_one_place_only():
    """A way out that picks visits by itself would not know who took the agreement back."""
    root = Path(__file__).parents[2] / "kiosk"
    choosing = [path.name for path in root.rglob("*.py") if ".research_use" in path.read_text()
                and path.parent.name != "wording"]
    assert sorted(choosing) == ["data_subject_rights.py", "listed.py", "research_rows.py", "sample_csv.py"]
