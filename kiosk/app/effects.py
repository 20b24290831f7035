"""The effects of staff's screens carried out: on the store, the printer, files, and the visit at hand.

One function for each type of effect; what it found goes back as a result. What goes on beside the screens (a
print job, a device check, a backup) is looked at once a frame by `follow`.
"""

from dataclasses import replace
from functools import singledispatch
from typing import Final

from kiosk.app import concluded_visit, own_backups, visit_start
from kiosk.app.driver import Clinic
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
from kiosk.app.tablet import Checking, with_latency
from kiosk.base.errors import Refused
from kiosk.staff import (
    accounts,
    backup,
    concluding,
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
from kiosk.visits.actions import CourseAction
from kiosk.visits.check_character import with_check
from kiosk.visits.desk_archive import Amendment
from kiosk.visits.device_record import CalibrationRecord
from kiosk.visits.look_alike import look_alikes
from kiosk.visits.person import Person
from kiosk.visits.visit import VisitEnd
from norms import Refusal, TableFaults

CODE_LETTER: Final = "K"
FIRST_CODE: Final = 101
NOT_UNDERSTOOD: Final = (CourseAction.RETRY, CourseAction.GO_ON_MARKED, CourseAction.END)
IN_BETWEEN: Final = (CourseAction.GO_ON, CourseAction.STAFF_END)


@singledispatch
def carry_out(effect: Effect, clinic: Clinic) -> None:
    """What a staff screen asks for; ValueError where nobody does it."""
    raise ValueError(f"effect must be one that is carried out here, got {effect!r}")


def follow(clinic: Clinic) -> None:
    """Once a frame of staff's screens: what goes on beside them."""
    _follow_print(clinic)
    _follow_check(clinic)
    own_backups.follow(clinic)


# The lock


@carry_out.register
def _(effect: lock.CheckPin, clinic: Clinic) -> None:
    """A wrong PIN is counted by the open store too; with the fifth it drops the key."""
    kit = clinic.kit
    if not kit.pins.known():
        clinic.on_result(lock.NoPinYet())
        return
    right = kit.pins.right(effect.pin)
    if kit.session is not None and not (clinic.sitting is not None and clinic.sitting.in_trial):
        if not kit.session.pin_tried(right):
            return
        clinic.know(replace(clinic.context, at_work=kit.session.at_work))
    clinic.on_result(lock.PinChecked(right))


@carry_out.register
def _(effect: lock.KeepPin, clinic: Clinic) -> None:
    clinic.kit.pins.keep(effect.pin)
    clinic.carry_out(ShowToday())


@carry_out.register
def _(effect: lock.AskPassphrase, clinic: Clinic) -> None:
    session_of(clinic)
    clinic.at_door = Purpose.SIGN_IN


@carry_out.register
def _(effect: lock.CheckClock, clinic: Clinic) -> None:
    kit, known = clinic.kit, clinic.context
    clinic.state = session.opening(
        kit.now_local(), pin_known=kit.pins.known(), newest_record=kit.archive.newest_record(),
        languages=known.languages, language=known.language, at_work=known.at_work, tiles=known.tiles)
    clinic.know(replace(clinic.context, tablet=known.tablet))


# People


@carry_out.register
def _(effect: ShowToday, clinic: Clinic) -> None:
    """After a start a visit of today that was left in the middle is offered at once."""
    clinic.sitting = clinic.made = None
    archive = clinic.kit.archive
    rows = today_rows(archive, clinic.kit.now_local())
    left = None if clinic.greeted else next((row for row in rows if row.state == "in_progress"), None)
    clinic.greeted = True
    if left is None or left.visit_id is None or not clinic.kit.at_work.may("administer"):
        clinic.on_result(today.TodayListed(rows))
    else:
        clinic.on_result(today.TodayListed(rows, (left.visit_id, archive.person(left.person_id))))


@carry_out.register
def _(effect: find.FindPeople, clinic: Clinic) -> None:
    clinic.on_result(find.PeopleFound(effect.code, clinic.kit.archive.people_coded(effect.code)))


@carry_out.register
def _(effect: find.LookAtPerson, clinic: Clinic) -> None:
    archive = clinic.kit.archive
    person = archive.person(effect.person_id)
    clinic.on_result(find.PersonChosen(person, look_alikes(person, archive.people())))


@carry_out.register
def _(effect: find.PrepareVisit, clinic: Clinic) -> None:
    """On to a visit, or to those the person has had where the account at work gives none."""
    person, archive = visit_start.person_of(clinic), clinic.kit.archive
    if not clinic.context.at_work.may("administer"):
        clinic.carry_out(intake.ListVisits())
        return
    clinic.on_result(intake.VisitPrepared(
        person, last_answers(archive, person), needed_by(clinic.table), left_open(archive, person.id),
        tablet_answers(archive, clinic.device.id)))


@carry_out.register
def _(effect: intake.ListVisits, clinic: Clinic) -> None:
    clinic.on_result(visits_had.VisitsListed(ended_visits(clinic.kit.archive, visit_start.person_of(clinic))))


@carry_out.register
def _(effect: new_person.CheckCodeIsFree, clinic: Clinic) -> None:
    known = clinic.kit.archive.people_coded(effect.code)
    clinic.on_result(new_person.CodeChecked(effect.code, known[0] if known else None))


@carry_out.register
def _(effect: new_person.MakeCode, clinic: Clinic) -> None:
    number = FIRST_CODE + len(clinic.kit.archive.people())
    while clinic.kit.archive.people_coded(with_check(CODE_LETTER, number)):
        number += 1
    clinic.on_result(new_person.CodeMade(with_check(CODE_LETTER, number)))


@carry_out.register
def _(effect: new_person.AddPerson, clinic: Clinic) -> None:
    person = Person(clinic.kit.new_id(), effect.code, effect.birth_date, "not_known", clinic.context.language,
                    second_identifier=effect.second_identifier)
    clinic.kit.archive.add_person(person)
    clinic.carry_out(find.LookAtPerson(person.id))


@carry_out.register
def _(effect: visits_had.OpenVisit, clinic: Clinic) -> None:
    """On with it, its notes, or its page."""
    archive = clinic.kit.archive
    clinic.visit = archive.visit(effect.visit_id)
    clinic.know(replace(clinic.context, person=archive.person(clinic.visit.person_id)))
    how_far = visit_state(archive, effect.visit_id)
    if how_far == "in_progress":
        clinic.on_result(person_part.VisitLeftOpen(effect.visit_id))
    elif how_far == "not_concluded":
        clinic.on_result(visits_had.VisitNotConcluded())
    else:
        concluded_visit.show_again(clinic)


# The visit at hand


@carry_out.register
def _(effect: ready.BeginVisit, clinic: Clinic) -> None:
    """Kept before its first trial; the person's answers become their details where they differ."""
    if not isinstance(clinic.state.screen, ready.HandOver):
        return
    newest = clinic.kit.archive.newest_record()
    if newest is not None and clinic.kit.now_local() < newest - session.MOST_STEP_BACK:
        raise Refused("clock_earlier_than_record", {"newest": newest.isoformat()})
    visit_start.refuse_unfit(clinic)
    visit_start.begin(clinic, dict(effect.answers))


@carry_out.register
def _(effect: person_part.SpeakLanguage, clinic: Clinic) -> None:
    """Before anything was done the visit is taken out and begun in the other language."""
    sitting, visit, part = clinic.sitting, clinic.visit, clinic.state.screen
    if sitting is None or visit is None or not isinstance(part, person_part.PersonPart):
        return
    if sitting.step.screen != "welcome" or sitting.scored:
        return
    if effect.tag not in clinic.kit.languages or effect.tag == visit.language:
        sitting.show_again()
        return
    archive = clinic.kit.archive
    said = {**last_answers(archive, visit_start.person_of(clinic)),
            **tablet_answers(archive, visit.device_id)}
    archive.amend(Amendment("visit", visit.id, "void", "asked_by_person"))
    visit_start.begin(clinic, {**(part.answers or said), "language": effect.tag})


@carry_out.register
def _(effect: person_part.ResumeVisit, clinic: Clinic) -> None:
    visit_start.refuse_unfit(clinic)
    clinic.visit = clinic.kit.archive.visit(effect.visit_id)
    visit_start.sit(clinic)
    clinic.on_result(person_part.VisitBegun(clinic.visit.id))


@carry_out.register
def _(effect: person_part.CloseVisit, clinic: Clinic) -> None:
    clinic.visit, clinic.sitting = clinic.kit.archive.visit(effect.visit_id), None
    clinic.kit.archive.end_visit(VisitEnd(clinic.visit.id, "abandoned", clinic.kit.now_local()))
    clinic.on_result(visits_had.VisitNotConcluded())


@carry_out.register
def _(effect: person_part.StaffCame, clinic: Clinic) -> None:
    if clinic.sitting is None or clinic.visit is None:
        return
    step = clinic.sitting.course.step
    choices = NOT_UNDERSTOOD if step.screen == "not_understood" else IN_BETWEEN
    tiles = tiles_of(clinic.kit.archive.trials_of(clinic.visit.id))
    clinic.on_result(observations.StaffCameIn(choices, step.screen == "thanks", tiles))


@carry_out.register
def _(effect: person_part.MoveCourse, clinic: Clinic) -> None:
    """The person's screen is drawn anew."""
    if clinic.sitting is not None:
        if effect.action is not CourseAction.GO_ON:
            clinic.sitting.act(effect.action)
        clinic.sitting.show_again()


# The concluded visit


@carry_out.register
def _(effect: concluding.Conclude, clinic: Clinic) -> None:
    concluded_visit.conclude(clinic, effect.notes)


@carry_out.register
def _(effect: concluding.CompareWith, clinic: Clinic) -> None:
    concluded_visit.compare_with(clinic, effect.visit_id)


@carry_out.register
def _(effect: concluding.Correct, clinic: Clinic) -> None:
    concluded_visit.correct(clinic, effect)


@carry_out.register
def _(effect: sign.SignPage, clinic: Clinic) -> None:
    concluded_visit.sign(clinic, effect)


@carry_out.register
def _(effect: results.ListEarlier, clinic: Clinic) -> None:
    visit = concluded_visit.visit_of(clinic)
    compared = None if clinic.made is None else clinic.made.findings.compared_with
    device = clinic.kit.archive.device(visit.device_id)
    rows = earlier_rows(clinic.kit.archive, visit, device.device_class,
                        None if compared is None else compared.visit_id)
    clinic.on_result(results.EarlierListed(rows))


@carry_out.register
def _(effect: observations.ListNotes, clinic: Clinic) -> None:
    visit, archive = concluded_visit.visit_of(clinic), clinic.kit.archive
    end = archive.visit_end(visit.id)
    notes = observations.notes_from(archive.observations_of(visit.id),
                                    "not_asked" if end is None else end.pain_after)
    tiles = tiles_of(archive.trials_of(visit.id))
    clinic.on_result(observations.NotesListed(effect.correction, notes, tiles))


@carry_out.register
def _(effect: printing.PrintPaper, clinic: Clinic) -> None:
    concluded_visit.print_paper(clinic, effect.paper)


@carry_out.register
def _(effect: printing.SavePaper, clinic: Clinic) -> None:
    file = concluded_visit.save_paper(clinic, effect.paper)
    clinic.on_result(printing.PaperSaved(effect.paper, effect.page, file))


@carry_out.register
def _(effect: printing.CancelPrint, clinic: Clinic) -> None:
    if clinic.printing is not None:
        clinic.printing[1].cancel(clinic.kit.now_ns() / 1e9)


def _follow_print(clinic: Clinic) -> None:
    """How far the page is on its way to the paper."""
    if clinic.printing is None:
        return
    paper, job = clinic.printing
    job.tick(clinic.kit.now_ns() / 1e9)
    if job.outcome is None:
        return
    clinic.printing = None
    if job.outcome == "printed":
        concluded_visit.note_output(clinic, "print", paper)
        clinic.on_result(printing.PaperPrinted(job.printer.words))
    else:
        clinic.on_result(printing.PaperNotPrinted(job.outcome))


# The site


@carry_out.register
def _(effect: tablet.KeepFinding, clinic: Clinic) -> None:
    archive, found = clinic.kit.archive, effect.found
    match found:
        case Measured():
            _keep_calibration(clinic, found)
        case CrossCheck():
            archive.add_cross_check(clinic.device.id, _calibration_of(clinic).id, found)
        case DeviceCheck():
            archive.add_device_check(clinic.device.id, _calibration_of(clinic).id, found)
        case DeviceLatency():
            clinic.device = with_latency(clinic.device, found.latency_ms, found.sd_ms, found.method)
            archive.add_device(clinic.device)
    clinic.on_result(tablet.FindingKept(clinic.tablet_facts()))


def _keep_calibration(clinic: Clinic, measured: Measured) -> None:
    kit, found = clinic.kit, measured.calibration
    record = CalibrationRecord(
        kit.new_id(), clinic.device.id, measured.method, found.px_per_mm_x, found.px_per_mm_y,
        found.window_width_px, found.window_height_px, measured.readings, kit.display)
    kit.archive.add_calibration(record)
    clinic.take_calibration(record)


def _calibration_of(clinic: Clinic) -> CalibrationRecord:
    if clinic.record is None:
        raise Refused("tablet_not_calibrated")
    return clinic.record


@carry_out.register
def _(effect: tablet.BeginCheck, clinic: Clinic) -> None:
    clinic.checking = Checking(clinic.capture, clinic.kit.now_ns())


def _follow_check(clinic: Clinic) -> None:
    """The touches of a device check; its verdict when the time is over."""
    checking = clinic.checking
    if checking is None:
        return
    if not isinstance(clinic.state.screen, tablet.CheckDevice):
        clinic.capture.stop()
        clinic.checking = None
        return
    if not checking.frame(clinic.kit.now_ns()):
        return
    clinic.checking = None
    try:
        found = checking.finish(clinic.room().calibration, clinic.kit.refresh_hz)
    except Refused as refusal:
        clinic.on_result(tablet.DeviceChecked(Refusal(refusal.code, dict(refusal.values))))
        return
    clinic.on_result(tablet.DeviceChecked(found))


@carry_out.register
def _(effect: tables.ListTables, clinic: Clinic) -> None:
    clinic.on_result(tables.TablesListed(table_rows(clinic.kit.tables_folder, clinic.table)))


@carry_out.register
def _(effect: tables.LoadTable, clinic: Clinic) -> None:
    kit = clinic.kit
    try:
        table = load_table(kit.tables_folder / effect.folder)
    except TableFaults as faults:
        raise Refused("table_for_other") from faults
    kept = table.table
    kit.archive.add_reference_table(kept.sha256, kept.name, kept.version, kept.status, table.folder_zip)
    clinic.table = table
    clinic.carry_out(tables.ListTables())


# Accounts and backups; a kiosk that keeps nothing has neither


def session_of(clinic: Clinic) -> Session:
    """The open store; Refused `no_accounts` where everything is in memory."""
    if clinic.kit.session is None:
        raise Refused("no_accounts")
    return clinic.kit.session


@carry_out.register
def _(effect: accounts.ListAccounts, clinic: Clinic) -> None:
    clinic.on_result(accounts.AccountsListed(tuple(session_of(clinic).staff())))


@carry_out.register
def _(effect: accounts.AddAccount, clinic: Clinic) -> None:
    session_of(clinic)
    clinic.at_door = Purpose.ADD_ACCOUNT


@carry_out.register
def _(effect: accounts.ChangePassphrase, clinic: Clinic) -> None:
    session_of(clinic)
    clinic.at_door = Purpose.NEW_PASSPHRASE


@carry_out.register
def _(effect: accounts.SetRoles, clinic: Clinic) -> None:
    opened = session_of(clinic)
    opened.set_roles(effect.account_id, effect.roles)
    clinic.know(replace(clinic.context, at_work=opened.at_work))
    _back_to_accounts(clinic)


@carry_out.register
def _(effect: accounts.CloseAccount, clinic: Clinic) -> None:
    opened = session_of(clinic)
    opened.close_account(effect.account_id)
    if opened.open:
        _back_to_accounts(clinic)


def _back_to_accounts(clinic: Clinic) -> None:
    """The list of accounts, or today's where the account at work leads no more."""
    leads = clinic.context.at_work.may("site_lead")
    clinic.carry_out(accounts.ListAccounts() if leads else ShowToday())


@carry_out.register
def _(effect: backup.BeginBackup, clinic: Clinic) -> None:
    """By hand; never in a visit."""
    if clinic.sitting is not None:
        raise Refused("visit_in_progress")
    opened = session_of(clinic)
    opened.begin_backup()
    own_backups.look_again(clinic, opened)
