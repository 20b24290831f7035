"""The provenance sheet of a built table: one page, with verdict, people and every measure's checks."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from kiosk.cli.main import main
from kiosk.i18n.language import load_language
from kiosk.report.provenance import provenance_pdf
from norms.build.provenance import ProvenanceSheet
from tests.norms.sample_people import SIX, as_csv, even_ages, lines

HEADS = ("measure", "scale", "people", "as good as", "5th may be", "retest", "z mean", "SD", "skew", "below")
FIRST = ("steady.preferred.scatter", "log", "420", "38 to 190", "1.6 to 11.4")
ROW = (*FIRST, "60, 0.79", "+0.00", "1.00", "-0.1", "5/10/90/95")
SHEET = ProvenanceSheet(
    "Reference table harbour 1.0.0",
    "usable with caution",
    (("Why", ("Something is wanting.",)), ("Who was tested", ("population: invented", "420 people"))),
    (HEADS, ROW),
    (("measure", "ages", "people"), ("steady.preferred.scatter", "20 to 40", "140")),
    "A table built here describes the people tested, nobody else.",
)  # fmt: skip


def words_of(pdf: bytes) -> str:
    pages = PdfReader(BytesIO(pdf)).pages
    assert len(pages) == 1
    return " ".join(pages[0].extract_text().split())


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_sheet_is_one_page_that_says_all_it_is_given(paper: str) -> None:
    words = words_of(provenance_pdf(SHEET, load_language("en"), paper))
    for said in (SHEET.title, "Verdict: usable with caution", "population: invented", *ROW, SHEET.note):
        assert said in words


def test_the_same_sheet_is_the_same_bytes() -> None:
    assert provenance_pdf(SHEET, load_language("en")) == provenance_pdf(SHEET, load_language("en"))


def test_where_all_measures_do_not_fit_the_primary_ones_stand_and_the_sheet_says_so() -> None:
    many = [(f"steady.preferred.other{place}", *ROW[1:]) for place in range(80)]
    words = words_of(provenance_pdf(replace(SHEET, grid=(SHEET.grid[0], ROW, *many)), load_language("en")))
    assert "The other measures stand in checks.json." in words and ROW[0] in words and "other79" not in words


def test_kiosk_norms_build_draws_the_sheet_beside_the_checks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sample.csv").write_bytes(as_csv(lines(even_ages(320, seed=1), 1, SIX)))
    assert main(["norms", "build", str(tmp_path / "sample.csv"), "--out", str(tmp_path / "out")]) == 0
    words = words_of((tmp_path / "out" / "checks" / "sheet.pdf").read_bytes())
    assert "Verdict: usable with caution" in words and "320 people of" in words
    assert all(measure in words for measure in SIX)
