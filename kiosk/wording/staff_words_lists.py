"""Lists in words: today, people found, look-alikes, earlier visits, the site's tiles."""

from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_state import DeskState, TodayRow
from kiosk.visits.person import Person
from kiosk.visits.site_work import TableRow
from kiosk.visits.tablet_checks import KeptCheck
from kiosk.wording.page_fit import birth_words
from kiosk.wording.staff_options import state_of_visit
from kiosk.wording.staff_parts import Control, ListRow, ListView
from kiosk.wording.staff_shown import PERSON_DOT, back, head, lock, note, site_head
from kiosk.wording.staff_words_site import verdict_words
from kiosk.wording.staff_words_staff import backup_words
from kiosk.wording.units import amount


def _today(state: DeskState, language: Language) -> ListView:
    say, say_in = language.say, language.say_in
    rows = tuple(_today_row(row, language) for row in state.rows)
    controls = (lock(language), Control("site", say_in("button", "Site")),
                Control("new", say_in("button", "New person")),
                Control("find", say_in("button", "Find"), "main"))
    return ListView(site_head(state, say("Today"), language), (say("Code"), say("Born"), say("State")), rows,
                    controls, note(state, language), say("Nobody yet today."))


def _today_row(row: TodayRow, language: Language) -> ListRow:
    action = f"person {row.person_id}" if row.visit_id is None else f"open {row.visit_id}"
    cells = (row.code, birth_words(row.birth_date, language), state_of_visit(row.state, language))
    return ListRow(action, cells)


def _person_row(person: Person, language: Language, action: str = "person") -> ListRow:
    said = person.second_identifier
    cells = (person.code, birth_words(person.birth_date, language), said)
    return ListRow(f"{action} {person.id}", cells)


def _found(state: DeskState, language: Language) -> ListView:
    say = language.say
    rows = tuple(_person_row(one, language) for one in state.people)
    columns = (say("Code"), say("Born"), say("Second identifier"))
    return ListView(site_head(state, say("Find"), language), columns, rows,
                    (back(language),), note(state, language))


def _look_alike(state: DeskState, language: Language) -> ListView:
    """The person chosen first, then whoever could be taken for them."""
    say, say_in = language.say, language.say_in
    chosen = () if state.person is None else (state.person,)
    rows = tuple(_person_row(one, language, "show") for one in (*chosen, *state.alike))
    controls = (Control("someone_else", say_in("button", "Someone else")),
                Control("this_person", say_in("button", "This person"), "main"))
    columns = (say("Code"), say("Born"), say("Second identifier"))
    return ListView(head(state, say("Right person?"), language), columns, rows, controls,
                    say("Two people look alike. Check the birth date."))


def _compare(state: DeskState, language: Language) -> ListView:
    say = language.say
    rows = tuple(
        ListRow(f"compare {one.visit_id}", (
            say("Visit %(number)d", number=one.number), language.date(one.started_at.date()),
            say("compared now") if one.chosen else "" if one.comparable else say("cannot be compared")))
        for one in state.earlier)
    return ListView(head(state, say("Compare with"), language), (say("Visit"), say("Date"), ""), rows,
                    (back(language),), note(state, language), say("There is no earlier visit."))


def _visits(state: DeskState, language: Language) -> ListView:
    say = language.say
    rows = tuple(
        ListRow(f"open {one.visit_id}", (say("Visit %(number)d", number=one.number),
                                         language.date(one.started_at.date())))
        for one in state.earlier)
    return ListView(head(state, say("Visits"), language), (say("Visit"), say("Date")), rows,
                    (back(language),), note(state, language), say("There is no earlier visit."))


def _site(state: DeskState, language: Language) -> ListView:
    say, work = language.say, state.site
    calibrated = say("calibrated") if work.calibrated else say("not calibrated")
    rows = (ListRow("site tablet", (say("Tablet"), calibrated)),
            ListRow("site tables", (say("Reference groups"), "")),
            ListRow("site backup", (say("Backup"), backup_words(state.backups, language))),
            ListRow("site staff", (say("Staff"), "")),
            ListRow("site languages", (say("Languages"), "")),
            ListRow("site own", (say("My account"), state.at_work.name)))
    return ListView(site_head(state, say("Site"), language), ("", ""), rows, (back(language),),
                    note(state, language))


def _tablet(state: DeskState, language: Language) -> ListView:
    say, work = language.say, state.site
    latency = say("not measured") if work.latency_ms is None else say(
        "%(number)s ms", number=language.number(work.latency_ms))
    rows = (ListRow("tablet card", (say("Size, with a card"),
                                    say("calibrated") if work.calibrated else say("not calibrated"))),
            ListRow("tablet crosses", (say("Touch, with five crosses"),
                                       _checked(work.checks.crosses, language))),
            ListRow("tablet check", (say("Touch and picture"), _checked(work.checks.panel, language))),
            ListRow("tablet latency", (say("Latency, from a slow-motion video"), latency)))
    return ListView(site_head(state, say("Tablet"), language), ("", ""), rows, (back(language),),
                    note(state, language))


def _checked(check: KeptCheck | None, language: Language) -> str:
    """What a check found, and of the crosses how far the touches lay off."""
    if check is None:
        return language.say("not measured")
    off = () if check.mean_offset_mm is None else (amount(check.mean_offset_mm, "mm", language),)
    return PERSON_DOT.join((*off, verdict_words(check.verdict, language)))


def _tables(state: DeskState, language: Language) -> ListView:
    say = language.say
    rows = tuple(_table_row(one, language) for one in state.tables)
    columns = (say("Reference group"), say("Tested"), say("State"))
    return ListView(site_head(state, say("Reference groups"), language), columns, rows, (back(language),),
                    note(state, language), say("There is no folder with a reference group."))


def _table_row(row: TableRow, language: Language) -> ListRow:
    say = language.say
    name = say("%(name)s, version %(version)s", name=row.title or row.name, version=row.version)
    simulated = say("simulated") if row.status == "synthetic" else row.status
    used = say("in use, %(status)s", status=simulated) if row.in_use else say("load")
    return ListRow(f"table {row.folder}", (name, row.tested, used))


VIEWS: Final[Mapping[str, Callable[[DeskState, Language], ListView]]] = {
    "today": _today, "found": _found, "look_alike": _look_alike, "compare": _compare, "site": _site,
    "visits": _visits,
    "tablet": _tablet, "tables": _tables,
}
