"""The kiosk from its first set-up to the dropped key: what staff type, what opens, and what stays shut."""

from dataclasses import replace
from io import BytesIO

import pytest
import sqlalchemy as sa
from pypdf import PdfReader

from kiosk.app.store_opening import SignIn, open_store
from kiosk.base.errors import Refused
from kiosk.staff import accounts, backup, languages, tables, tablet
from kiosk.staff.accounts import AccountAction, PickAccount
from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.backup import BackupAction
from kiosk.staff.intake import IntakeAction
from kiosk.staff.lock import LockAction
from kiosk.staff.observations import ObservationAction
from kiosk.staff.page import PageAction
from kiosk.staff.person_part import LeftOpenAction
from kiosk.staff.roles import PickRole
from kiosk.staff.sign import SignAction
from kiosk.staff.sign_in import SignInAction
from kiosk.staff.today import TodayAction
from kiosk.storage import tables as rows
from kiosk.storage.accounts import accounts as accounts_kept
from kiosk.visits.actions import Action, CourseAction, Scan, ScreenAction
from tests.app.fake_kiosk import PIN, hand_over, intake, new_person, sit_through, whole_visit
from tests.app.locked_kiosk import OTHER_WORDS, WORDS, LockedKiosk

MINUTES = 60


@pytest.fixture
def kiosk(tmp_path) -> LockedKiosk:
    return LockedKiosk(tmp_path)


def begun(kiosk: LockedKiosk) -> None:
    """A visit handed over, at the welcome."""
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)


def texts(view) -> str:
    """Every word of a view."""
    return repr(view)


# The first set-up


def test_a_kiosk_without_a_store_is_set_up_on_the_screen_and_holds_one_account_that_leads_the_site(kiosk):
    code = kiosk.set_up(roles=("interpret",))
    assert kiosk.screen == "today" and len(code) == 39
    assert kiosk.store_access.session.place == "Harbour Street 4"
    (only,) = accounts_kept(kiosk.store.ledger)
    assert (only.display_name, only.roles) == ("M2", ("interpret", "site_lead"))
    with pytest.raises(Refused, match="wrong_passphrase"):
        open_store(kiosk.path, SignIn("", "site"), kiosk.machine)


def test_nothing_is_set_up_before_the_passphrase_is_strong_and_typed_twice_alike(kiosk):
    kiosk.frame()
    kiosk.do(StaffAction.NEXT)
    kiosk.write("Room 4")
    kiosk.write("M2")
    kiosk.write("short words")
    assert "15 letters or more" in kiosk.view.note and kiosk.screen == "passphrase"
    kiosk.write("aaaaaaaaaaaaaaaa")
    assert "different letters" in kiosk.view.note
    kiosk.write(WORDS)
    kiosk.write(OTHER_WORDS)
    assert kiosk.view.note == "The two passphrases differ. Choose one again."
    assert not kiosk.path.exists() and not kiosk.store_access.known()


def to_the_code(kiosk: LockedKiosk) -> str:
    """Set up as far as the recovery code; that."""
    kiosk.frame()
    kiosk.do(StaffAction.NEXT)
    for words in ("Room 4", "M2", WORDS, WORDS):
        kiosk.write(words)
    kiosk.do(StaffAction.NEXT)
    return kiosk.app_session.sign_in_screens.state.code


def test_the_recovery_code_is_shown_until_its_last_group_was_read_from_the_paper(kiosk):
    code = to_the_code(kiosk)
    assert code.replace("-", "") == kiosk.view.headline.replace("-", "").replace(" ", "")
    kiosk.do(StaffAction.NEXT)
    kiosk.type("AAAA" if code[-4:] != "AAAA" else "BBBB")
    assert kiosk.view.note == "This is not the last group of the code. Look at it again."
    assert code[-4:] not in texts(kiosk.view)
    kiosk.type(code[-4:])
    assert kiosk.app_session.sign_in_screens is None and code not in repr(kiosk.app_session.driver.state)


@pytest.mark.parametrize(("paper", "width_pt"), [("A4", 595.3), ("Letter", 612.0)])
def test_the_recovery_code_is_printed_where_there_is_a_printer(kiosk, paper, width_pt):
    kiosk.app_session.sign_in_screens.start = replace(kiosk.app_session.start, paper=paper)
    code = to_the_code(kiosk)
    kiosk.do(SignInAction.PRINT)
    kiosk.frame(4)
    assert kiosk.view.sentence == "Printed: Room 4. Take the paper now."
    assert code in words_of(kiosk.jobs[-1].pdf)
    width = float(PdfReader(BytesIO(kiosk.jobs[-1].pdf)).pages[0].mediabox.width)
    assert width == pytest.approx(width_pt, abs=0.1)


def words_of(pdf: bytes) -> str:
    from io import BytesIO

    from pypdf import PdfReader

    return PdfReader(BytesIO(pdf)).pages[0].extract_text()


def test_what_was_typed_and_left_alone_for_three_minutes_is_forgotten(kiosk):
    kiosk.frame()
    kiosk.do(StaffAction.NEXT)
    kiosk.write("Room 4")
    kiosk.write("M2")
    kiosk.pass_minutes(3.1)
    assert kiosk.screen == "begin" and kiosk.app_session.sign_in_screens.state.name == ""


# The PIN re-opens, the passphrase opens


def test_within_fifteen_minutes_the_pin_re_opens_and_after_them_only_the_passphrase(kiosk):
    kiosk.set_up()
    kiosk.pass_minutes(10)
    assert kiosk.screen == "locked" and kiosk.store_access.session is not None
    kiosk.unlock()
    assert kiosk.screen == "today"
    kiosk.pass_minutes(14.9)
    assert kiosk.store_access.session is not None
    kiosk.pass_minutes(0.2)
    assert kiosk.store_access.session is None and kiosk.driver is None
    assert kiosk.screen == "locked"
    kiosk.do(ScreenAction.STAFF)
    assert kiosk.view.note == "The store is locked; a passphrase opens it."
    kiosk.write("M2")
    kiosk.write(WORDS)
    assert kiosk.screen == "today"


def test_a_touch_that_wakes_a_tablet_which_slept_too_long_comes_too_late(kiosk):
    kiosk.set_up()
    kiosk.t_ns += 16 * MINUTES * 10**9
    kiosk.stage.draw = lambda act=kiosk.stage.on_action: act(TodayAction.FIND)
    kiosk.frame()
    assert kiosk.store_access.session is None and kiosk.driver is None


def test_five_wrong_pins_drop_the_key(kiosk):
    kiosk.set_up()
    kiosk.do(StaffAction.LOCK, ScreenAction.STAFF)
    for wrong in range(5):
        kiosk.pass_minutes(2.0)
        assert kiosk.store_access.session is not None, wrong
        if kiosk.screen == "locked":
            kiosk.do(ScreenAction.STAFF)
        kiosk.type("000000")
    assert kiosk.store_access.session is None and kiosk.driver is None and kiosk.screen == "locked"
    kiosk.do(ScreenAction.STAFF)
    assert kiosk.screen == "name"  # no PIN is asked any more


def test_wrong_passphrases_wait_longer_and_longer_and_an_unknown_name_reads_the_same(kiosk):
    kiosk.set_up()
    kiosk.pass_minutes(16)
    kiosk.sign_in("M2", OTHER_WORDS)
    wrong = kiosk.view.note
    assert wrong.startswith("This name and passphrase do not open") and kiosk.screen == "passphrase"
    kiosk.do(Scan(WORDS))
    assert kiosk.view.note.startswith("Wait ")  # even the right one waits a second
    kiosk.pass_minutes(1.1 / MINUTES)
    kiosk.do(Scan(OTHER_WORDS))
    kiosk.pass_minutes(1.1 / MINUTES)
    kiosk.do(Scan(WORDS))
    assert kiosk.view.note.startswith("Wait ")  # the second time it is two seconds
    kiosk.pass_minutes(2.1 / MINUTES)
    kiosk.do(StaffAction.BACK, Scan("nobody"), Scan(WORDS))
    assert kiosk.view.note == wrong
    kiosk.pass_minutes(5 / MINUTES)
    kiosk.do(StaffAction.BACK)
    kiosk.write("m2")
    kiosk.write(WORDS)
    assert kiosk.screen == "today"


def test_a_plugged_in_keyboard_signs_in_too(kiosk):
    kiosk.set_up()
    kiosk.pass_minutes(16)
    kiosk.do(ScreenAction.STAFF, Scan("M2"))
    assert kiosk.view.masked
    kiosk.do(Scan(WORDS))
    assert kiosk.screen == "today"


def test_the_recovery_code_opens_a_new_passphrase_and_is_replaced(kiosk):
    code = kiosk.set_up()
    kiosk.pass_minutes(16)
    kiosk.do(ScreenAction.STAFF, SignInAction.RECOVER)
    kiosk.type(code.replace("-", ""))
    kiosk.write("M2")
    kiosk.write(OTHER_WORDS)
    kiosk.write(OTHER_WORDS)
    new_code = kiosk.app_session.sign_in_screens.state.code
    assert len(new_code) == 39 and new_code != code
    kiosk.do(StaffAction.NEXT)
    kiosk.type(new_code[-4:])
    assert kiosk.screen == "today"
    kiosk.pass_minutes(16)
    kiosk.sign_in("M2", WORDS)
    assert "do not open" in kiosk.view.note
    kiosk.pass_minutes(2 / MINUTES)
    kiosk.write(OTHER_WORDS)
    assert kiosk.screen == "today"


# A visit and the key


def test_the_key_is_held_through_a_trial_however_long_nobody_touched_a_button(kiosk):
    kiosk.set_up()
    begun(kiosk)
    sit_through(kiosk, until_position=2)
    runner = kiosk.driver.runner
    touches = kiosk.person.touches(runner.step.plan, kiosk.t_ns + 100_000_000)
    kiosk.capture.load(touches)
    while not runner.in_trial:
        kiosk.frame()
    kiosk.store_access.session._unlocked.touched(kiosk.t_ns / 1e9 - 16 * MINUTES)
    kiosk.frame()
    assert runner.in_trial and kiosk.store_access.session is not None
    while runner.in_trial:
        kiosk.frame()
    assert kiosk.screen == "person" and len(kiosk.store.trials_of(kiosk.driver.visit.id)) == 2


def test_a_visit_left_at_a_rest_is_locked_after_fifteen_minutes_and_goes_on_after_the_passphrase(kiosk):
    kiosk.set_up()
    begun(kiosk)
    sit_through(kiosk, until_position=3)
    visit_id = kiosk.driver.visit.id
    code = kiosk.store.people()[0].code
    shown, stopped, stop = len(kiosk.stages), [], kiosk.capture.stop
    kiosk.capture.stop = lambda: (stopped.append(kiosk.t_ns), stop())
    kiosk.pass_minutes(15.1)
    kiosk.frame()
    assert stopped  # the glass is let go of, though a disc was waiting for the finger
    assert kiosk.store_access.session is None and kiosk.view.headline == "This tablet is locked."
    kiosk.sign_in()
    assert all(code not in texts(view) for stage in kiosk.stages[shown:-1] for view in stage.views)
    assert kiosk.view.headline == "A visit was left in the middle." and code in kiosk.view.head.who
    kiosk.do(LeftOpenAction.RESUME)
    assert kiosk.driver.runner.course.position == 3 and kiosk.driver.visit.id == visit_id
    sit_through(kiosk)
    kiosk.unlock()
    kiosk.do(ObservationAction.NOTHING)
    kiosk.frame(3)
    assert kiosk.store.visit_end(visit_id).how == "completed"
    assert len(kiosk.store.trials_of(visit_id)) == 11


def test_after_a_crash_the_screen_is_neutral_and_the_visit_is_offered_with_its_cut_trial(kiosk, tmp_path):
    kiosk.set_up()
    begun(kiosk)
    sit_through(kiosk, until_position=4)
    plan = kiosk.driver.runner.step.plan
    kiosk.capture.load(kiosk.person.touches(plan, kiosk.t_ns + 100_000_000))
    while kiosk.driver.runner.waiting_for_finger:
        kiosk.frame()
    kiosk.frame(100)  # five seconds, the disc on its way for 4.2 of them; then nothing more
    kiosk.store_access.session.journal.close()
    again = LockedKiosk(tmp_path, seed=1, t_ns=kiosk.t_ns + 60_000_000_000)
    again.frame()
    assert again.view.headline == "This tablet is locked." and again.store_access.session is None
    again.sign_in()
    assert again.view.headline == "A visit was left in the middle."
    visit = again.store.visits_of(again.store.people()[0].id)[0]
    cut = again.store.trials_of(visit.id)[-1].record
    assert (cut.facts.outcome, cut.facts.outcome_reason) == ("interrupted", "kiosk_stopped")
    assert cut.samples.t_s[-1] > 4.2 - 0.5
    again.do(LeftOpenAction.RESUME)
    step = again.driver.runner.step
    assert (again.driver.runner.course.position, step.screen) == (5, "rest")


# Who may do what


@pytest.fixture
def staffed(kiosk) -> LockedKiosk:
    """Beside the lead M2 there is N1, who gives visits, and D1, who reads and signs."""
    kiosk.set_up()
    for name, role in (("N1", "administer"), ("D1", "interpret")):
        add_account(kiosk, name, role)
    kiosk.do(StaffAction.BACK, StaffAction.BACK)
    return kiosk


def add_account(kiosk: LockedKiosk, name: str, role: str) -> None:
    if kiosk.screen == "today":
        kiosk.do(TodayAction.SITE, accounts.TILE)
    kiosk.do(AccountAction.ADD)
    for words in (name, f"{OTHER_WORDS} {name}", f"{OTHER_WORDS} {name}"):
        kiosk.write(words)
    if role != "administer":
        kiosk.do(PickRole("administer"), PickRole(role))
    kiosk.do(StaffAction.NEXT)


def takes_over(kiosk: LockedKiosk, name: str) -> None:
    """With the passphrase, over the open kiosk."""
    kiosk.do(StaffAction.LOCK, ScreenAction.STAFF, LockAction.PASSPHRASE)
    kiosk.write(name)
    kiosk.write(f"{OTHER_WORDS} {name}")
    if kiosk.screen == "first_pin":
        kiosk.choose_pin("590312")


def actions(view) -> set[Action]:
    return {one.action for one in (*view.controls, *getattr(view, "rows", ()))}


def test_the_lead_names_staff_and_each_sees_what_is_theirs(staffed):
    assert actions(staffed.view) >= {TodayAction.NEW, TodayAction.FIND, TodayAction.SITE}
    staffed.do(TodayAction.SITE)
    assert {tablet.TILE, tables.TILE, accounts.TILE, backup.TILE} <= actions(staffed.view)
    staffed.do(StaffAction.BACK)
    takes_over(staffed, "N1")
    assert staffed.driver.context.at_work.name == "N1"
    assert actions(staffed.view) >= {TodayAction.NEW, TodayAction.FIND}
    staffed.do(TodayAction.SITE)
    assert actions(staffed.view) == {languages.TILE, accounts.OWN_TILE, StaffAction.BACK}
    staffed.do(accounts.TILE)
    assert staffed.view.note == "This is for an account that leads the site."
    staffed.do(StaffAction.BACK)
    takes_over(staffed, "D1")
    assert TodayAction.NEW not in actions(staffed.view) and TodayAction.FIND in actions(staffed.view)
    staffed.do(TodayAction.NEW)
    assert staffed.view.note == "This is for an account that gives visits."


def test_who_gives_visits_sees_no_result_and_who_reads_signs_in_their_own_name(staffed):
    takes_over(staffed, "N1")
    nurse = staffed.driver.context.at_work
    begun(staffed)
    sit_through(staffed)
    staffed.do(ScreenAction.STAFF)
    staffed.type("590312")
    staffed.do(ObservationAction.NOTHING)
    staffed.frame(3)
    assert staffed.view.headline == "The visit is kept." and not staffed.stage.results
    staffed.do(StaffAction.NEXT)
    row = staffed.view.rows[0].action
    staffed.do(row)
    assert staffed.view.note == "This is for an account that reads and signs pages."
    takes_over(staffed, "D1")
    doctor = staffed.driver.context.at_work
    staffed.do(row)
    assert staffed.stage.results
    staffed.do(StaffAction.NEXT, SignAction.SIGN)
    staffed.type("AB")
    staffed.do(Answer("role", "doctor"), SignAction.SIGN)
    ledger = staffed.store.ledger
    (signed,) = ledger.all(sa.select(rows.sign_off))
    assert signed["made_by"] == doctor.id == ledger_s_signer(staffed, signed["report_id"])
    by = {line["action"]: line["staff_id"] for line in ledger.all(sa.select(rows.audit))}
    assert (by["begin_visit"], by["sign"], by["add_account"]) == (nurse.id, doctor.id, lead(staffed))
    came = [line["staff_id"] for line in ledger.all(sa.select(rows.audit)) if line["action"] == "sign_in"]
    assert came == [lead(staffed), nurse.id, doctor.id]
    staffed.do(PageAction.AMEND, Answer("what", "void_visit"), Answer("reason", "wrong_person"),
               StaffAction.NEXT)
    staffed.frame(3)
    (amended,) = ledger.all(sa.select(rows.amendment))
    assert amended["made_by"] == doctor.id


def ledger_s_signer(kiosk, report_id):
    return kiosk.store.sign_off_of(report_id).account


def test_who_reads_finds_a_person_s_earlier_visits_on_another_day(staffed):
    whole_visit_of_new_person(staffed)
    code = staffed.store.people()[0].code
    staffed.pass_minutes(24 * 60)
    staffed.sign_in("D1", f"{OTHER_WORDS} D1")
    staffed.choose_pin("590312")
    assert staffed.screen == "today" and not staffed.view.rows
    staffed.do(TodayAction.FIND)
    staffed.type(code)
    assert staffed.view.head.title == "Visits" and len(staffed.view.rows) == 1
    staffed.do(staffed.view.rows[0].action)
    assert staffed.screen == "results" and staffed.stage.results
    staffed.do(StaffAction.TODAY)
    takes_over_as_lead(staffed)
    staffed.do(TodayAction.FIND)
    staffed.type(code)
    assert staffed.screen == "intake"
    staffed.do(IntakeAction.VISITS)
    assert len(staffed.view.rows) == 1


def whole_visit_of_new_person(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)


def takes_over_as_lead(kiosk):
    kiosk.do(StaffAction.LOCK, ScreenAction.STAFF, LockAction.PASSPHRASE, Scan("M2"), Scan(WORDS))


def lead(kiosk):
    return next(one.id for one in kiosk.store_access.session.staff() if one.name == "M2")


def test_the_store_refuses_what_the_desk_would_not_offer(staffed):
    from uuid import UUID

    from kiosk.visits.staff_archive import Amendment, SignOff

    takes_over(staffed, "N1")
    nobody = UUID(int=1)
    for wish in (lambda: staffed.store.sign(SignOff(nobody, "AB", "nurse", "read_page_and_notes")),
                 lambda: staffed.store.amend(Amendment("visit", nobody, "void", "wrong_person")),
                 lambda: staffed.store.withdraw_observations(nobody, ("talked",)),
                 lambda: staffed.store_access.session.close_account(nobody),
                 lambda: staffed.store_access.add_account("X", OTHER_WORDS, frozenset({"site_lead"}))):
        with pytest.raises(Refused, match="role_not_held"):
            wish()
    takes_over(staffed, "D1")
    with pytest.raises(Refused, match="role_not_held"):
        staffed.store.begin_visit(None)


def test_each_account_has_its_own_pin(staffed):
    takes_over(staffed, "N1")
    staffed.do(StaffAction.LOCK, ScreenAction.STAFF)
    staffed.type(PIN)
    assert staffed.view.note == "This is not the PIN."
    staffed.type("590312")
    assert staffed.screen == "today" and staffed.driver.context.at_work.name == "N1"


def test_a_closed_account_opens_nothing_and_the_last_lead_stays(staffed):
    staffed.do(TodayAction.SITE, accounts.TILE)
    nurse = next(one for one in staffed.driver.state.screen.rows if one.name == "N1")
    staffed.do(PickAccount(nurse.id), AccountAction.CLOSE)
    assert [one.name for one in staffed.driver.state.screen.rows if one.active] == ["D1", "M2"]
    me = next(one for one in staffed.driver.state.screen.rows if one.name == "M2")
    staffed.do(PickAccount(me.id), AccountAction.CLOSE)
    assert staffed.view.sentence == "This is the last site lead; name another first."
    staffed.do(StaffAction.BACK, StaffAction.BACK, StaffAction.BACK, StaffAction.BACK)
    staffed.pass_minutes(16)
    staffed.sign_in("N1", f"{OTHER_WORDS} N1")
    assert "do not open" in staffed.view.note


def test_someone_else_goes_on_with_the_visit_at_hand(staffed):
    takes_over(staffed, "N1")
    begun(staffed)
    sit_through(staffed, until_position=2)
    staffed.do(ScreenAction.STAFF, LockAction.PASSPHRASE)
    staffed.write("M2")
    staffed.write(WORDS)
    assert staffed.screen == "staff_choices"
    staffed.do(CourseAction.GO_ON)
    assert staffed.screen == "person" and staffed.driver.runner.archive is staffed.store
    sit_through(staffed)
    trials = staffed.store.ledger.all(sa.select(rows.trial).order_by(rows.trial.c.position))
    assert trials[0]["made_by"] != trials[-1]["made_by"] == lead(staffed)


def test_a_new_passphrase_takes_the_place_of_the_old_one(kiosk):
    kiosk.set_up()
    kiosk.do(TodayAction.SITE, accounts.OWN_TILE, AccountAction.NEW_PASSPHRASE)
    kiosk.write(OTHER_WORDS)
    kiosk.write(OTHER_WORDS)
    assert kiosk.screen == "own"
    kiosk.pass_minutes(16)
    kiosk.sign_in("M2", OTHER_WORDS)
    assert kiosk.screen == "today"


# Backups by themselves


def finished(kiosk: LockedKiosk) -> None:
    """Frames until the copy's process has ended; the processes take real time."""
    import time

    end_s = time.monotonic() + 30
    while kiosk.driver.context.backups.running and time.monotonic() < end_s:
        time.sleep(0.05)
        kiosk.frame()


def test_a_copy_is_made_when_nobody_is_here_and_once_a_day(kiosk):
    kiosk.set_up()
    for _ in range(6):  # someone is here
        kiosk.pass_minutes(0.5)
        kiosk.do(TodayAction.FIND, StaffAction.BACK)
    assert not kiosk.driver.context.backups.running and kiosk.driver.next_look_s > 60
    kiosk.pass_minutes(1.1)
    kiosk.pass_minutes(1.1)
    assert kiosk.driver.context.backups.running
    finished(kiosk)
    told = kiosk.driver.context.backups
    assert (told.kept, told.trouble) == (1, None) and told.newest is not None
    lines = kiosk.store.ledger.all(sa.select(rows.audit).where(rows.audit.c.action == "backup"))
    assert [line["object_id"] for line in lines] == [one.name for one in kiosk.path.parent.glob("backups/2*")]
    kiosk.pass_minutes(5)
    assert not kiosk.driver.context.backups.running
    kiosk.unlock()
    kiosk.do(TodayAction.SITE)
    said = {row.action: row.cells[1] for row in kiosk.view.rows}
    assert said[backup.TILE].startswith("last on ")
    kiosk.pass_minutes(24 * 60 - 10)
    kiosk.sign_in()
    kiosk.pass_minutes(1.1)
    kiosk.pass_minutes(1.1)
    assert kiosk.driver.context.backups.running
    kiosk.store_access.session.let_go()


def test_no_copy_begins_in_a_visit_and_one_by_hand_waits_too(kiosk):
    kiosk.set_up()
    begun(kiosk)
    sit_through(kiosk, until_position=2)
    for _ in range(10):
        kiosk.pass_minutes(1.2)
    assert not kiosk.driver.context.backups.running and not (kiosk.path.parent / "backups").exists()
    kiosk.driver.carry_out(backup.BeginBackup())
    assert kiosk.driver.state.screen.note.code == "visit_in_progress"


def test_a_copy_that_cannot_be_made_is_said_at_the_site(kiosk):
    kiosk.set_up()
    (kiosk.path.parent / "backups").write_text("in the way")
    kiosk.do(TodayAction.SITE, backup.TILE, BackupAction.BACK_UP)
    finished(kiosk)
    assert kiosk.driver.context.backups.trouble.code == "cannot_write"
    assert kiosk.view.paragraphs[0] == "Backup: the last one was not made. Kept: 0."
    assert "backups" in kiosk.view.note


def test_the_process_that_copies_ends_with_the_key(kiosk):
    kiosk.set_up()
    kiosk.do(TodayAction.SITE, backup.TILE, BackupAction.BACK_UP)
    process = kiosk.store_access.session._backups._process._process
    kiosk.pass_minutes(16)
    assert kiosk.store_access.session is None and process.poll() is not None


def test_the_staff_corner_is_not_drawn_anew_under_a_finger_when_the_minute_turns(kiosk):
    """Its two seconds of holding would begin anew, and nothing come of them."""
    kiosk.set_up()
    kiosk.pass_minutes(16)
    assert kiosk.screen == "locked"
    drawn = len(kiosk.stage.views)
    kiosk.stage.pressed = True
    kiosk.frame(2, by_s=61.0)
    assert len(kiosk.stage.views) == drawn
    kiosk.do(ScreenAction.STAFF)  # held long enough: another screen does not wait for the lift
    assert kiosk.screen == "name" and len(kiosk.stage.views) > drawn
