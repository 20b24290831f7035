"""The person chooses another language at the welcome: what they read, and what the archive says of it."""

from dataclasses import replace

import pytest

from kiosk.i18n.language import load_language
from kiosk.visits.actions import ChooseLanguage
from tests.app.fake_kiosk import FakeKiosk, hand_over, intake, new_person, sit_through


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    kiosk = FakeKiosk(tmp_path)
    languages = {tag: load_language(tag) for tag in ("en", "ar")}
    kiosk.driver.deps = replace(kiosk.deps, languages=languages)
    kiosk.driver.know(replace(kiosk.driver.context, languages=("en", "ar")))
    kiosk.unlock()
    new_person(kiosk)
    intake(kiosk, language="en")
    hand_over(kiosk)
    return kiosk


def visits(kiosk: FakeKiosk):
    return kiosk.store.visits_of(kiosk.store.people()[-1].id)


def test_the_visit_is_begun_in_the_language_chosen_and_the_first_one_taken_out(kiosk):
    kiosk.do(ChooseLanguage("ar"))
    first, second = visits(kiosk)
    assert (first.language, second.language) == ("en", "ar")
    assert kiosk.store.is_void(first.id) and not kiosk.store.is_void(second.id)
    assert second.form == first.form == "A"
    assert {name: said for name, said in second.intake.items() if name != "language"} == dict(first.intake)
    assert kiosk.driver.runner.language.tag == "ar" and kiosk.stage.steps[-1].screen == "welcome"
    assert kiosk.store.people()[-1].language == "ar"


def test_the_language_shown_already_changes_nothing(kiosk):
    kiosk.do(ChooseLanguage("en"))
    assert len(visits(kiosk)) == 1
    assert kiosk.stage.steps[-1].screen == "welcome"


def test_after_the_welcome_the_language_stays(kiosk):
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=2)
    kiosk.do(ChooseLanguage("ar"))
    assert len(visits(kiosk)) == 1 and kiosk.driver.runner.language.tag == "en"


def test_only_languages_the_kiosk_has_can_be_chosen(kiosk):
    kiosk.do(ChooseLanguage("xx"))
    assert len(visits(kiosk)) == 1
