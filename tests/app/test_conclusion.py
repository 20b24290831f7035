"""From the archive to the page: a whole simulated sitting, concluded for the purpose it was begun with."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from kiosk.app.conclusion import Conclusion, Imprint, remake
from kiosk.app.context import CLINIC, Context, demo_table
from kiosk.demo.simulated_visits import SimulatedPerson, VirtualClock, demo_person
from kiosk.i18n.language import load_language
from kiosk.storage.engine import open_memory
from kiosk.storage.ids import IdSource
from kiosk.storage.store import Store
from kiosk.visits.visit import Visit
from norms import Standing
from tests.simulated_visit import SimulatedVisit, context_on

ENGLISH = load_language("en")


@dataclass
class Clinic:
    """A room with a simulated person in it, on a virtual clock."""

    context: Context
    clock: VirtualClock

    def sit(self, purpose: str, visit: int = 1) -> tuple[Visit, Conclusion]:
        """One visit without a window, from welcome to page."""
        person = demo_person(lambda: self.person_id)
        self.clock.begin_visit(visit)
        begun = self.context.begin(person, purpose)
        sitting = SimulatedVisit(self.context, self.clock, begun)
        simulated = SimulatedPerson(7, 71.7, self.context.calibration)
        simulated.comes(visit, False)
        sitting.sit(simulated)
        return begun, self.context.finish(begun, sitting.runner.course, ENGLISH)

    def __post_init__(self) -> None:
        person = demo_person(self.context.new_id)
        self.person_id = person.id
        self.context.furnish(person)


@pytest.fixture
def clinic() -> Callable[..., Clinic]:
    def furnished(**changed: object) -> Clinic:
        clock = VirtualClock()
        new_id = IdSource(clock.now_utc, np.random.default_rng(5))
        archive = Store(open_memory(), now=clock.now_utc, new_id=new_id, kiosk_id="kiosk 01")
        context = context_on(archive, clock, new_id, reference=demo_table())
        return Clinic(replace(context, **changed), clock)

    return furnished


def page_text(pdf: bytes) -> str:
    reader = PdfReader(BytesIO(pdf))
    assert len(reader.pages) == 1
    return " ".join(reader.pages[0].extract_text().split())


def test_a_care_visit_gets_values_only_from_a_synthetic_table_and_its_page_says_why(
        clinic: Callable[..., Clinic]) -> None:
    begun, made = clinic().sit("care")
    findings, text = made.findings, page_text(made.pdf)
    assert findings.table_refusal is not None and findings.table_refusal.code == "synthetic_with_real_person"
    assert not any(isinstance(one, Standing) for one in findings.standings.values())
    assert findings.profile is None and findings.table is None
    assert "No reference group fits this visit, so no comparison is shown." in text
    assert "The reference data are simulated" in text and "percentile" not in text
    assert f"{findings.block_scores['steady.preferred.scatter'].value:.1f}" in text
    assert begun.purpose == "care"


def test_the_same_visit_for_the_demo_is_compared(clinic: Callable[..., Clinic]) -> None:
    _, made = clinic().sit("demo")
    assert all(isinstance(one, Standing) for one in made.findings.standings.values())
    assert "SIMULATED REFERENCE DATA" in page_text(made.pdf)


def test_a_visit_without_any_table_has_its_page(clinic: Callable[..., Clinic]) -> None:
    _, made = clinic(reference=None).sit("care")
    assert "No table is loaded." in page_text(made.pdf)


def test_a_page_made_again_from_the_archive_is_the_page_that_was_made(clinic: Callable[..., Clinic]) -> None:
    here = clinic()
    here.sit("demo")
    begun, made = here.sit("demo", visit=2)
    kept = here.context.archive.reports_of(begun.id)[-1]
    imprint = Imprint(CLINIC, "kiosk 01", "0.1.0", here.clock.now_utc())
    again = remake(here.context.archive, begun, ENGLISH, imprint, here.context.new_id)
    assert kept.pdf == made.pdf
    assert page_text(again.pdf).split(" made ")[0] == page_text(made.pdf).split(" made ")[0]
    assert again.content.page_tag == kept.page_tag
