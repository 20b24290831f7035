"""Visits on another tablet than the table's: compared only where a signed bridging statement allows it."""

import pytest

from kiosk.visits.comparison import make_findings
from kiosk.visits.earlier import choose, incomparable
from kiosk.wording.reasons import sentence
from norms import PRIMARY_MEASURES, Change, Refusal, Standing, Table
from norms.table.bridging_rule import Study
from norms.table.bridging_statement import Carried, Statement
from tests.visits.examples import device, earlier, person, seen, table
from tests.wording.page_samples import content, english

HOLDS = Study(100, 50, 0.0, 0.4, 1.0, 1.0, 0.92, 0.92, 0.6, 60)


def bridged(visits: bool = True, to: str = "T15", measures: tuple[str, ...] = PRIMARY_MEASURES) -> Table:
    carried = tuple(Carried(measure, True, visits, HOLDS) for measure in measures)
    said = Statement(to, "finger", "T10", carried, "site_lead", "2026-01-01", "sha256:0", {})
    return table(carried_over=(said,))


def findings(used: Table, today: str, before: str):
    return make_findings(seen(1), person(), device(device_class=today), used,
                         [earlier(0, device_class=before)])


@pytest.mark.parametrize(("today", "before"), [("T15", "T10"), ("T10", "T15"), ("T15", "T15")])
def test_a_visit_on_another_tablet_is_compared_by_a_statement_and_says_so(today: str, before: str) -> None:
    found = findings(bridged(), today, before)
    assert all(isinstance(one, Standing) for one in found.standings.values())
    assert all(isinstance(one, Change) and "carried_over" in one.warnings for one in found.changes.values())


@pytest.mark.parametrize(("today", "before"), [("T10", "T15"), ("T15", "T10"), ("T15", "T15")])
def test_without_a_statement_it_is_not(today: str, before: str) -> None:
    found = findings(table(), today, before)
    refused = found.table_refusal or next(iter(found.changes.values()))
    assert isinstance(refused, Refusal)
    assert refused.code == ("other_device_class" if today == "T15" else "not_comparable")


def test_a_statement_of_the_table_alone_gives_standings_and_no_change() -> None:
    found = findings(bridged(visits=False), "T15", "T15")
    assert all(isinstance(one, Standing) for one in found.standings.values())
    assert {one.code for one in found.changes.values()} == {"change_not_bridged"}
    across = findings(bridged(visits=False), "T10", "T15")
    assert {one.code for one in across.changes.values()} == {"not_comparable"}


def test_a_statement_for_one_measure_compares_that_one_only() -> None:
    found = findings(bridged(measures=PRIMARY_MEASURES[:1]), "T10", "T15")
    assert isinstance(found.changes[PRIMARY_MEASURES[0]], Change)
    others = [one for name, one in found.changes.items() if name != PRIMARY_MEASURES[0]]
    assert {one.code for one in others} == {"not_comparable"}


def test_the_latest_visit_a_statement_reaches_is_the_one_compared_with() -> None:
    visits = [earlier(0), earlier(1, device_class="T15"), earlier(2, device_class="T20")]
    today = earlier(3)
    assert choose(visits, today) is visits[0]
    assert choose(visits, today, table=bridged()) is visits[1]
    assert incomparable(visits[2], today, bridged()).code == "not_comparable"


def test_the_reason_is_said_in_words() -> None:
    found = findings(bridged(visits=False), "T15", "T15").changes[PRIMARY_MEASURES[0]]
    assert sentence(found.code, found.values, english()) == (
        "The bridging study does not carry changes over to tablets of class T15.")


def test_the_page_says_so_beside_the_standings_and_beside_the_changes() -> None:
    said = "The reference group used another kind of tablet; a bridging study carries the table over."
    page = content(findings(bridged(), "T15", "T10"))
    assert page.profile is not None and said in " ".join(map(str, page.profile.notes))
    assert said in repr(page.change)
    assert said not in repr(content(findings(table(), "T10", "T10")))
