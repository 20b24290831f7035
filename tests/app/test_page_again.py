"""A page made again names the place the visit was at, whatever the kiosk or the command is told since."""

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from kiosk.app.concluded_visit import leaflet
from kiosk.app.conclusion import Imprint, remake
from kiosk.app.context import CLINIC, KIOSK_NAME
from kiosk.i18n.language import load_language
from tests.app.fake_kiosk import FakeKiosk, new_person, whole_visit

PLACE = "Room 4, Outpatients of an Invented Town"


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    kiosk = FakeKiosk(tmp_path)
    kiosk.driver.deps = replace(kiosk.deps, place=PLACE)
    kiosk.unlock()
    new_person(kiosk)
    whole_visit(kiosk)
    return kiosk


def page_again(kiosk: FakeKiosk, place: str, **changed) -> str:
    visit = replace(kiosk.driver.visit, **changed)
    imprint = Imprint(place, KIOSK_NAME, "0.1.0", kiosk.now_local())
    pdf = remake(kiosk.store, visit, load_language("en"), imprint, kiosk.new_id).pdf
    return " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())


def test_the_place_is_kept_with_the_visit_and_stands_on_its_page_made_again(kiosk):
    again = page_again(kiosk, "Elsewhere")
    assert PLACE in again and "Elsewhere" not in again and CLINIC not in again


def test_a_place_that_is_given_stands_where_a_visit_keeps_none(kiosk):
    rest = {name: said for name, said in kiosk.driver.visit.intake.items() if name != "place"}
    assert "Elsewhere" in page_again(kiosk, "Elsewhere", intake=rest)


@pytest.mark.parametrize(("paper", "size_pt"), [("A4", (595.3, 841.9)), ("Letter", (612.0, 792.0))])
def test_every_sheet_of_a_visit_is_on_the_kiosk_s_paper(tmp_path, paper, size_pt):
    """ISO 216 A4, 210 x 297 mm; ANSI/ASME Y14.1 A (Letter), 8.5 x 11 inches."""
    kiosk = FakeKiosk(tmp_path)
    kiosk.driver.deps = replace(kiosk.deps, paper=paper)
    kiosk.unlock()
    new_person(kiosk)
    whole_visit(kiosk)
    report = kiosk.store.reports_of(kiosk.driver.visit.id)[-1]
    for pdf in (kiosk.driver.made.pdf, report.pdf, leaflet(kiosk.driver).pdf):
        box = PdfReader(BytesIO(pdf)).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size_pt, abs=0.1)
    assert report.paper == paper
