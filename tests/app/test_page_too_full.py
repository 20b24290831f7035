"""A page that fits no sheet is told, nothing scored is lost, and the visit is there to be opened again."""

from dataclasses import replace

import pytest

from kiosk.i18n.language import load_language
from kiosk.report import page
from kiosk.report.sheet import Overflow
from kiosk.staff.actions import StaffAction
from kiosk.staff.results import PickVisit
from tests.app.fake_kiosk import FakeKiosk, new_person, whole_visit


@pytest.fixture
def kiosk(tmp_path, monkeypatch) -> FakeKiosk:
    """A visit ended at a kiosk whose German pages are too full."""
    kiosk, lay_out = FakeKiosk(tmp_path), page.lay_out

    def too_full_in_german(sheet, content):
        if content.language == "de":
            raise Overflow("page")
        return lay_out(sheet, content)

    monkeypatch.setattr(page, "lay_out", too_full_in_german)
    kiosk.driver.deps = replace(kiosk.deps, languages={tag: load_language(tag) for tag in ("en", "de")})
    kiosk.driver.know(replace(kiosk.driver.context, languages=("en", "de"), language="de"))
    kiosk.unlock()
    new_person(kiosk)
    whole_visit(kiosk, language="en")
    return kiosk


def test_a_page_too_full_is_told_and_the_way_leads_to_today(kiosk):
    assert kiosk.screen == "refused" and "A4" in kiosk.view.sentence
    kiosk.do(StaffAction.BACK)
    assert kiosk.screen == "today"
    assert [row.state for row in kiosk.driver.state.screen.rows] == ["not_concluded"]


def test_in_another_language_the_visit_is_opened_again_with_its_scores(kiosk):
    visit_id = kiosk.driver.visit.id
    before = kiosk.store.scores_of(visit_id)
    kiosk.do(StaffAction.BACK)
    kiosk.driver.know(replace(kiosk.driver.context, language="en"))
    kiosk.do(PickVisit(visit_id))
    kiosk.frame(3)
    assert kiosk.screen == "results"
    assert kiosk.store.scores_of(visit_id).blocks == before.blocks
    (kept,) = kiosk.store.reports_of(visit_id)
    assert kept.language == "en"
