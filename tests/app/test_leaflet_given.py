"""The leaflet at the desk: printed, saved and noted like the page, in the person's language."""

from dataclasses import replace
from io import BytesIO

import pytest
import sqlalchemy as sa
from pypdf import PdfReader

from kiosk.app.leaflet import leaflet_of
from kiosk.app.listed import visit_state
from kiosk.base.errors import Refused
from kiosk.i18n.language import load_language
from kiosk.staff.actions import Key, StaffAction
from kiosk.staff.new_person import NewPersonAction
from kiosk.staff.page import PageAction
from kiosk.staff.printing import PaperAction
from kiosk.staff.sign import SignAction
from kiosk.staff.today import TodayAction
from kiosk.storage import tables
from kiosk.visits.actions import Action
from kiosk.visits.staff import AtWork
from norms import Refusal
from tests.app.fake_kiosk import FakeKiosk, new_person, whole_visit
from tests.app.locked_kiosk import LockedKiosk

PLACE = "Room 4, Outpatients of an Invented Town"
OWN = "You can ask the records office, room 2, what was kept."


def read(pdf: bytes) -> str:
    return " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())


def outputs(kiosk: FakeKiosk) -> list[str]:
    lines = kiosk.store.ledger.all(sa.select(tables.audit).order_by(tables.audit.c.seq))
    return [one["action"] for one in lines if one["action"].startswith(("print", "save"))]


def actions(view) -> set[Action]:
    return {control.action for control in view.controls}


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    return on_its_page(tmp_path)


@pytest.fixture(scope="module")
def only_read(tmp_path_factory) -> FakeKiosk:
    """For what changes nothing."""
    return on_its_page(tmp_path_factory.mktemp("kiosk"))


def on_its_page(folder) -> FakeKiosk:
    """A visit given in German, on its page."""
    kiosk = FakeKiosk(folder)
    languages = {tag: load_language(tag) for tag in ("en", "de")}
    kiosk.driver.deps = replace(kiosk.deps, place=PLACE, languages=languages)
    kiosk.driver.know(replace(kiosk.driver.context, languages=("en", "de")))
    kiosk.unlock()
    new_person(kiosk)
    whole_visit(kiosk, language="de")
    kiosk.do(StaffAction.NEXT)
    return kiosk


def page_of(kiosk):
    return kiosk.store.reports_of(kiosk.driver.visit.id)[-1]


def test_the_leaflet_is_printed_beside_the_page_and_the_page_is_still_not(kiosk):
    assert PaperAction.LEAFLET in actions(kiosk.view)
    kiosk.do(PaperAction.LEAFLET)
    assert kiosk.view.headline == "Leaflet for the person" and "German" in kiosk.view.sentence
    kiosk.do(PaperAction.PRINT)
    kiosk.frame(3)
    job, page = kiosk.jobs[-1], page_of(kiosk)
    assert job.tag == f"{page.page_tag}-leaflet" and len(PdfReader(BytesIO(job.pdf)).pages) == 1
    assert kiosk.view.sentence == f"Printer: Room 4. Take the leaflet marked {page.page_tag}."
    assert outputs(kiosk) == ["print_leaflet"]
    assert not kiosk.store.was_put_out(page.id)
    assert visit_state(kiosk.store, kiosk.driver.visit.id) == "not_printed"
    kiosk.do(StaffAction.NEXT)
    assert kiosk.screen == "page"
    kiosk.do(PaperAction.PRINT)
    kiosk.frame(3)
    assert kiosk.jobs[-1].pdf == page.pdf and outputs(kiosk) == ["print_leaflet", "print"]


def test_after_the_page_the_leaflet_is_one_touch_away_and_saved_under_its_own_name(kiosk, tmp_path):
    kiosk.do(PaperAction.SAVE, PaperAction.LEAFLET, PaperAction.SAVE)
    tag = page_of(kiosk).page_tag
    assert kiosk.view.sentence == f"Leaflet saved: {tag}-leaflet.pdf"
    saved = {path.name: path.read_bytes() for path in (tmp_path / "pages").iterdir()}
    assert saved[f"{tag}.pdf"] == page_of(kiosk).pdf and set(saved) == {f"{tag}.pdf", f"{tag}-leaflet.pdf"}
    assert outputs(kiosk) == ["save", "save_leaflet"]
    assert visit_state(kiosk.store, kiosk.driver.visit.id) == "not_reviewed"
    assert PaperAction.LEAFLET not in actions(kiosk.view)


def test_it_is_in_the_persons_language_whatever_staff_read(kiosk):
    kiosk.do(PaperAction.LEAFLET, PaperAction.SAVE)
    visit, german = kiosk.driver.visit, load_language("de")
    made = leaflet_of(kiosk.store, visit, german, "", {})
    assert visit.language == made.words.language == "de" and kiosk.driver.context.language == "en"
    assert (made.words.place, made.words.day) == (PLACE, "25. Nov. 2026")
    path = next(kiosk.driver.deps.pages_folder.glob("*-leaflet.pdf"))
    assert path.read_bytes() == made.pdf and PdfReader(path).trailer["/Root"]["/Lang"] == "de"


def test_nothing_of_the_person_and_no_result_stands_in_it(only_read):
    kiosk, store = only_read, only_read.store
    visit = kiosk.driver.visit
    person = store.person(visit.person_id)
    made = leaflet_of(store, visit, load_language("en"), "", {})
    told = read(made.pdf) + str(PdfReader(BytesIO(made.pdf)).metadata)
    page = kiosk.driver.made.content
    cells = page.values.cells if page.values is not None else []
    rows = page.profile.rows if page.profile is not None else ()
    planted = {person.code, person.birth_date, str(person.id), str(visit.id), "1954", "mm", " ms"}
    planted |= {cell for row in cells for cell in row if cell} | {row.value for row in rows}
    planted |= {one.value for one in page.identity if len(one.value) > 3}
    assert len(planted) > 10 and person.code in read(page_of(kiosk).pdf)
    assert person.birth_date == "1954-05" and page.page_tag in told
    assert {one for one in planted if one in told} == set()
    figures = [one for one in read(made.pdf).replace(",", "").split() if any(map(str.isdigit, one))]
    assert sorted(figures) == sorted(["4", "25", "2026", page.page_tag])  # room, day, year


def test_the_same_visit_gives_the_same_bytes_and_another_place_or_sentence_others(only_read):
    visit, store, german = only_read.driver.visit, only_read.store, load_language("de")
    once, again = (leaflet_of(store, visit, german, "Elsewhere", {}).pdf for _ in range(2))
    own = leaflet_of(store, visit, german, "", {"de": OWN, "en": "No."}).pdf
    nowhere = replace(visit, intake={name: said for name, said in visit.intake.items() if name != "place"})
    assert "Elsewhere" in read(leaflet_of(store, nowhere, german, "Elsewhere", {}).pdf)
    assert "Elsewhere" not in read(once) and PLACE in read(once)
    assert once == again != own and OWN in read(own)


def test_the_sites_own_sentence_stands_in_it_and_a_faulty_file_is_told(kiosk):
    kiosk.driver.deps = replace(kiosk.driver.deps, rights=lambda: {"de": OWN})
    kiosk.do(PaperAction.LEAFLET, PaperAction.PRINT)
    kiosk.frame(3)
    assert OWN in read(kiosk.jobs[-1].pdf)

    def faulty():
        raise Refused("file_is_faulty", {"file": "kiosk.rights", "count": 2})
    kiosk.driver.deps = replace(kiosk.driver.deps, rights=faulty)
    kiosk.do(PaperAction.PRINT)
    kiosk.frame(3)
    assert (kiosk.view.headline, kiosk.view.sentence) == (
        "Not printed.", "kiosk.rights cannot be read: 2 faults.") and len(kiosk.jobs) == 1
    kiosk.do(PaperAction.SAVE, StaffAction.BACK, StaffAction.LATER)
    assert kiosk.screen == "today"


def test_far_too_long_a_sentence_is_refused_at_the_desk(kiosk):
    kiosk.driver.deps = replace(kiosk.driver.deps, rights=lambda: {"de": OWN * 40})
    kiosk.do(PaperAction.LEAFLET, PaperAction.PRINT)
    kiosk.frame(3)
    assert kiosk.view.sentence == (
        "The leaflet does not fit on half a page: the site's own sentence is too long.")


def test_a_printer_that_does_not_answer_leaves_no_line_and_the_leaflet_can_be_saved(kiosk):
    kiosk.print_outcome = Refusal("printer_did_not_answer")
    kiosk.do(PaperAction.LEAFLET, PaperAction.PRINT)
    kiosk.frame(3)
    assert kiosk.screen == "not_printed" and outputs(kiosk) == []
    kiosk.do(PaperAction.SAVE)
    assert kiosk.screen == "saved" and outputs(kiosk) == ["save_leaflet"]


def test_a_visit_without_a_page_has_no_leaflet(only_read):
    other = replace(only_read.driver.visit, id=only_read.new_id())
    with pytest.raises(Refused, match="visit_not_scored"):
        leaflet_of(only_read.store, other, load_language("en"), "", {})


def test_who_may_not_read_results_gives_the_leaflet_and_never_comes_to_the_page(kiosk):
    kiosk.driver.know(replace(kiosk.driver.context, at_work=AtWork(None, "N1", frozenset({"administer"}))))
    kiosk.do(StaffAction.LATER, TodayAction.NEW)
    kiosk.do(NewPersonAction.MAKE_CODE, StaffAction.NEXT, *map(Key, "194903"), StaffAction.NEXT)
    whole_visit(kiosk)
    assert kiosk.screen == "kept" and PaperAction.LEAFLET in actions(kiosk.view)
    kiosk.do(PaperAction.LEAFLET, PaperAction.PRINT)
    kiosk.frame(3)
    assert kiosk.screen == "printed" and outputs(kiosk)[-1] == "print_leaflet"
    assert actions(kiosk.view) >= {StaffAction.NEXT, PaperAction.PRINT}
    assert PaperAction.LEAFLET not in actions(kiosk.view)
    kiosk.do(StaffAction.NEXT)
    assert kiosk.screen == "kept"
    for asked in (PaperAction.PRINT, PaperAction.SAVE, SignAction.SIGN, PageAction.RESULTS):
        kiosk.do(asked)
    assert kiosk.screen == "kept" and outputs(kiosk) == ["print_leaflet"]


def test_the_sentence_beside_a_real_store_is_the_one_the_kiosk_takes(tmp_path):
    kiosk = LockedKiosk(tmp_path)
    kiosk.set_up()
    assert kiosk.store_access.session.rights() == {}
    (tmp_path / "kiosk.rights").write_text(f"en: {OWN}\n")
    assert kiosk.store_access.session.rights() == {"en": OWN}
