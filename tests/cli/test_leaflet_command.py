"""`kiosk leaflet VISIT`: from the store, by page tag or id, in the language of the visit."""

import json
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from kiosk.cli.main import main

WORDS = "a lamp beside the harbour wall"
OWN = "Sie können im Archiv, Zimmer 2, danach fragen."


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo visit given in German, with its store."""
    folder = tmp_path_factory.mktemp("leaflet")
    (folder / "w").write_text(WORDS + "\n")
    assert main(["demo", "--no-window", "--visits", "1", "--seed", "7", "--language", "de", "--out",
                 str(folder / "out"), "--store", str(folder / "s.store"), "--passphrase-file",
                 str(folder / "w")]) == 0
    return folder


@pytest.fixture
def leaflet(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
            capsys: pytest.CaptureFixture[str]):
    """Run the command elsewhere; its exit code and what it said."""
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> tuple[int, str]:
        code = main(["leaflet", *words, "--store", str(folder / "s.store"), "--passphrase-file",
                     str(folder / "w")])
        told = capsys.readouterr()
        return code, told.out + told.err
    return run


def visit_and_tag(folder: Path) -> tuple[str, str]:
    visit = json.loads((folder / "out" / "findings.json").read_text())["visits"][0]["visit"]["id"]
    return visit, PdfReader(folder / "out" / "report.pdf").metadata.title.rpartition(" ")[2]


def text(pdf: bytes) -> str:
    return " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())


def test_by_tag_and_by_id_the_store_gives_the_bytes_of_the_demo(folder, leaflet, tmp_path):
    visit, tag = visit_and_tag(folder)
    assert leaflet(tag) == (0, f"Leaflet saved: {tag}-leaflet.pdf\n")
    assert leaflet(visit, "--out", "other.pdf")[0] == 0
    demos = (folder / "out" / "leaflet.pdf").read_bytes()
    assert Path(f"{tag}-leaflet.pdf").read_bytes() == Path("other.pdf").read_bytes() == demos
    assert PdfReader(BytesIO(demos)).trailer["/Root"]["/Lang"] == "de" and tag in text(demos)
    assert "12. Jan. 2026" in text(demos) and "K-0412-7" not in text(demos)


def test_the_sites_own_sentence_beside_the_store_takes_the_place_of_the_usual_one(folder, leaflet):
    _, tag = visit_and_tag(folder)
    beside = folder / "s.rights"
    beside.write_text(f"de: {OWN}\n", "utf-8")
    try:
        assert leaflet(tag)[0] == 0 and OWN in text(Path(f"{tag}-leaflet.pdf").read_bytes())
        beside.write_text("de Ohne Doppelpunkt\n")
        assert leaflet(tag) == (1, "s.rights, row 1: must be a language, a colon and a sentence (en: ...), "
                                   "got de Ohne Doppelpunkt.\n")
    finally:
        beside.unlink()


def test_an_unknown_visit_and_a_place_that_cannot_be_written_are_refused(folder, leaflet):
    _, tag = visit_and_tag(folder)
    assert leaflet("99-99") == (1, "There is no visit 99-99 in the store.\n")
    code, told = leaflet(tag, "--out", "nowhere/leaflet.pdf")
    assert code == 1 and "leaflet.pdf" in told
