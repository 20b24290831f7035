"""The effects of staff's screens carried out: on the store, the printer, files, and the visit at hand.

One function for each type of effect; what it found goes back as a result. What goes on beside the screens (a
print job, a device check, a backup) is looked at once a frame by `follow`.
"""

from dataclasses import replace
from functools import singledispatch
from typing import Final

from kiosk.app import concluded_visit, own_backups, tablet_following, visit_start
from kiosk.app.driver import KioskDriver
from kiosk.app.listed import (
    earlier_rows,
    ended_visits,
    last_answers,
    left_open,
    load_table,
    needed_by,
    table_rows,
    tablet_answers,
    tiles_of,
    today_rows,
    visit_state,
)
from kiosk.app.session import Session
from kiosk.app.tablet_measuring import Checking
from kiosk.base.errors import Refused
from kiosk.staff import (
    accounts,
    backup,
    concluding,
    daily,
    find,
    intake,
    lock,
    new_person,
    observations,
    person_part,
    printing,
    ready,
    results,
    session,
    sign,
    tables,
    tablet,
    today,
    visits_had,
)
from kiosk.staff.screen import Effect, ShowToday
from kiosk.staff.sign_in import Purpose
from kiosk.touch.card_calibration import Measured
from kiosk.touch.cross_check import CrossCheck
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.latency import DeviceLatency
from kiosk.touch.line_check import LineCheck
from kiosk.visits.actions import CourseAction
from kiosk.visits.check_character import with_check
from kiosk.visits.device_record import CalibrationRecord
from kiosk.visits.look_alike import look_alikes
from kiosk.visits.panel_drift import drifts, trend
from kiosk.visits.person import Person
from kiosk.visits.staff_archive import Amendment
from kiosk.visits.visit import VisitEnd
from norms import TableFaults

CODE_LETTER: Final = "K"
FIRST_CODE: Final = 101
NOT_UNDERSTOOD: Final = (CourseAction.RETRY, CourseAction.GO_ON_MARKED, CourseAction.END)
IN_BETWEEN: Final = (CourseAction.GO_ON, CourseAction.STAFF_END)


@singledispatch
def carry_out(effect: Effect, driver: KioskDriver) -> None:
    """What a staff screen asks for; ValueError where nobody does it."""
    raise ValueError(f"effect must be one that is carried out here, got {effect!r}")


def follow(driver: KioskDriver) -> None:
    """Once a frame of staff's screens: what goes on beside them."""
    _follow_print(driver)
    tablet_following.follow(driver)
    if driver.deps.session is not None:
        own_backups.follow(driver, driver.deps.session)


# The lock


@carry_out.register
def _(effect: lock.CheckPin, driver: KioskDriver) -> None:
    """A wrong PIN is counted by the open store too; with the fifth it drops the key."""
    deps = driver.deps
    if not deps.pins.known():
        driver.on_result(lock.NoPinYet())
        return
    right = deps.pins.right(effect.pin)
    if deps.session is not None and not (driver.runner is not None and driver.runner.in_trial):
        if not deps.session.pin_tried(right):
            return
        driver.know(replace(driver.context, at_work=deps.session.at_work))
    driver.on_result(lock.PinChecked(right))


@carry_out.register
def _(effect: lock.KeepPin, driver: KioskDriver) -> None:
    driver.deps.pins.keep(effect.pin)
    driver.carry_out(ShowToday())


@carry_out.register
def _(effect: lock.AskPassphrase, driver: KioskDriver) -> None:
    session_of(driver)
    driver.sign_in_for = Purpose.SIGN_IN


@carry_out.register
def _(effect: lock.CheckClock, driver: KioskDriver) -> None:
    deps, known = driver.deps, driver.context
    driver.state = session.opening(
        deps.now_local(), pin_known=deps.pins.known(), newest_record=deps.archive.newest_record(),
        languages=known.languages, language=known.language, at_work=known.at_work, tiles=known.tiles)
    driver.know(replace(driver.context, tablet=known.tablet))


# People


@carry_out.register
def _(effect: ShowToday, driver: KioskDriver) -> None:
    """After a start a visit of today that was left in the middle is offered at once."""
    driver.runner = driver.made = None
    archive = driver.deps.archive
    rows = today_rows(archive, driver.deps.now_local())
    left = None if driver.greeted else next((row for row in rows if row.state == "in_progress"), None)
    driver.greeted = True
    if left is None or left.visit_id is None or not driver.deps.at_work.may("administer"):
        driver.on_result(today.TodayListed(rows))
    else:
        driver.on_result(today.TodayListed(rows, (left.visit_id, archive.person(left.person_id))))


@carry_out.register
def _(effect: find.FindPeople, driver: KioskDriver) -> None:
    driver.on_result(find.PeopleFound(effect.code, driver.deps.archive.people_coded(effect.code)))


@carry_out.register
def _(effect: find.LookAtPerson, driver: KioskDriver) -> None:
    archive = driver.deps.archive
    person = archive.person(effect.person_id)
    driver.on_result(find.PersonChosen(person, look_alikes(person, archive.people())))


@carry_out.register
def _(effect: find.PrepareVisit, driver: KioskDriver) -> None:
    """On to a visit, or to those the person has had where the account at work gives none."""
    person, archive = visit_start.person_of(driver), driver.deps.archive
    if not driver.context.at_work.may("administer"):
        driver.carry_out(intake.ListVisits())
        return
    driver.on_result(intake.VisitPrepared(
        person, last_answers(archive, person), needed_by(driver.table), left_open(archive, person.id),
        tablet_answers(archive, driver.device.id)))


@carry_out.register
def _(effect: intake.ListVisits, driver: KioskDriver) -> None:
    visits = ended_visits(driver.deps.archive, visit_start.person_of(driver))
    driver.on_result(visits_had.VisitsHad(visits))


@carry_out.register
def _(effect: new_person.CheckCodeIsFree, driver: KioskDriver) -> None:
    known = driver.deps.archive.people_coded(effect.code)
    driver.on_result(new_person.CodeChecked(effect.code, known[0] if known else None))


@carry_out.register
def _(effect: new_person.MakeCode, driver: KioskDriver) -> None:
    number = FIRST_CODE + len(driver.deps.archive.people())
    while driver.deps.archive.people_coded(with_check(CODE_LETTER, number)):
        number += 1
    driver.on_result(new_person.NewCode(entered=with_check(CODE_LETTER, number)))


@carry_out.register
def _(effect: new_person.AddPerson, driver: KioskDriver) -> None:
    person = Person(driver.deps.new_id(), effect.code, effect.birth_date, "not_known",
                    driver.context.language, second_identifier=effect.second_identifier)
    driver.deps.archive.add_person(person)
    driver.carry_out(find.LookAtPerson(person.id))


@carry_out.register
def _(effect: visits_had.OpenVisit, driver: KioskDriver) -> None:
    """On with it, its notes, or its page."""
    archive = driver.deps.archive
    driver.visit = archive.visit(effect.visit_id)
    driver.know(replace(driver.context, person=archive.person(driver.visit.person_id)))
    how_far = visit_state(archive, effect.visit_id)
    if how_far == "in_progress":
        driver.on_result(person_part.LeftOpen(effect.visit_id))
    elif how_far == "not_concluded":
        driver.on_result(visits_had.VisitNotConcluded())
    else:
        concluded_visit.show_again(driver)


# The visit at hand


@carry_out.register
def _(effect: ready.BeginVisit, driver: KioskDriver) -> None:
    """Kept before its first trial; the person's answers become their details where they differ."""
    if not isinstance(driver.state.screen, ready.HandOver):
        return
    newest = driver.deps.archive.newest_record()
    if newest is not None and driver.deps.now_local() < newest - session.MOST_STEP_BACK:
        raise Refused("clock_earlier_than_record", {"newest": newest.isoformat()})
    visit_start.refuse_unfit(driver)
    visit_start.begin(driver, dict(effect.answers))


@carry_out.register
def _(effect: person_part.SpeakLanguage, driver: KioskDriver) -> None:
    """Before anything was done the visit is taken out and begun in the other language."""
    runner, visit, part = driver.runner, driver.visit, driver.state.screen
    if runner is None or visit is None or not isinstance(part, person_part.PersonPart):
        return
    if runner.step.screen != "welcome" or runner.scored:
        return
    if effect.tag not in driver.deps.languages or effect.tag == visit.language:
        runner.show_again()
        return
    archive = driver.deps.archive
    said = {**last_answers(archive, visit_start.person_of(driver)),
            **tablet_answers(archive, visit.device_id)}
    archive.amend(Amendment("visit", visit.id, "void", "asked_by_person"))
    visit_start.begin(driver, {**(part.answers or said), "language": effect.tag})


@carry_out.register
def _(effect: person_part.ResumeVisit, driver: KioskDriver) -> None:
    visit_start.refuse_unfit(driver)
    driver.visit = driver.deps.archive.visit(effect.visit_id)
    visit_start.sit(driver)
    driver.on_result(person_part.PersonPart(driver.visit.id))


@carry_out.register
def _(effect: person_part.CloseVisit, driver: KioskDriver) -> None:
    driver.visit, driver.runner = driver.deps.archive.visit(effect.visit_id), None
    driver.deps.archive.end_visit(VisitEnd(driver.visit.id, "abandoned", driver.deps.now_local()))
    driver.on_result(visits_had.VisitNotConcluded())


@carry_out.register
def _(effect: person_part.StaffCame, driver: KioskDriver) -> None:
    if driver.runner is None or driver.visit is None:
        return
    step = driver.runner.course.step
    choices = NOT_UNDERSTOOD if step.screen == "not_understood" else IN_BETWEEN
    tiles = tiles_of(driver.deps.archive.trials_of(driver.visit.id))
    driver.on_result(observations.StaffCameIn(choices, step.screen == "thanks", tiles))


@carry_out.register
def _(effect: person_part.MoveCourse, driver: KioskDriver) -> None:
    """The person's screen is drawn anew."""
    if driver.runner is not None:
        if effect.action is not CourseAction.GO_ON:
            driver.runner.act(effect.action)
        driver.runner.show_again()


# The concluded visit


@carry_out.register
def _(effect: concluding.Conclude, driver: KioskDriver) -> None:
    concluded_visit.conclude(driver, effect.notes)


@carry_out.register
def _(effect: concluding.CompareWith, driver: KioskDriver) -> None:
    concluded_visit.compare_with(driver, effect.visit_id)


@carry_out.register
def _(effect: concluding.Correct, driver: KioskDriver) -> None:
    concluded_visit.correct(driver, effect)


@carry_out.register
def _(effect: sign.SignPage, driver: KioskDriver) -> None:
    concluded_visit.sign(driver, effect)


@carry_out.register
def _(effect: results.ListEarlier, driver: KioskDriver) -> None:
    visit = concluded_visit.visit_of(driver)
    compared = None if driver.made is None else driver.made.findings.compared_with
    device = driver.deps.archive.device(visit.device_id)
    rows = earlier_rows(driver.deps.archive, visit, device.device_class,
                        None if compared is None else compared.visit_id)
    driver.on_result(results.Compare(rows))


@carry_out.register
def _(effect: observations.ListNotes, driver: KioskDriver) -> None:
    visit, archive = concluded_visit.visit_of(driver), driver.deps.archive
    end = archive.visit_end(visit.id)
    notes = observations.notes_from(archive.observations_of(visit.id),
                                    "not_asked" if end is None else end.pain_after)
    tiles = tiles_of(archive.trials_of(visit.id))
    driver.on_result(observations.Observations(tiles, notes, correction=effect.correction))


@carry_out.register
def _(effect: printing.PrintPaper, driver: KioskDriver) -> None:
    concluded_visit.print_paper(driver, effect.paper)


@carry_out.register
def _(effect: printing.SavePaper, driver: KioskDriver) -> None:
    file = concluded_visit.save_paper(driver, effect.paper)
    driver.on_result(printing.Saved(effect.paper, effect.page, file))


@carry_out.register
def _(effect: printing.CancelPrint, driver: KioskDriver) -> None:
    if driver.printing is not None:
        driver.printing[1].cancel(driver.deps.now_ns() / 1e9)


def _follow_print(driver: KioskDriver) -> None:
    """How far the page is on its way to the paper."""
    if driver.printing is None:
        return
    paper, job = driver.printing
    job.tick(driver.deps.now_ns() / 1e9)
    if job.outcome is None:
        return
    driver.printing = None
    if job.outcome == "printed":
        concluded_visit.note_output(driver, "print", paper)
        driver.on_result(printing.PaperPrinted(job.printer.words))
    else:
        driver.on_result(printing.PaperNotPrinted(job.outcome))


# The site


@carry_out.register
def _(effect: tablet.KeepFinding, driver: KioskDriver) -> None:
    archive, found = driver.deps.archive, effect.found
    match found:
        case Measured():
            _keep_calibration(driver, found)
        case CrossCheck() | DeviceCheck() | LineCheck():
            _keep_check(driver, found)
        case DeviceLatency():
            archive.add_device(replace(driver.device, latency_ms=found.latency_ms, latency_sd_ms=found.sd_ms,
                                       latency_method=found.method))
            driver.device = archive.newest_device() or driver.device
    driver.on_result(tablet.FindingKept(driver.tablet_facts()))


@carry_out.register
def _(effect: daily.KeepToday, driver: KioskDriver) -> None:
    _keep_check(driver, effect.found)
    measured = driver.deps.archive.measurements_of(driver.device.id)
    driver.on_result(daily.TodayKept(driver.tablet_facts(), trend(measured), drifts(measured)))


def _keep_check(driver: KioskDriver, found: CrossCheck | DeviceCheck | LineCheck) -> None:
    archive, calibration = driver.deps.archive, _calibration_of(driver).id
    match found:
        case CrossCheck():
            archive.add_cross_check(driver.device.id, calibration, found)
        case DeviceCheck():
            archive.add_device_check(driver.device.id, calibration, found)
        case LineCheck():
            archive.add_line_check(driver.device.id, calibration, found)
            driver.tell_capture()


def _keep_calibration(driver: KioskDriver, measured: Measured) -> None:
    deps, found = driver.deps, measured.calibration
    record = CalibrationRecord(
        deps.new_id(), driver.device.id, measured.method, found.px_per_mm_x, found.px_per_mm_y,
        found.window_width_px, found.window_height_px, measured.readings, deps.display)
    deps.archive.add_calibration(record)
    driver.take_calibration(record)


def _calibration_of(driver: KioskDriver) -> CalibrationRecord:
    if driver.record is None:
        raise Refused("tablet_not_calibrated")
    return driver.record


@carry_out.register
def _(effect: tablet.BeginCheck, driver: KioskDriver) -> None:
    driver.checking = Checking(driver.capture, driver.deps.now_ns())


@carry_out.register
def _(effect: tables.ListTables, driver: KioskDriver) -> None:
    driver.on_result(tables.Tables(table_rows(driver.deps.tables_folder, driver.table)))


@carry_out.register
def _(effect: tables.LoadTable, driver: KioskDriver) -> None:
    deps = driver.deps
    try:
        table = load_table(deps.tables_folder / effect.folder)
    except TableFaults as faults:
        raise Refused("table_for_other") from faults
    kept = table.table
    deps.archive.add_reference_table(kept.sha256, kept.name, kept.version, kept.status, table.folder_zip)
    driver.table = table
    driver.carry_out(tables.ListTables())


# Accounts and backups; a kiosk that keeps nothing has neither


def session_of(driver: KioskDriver) -> Session:
    """The open store; Refused `no_accounts` where everything is in memory."""
    if driver.deps.session is None:
        raise Refused("no_accounts")
    return driver.deps.session


@carry_out.register
def _(effect: accounts.ListAccounts, driver: KioskDriver) -> None:
    driver.on_result(accounts.Accounts(tuple(session_of(driver).staff())))


@carry_out.register
def _(effect: accounts.AddAccount, driver: KioskDriver) -> None:
    session_of(driver)
    driver.sign_in_for = Purpose.ADD_ACCOUNT


@carry_out.register
def _(effect: accounts.ChangePassphrase, driver: KioskDriver) -> None:
    session_of(driver)
    driver.sign_in_for = Purpose.NEW_PASSPHRASE


@carry_out.register
def _(effect: accounts.SetRoles, driver: KioskDriver) -> None:
    opened = session_of(driver)
    opened.set_roles(effect.account_id, effect.roles)
    driver.know(replace(driver.context, at_work=opened.at_work))
    _back_to_accounts(driver)


@carry_out.register
def _(effect: accounts.CloseAccount, driver: KioskDriver) -> None:
    opened = session_of(driver)
    opened.close_account(effect.account_id)
    if opened.open:
        _back_to_accounts(driver)


def _back_to_accounts(driver: KioskDriver) -> None:
    """The list of accounts, or today's where the account at work leads no more."""
    leads = driver.context.at_work.may("site_lead")
    driver.carry_out(accounts.ListAccounts() if leads else ShowToday())


@carry_out.register
def _(effect: backup.BeginBackup, driver: KioskDriver) -> None:
    """By hand; never in a visit."""
    if driver.runner is not None:
        raise Refused("visit_in_progress")
    opened = session_of(driver)
    opened.begin_backup()
    own_backups.look_again(driver, opened)
