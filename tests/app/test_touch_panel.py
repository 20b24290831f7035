"""The touch panel in a visit: gone and back again, felt by the finger check, judged by its check."""

from dataclasses import replace

import pytest

from kiosk.app import startup as starting
from kiosk.demo.simulated_visits import PANEL, RANGES
from kiosk.i18n.language import load_language
from kiosk.staff import tablet
from kiosk.staff.actions import StaffAction
from kiosk.staff.person_part import LeftOpenAction
from kiosk.staff.ready import ReadyAction
from kiosk.staff.tablet import TabletAction
from kiosk.staff.today import Today, TodayAction
from kiosk.touch.capture import Playback, Touch
from kiosk.touch.cross_check import CROSSES_MM
from kiosk.touch.device_check import DeviceCheck, DeviceFigures, DisplayFigures
from kiosk.touch.verdict import DeviceReason
from kiosk.visits.actions import CourseAction, ScreenAction, TouchPlace
from kiosk.wording.reasons import sentence
from tests.app.fake_kiosk import PIN, FakeKiosk, hand_over, intake, new_person, sit_through

GONE = ("Please wait.", "Someone will help you. The touch panel does not answer. Check its cable; the visit "
        "goes on by itself when it is back.")


class Panel(Playback):
    """A panel of its own that can be unplugged; it comes back at the first start after it was plugged in."""

    source, clock_name = "kernel", "kernel_monotonic"

    def __init__(self, now_ns) -> None:
        super().__init__(now_ns, RANGES, PANEL)
        self.plugged, self.gone, self.tries = True, False, 0

    def unplug(self) -> None:
        self.plugged, self.gone = False, True

    def start(self) -> None:
        self.tries += 1
        self.gone = not self.plugged
        super().start()

    def drain(self) -> list[Touch]:
        if self.gone:
            raise OSError(19, "No such device")
        return super().drain()


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    kiosk = FakeKiosk(tmp_path)
    kiosk.capture = kiosk.driver.capture = Panel(kiosk.now_ns)
    kiosk.unlock()
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    return kiosk


def trials(kiosk: FakeKiosk):
    return kiosk.store.trials_of(kiosk.store.visits_of(kiosk.store.people()[-1].id)[-1].id)


def told(kiosk: FakeKiosk) -> tuple[str, str]:
    return kiosk.view.headline, kiosk.view.sentence


# Gone and back


def test_a_panel_gone_before_the_disc_sets_off_is_told_and_tried_once_a_second_until_it_is_back(kiosk):
    sit_through(kiosk, until_position=2)
    kiosk.capture.unplug()
    shown, tries = len(kiosk.stage.steps), kiosk.capture.tries
    kiosk.frame(100)  # 5 s
    assert told(kiosk) == GONE
    assert kiosk.view.head is None and "K-0101" not in repr(kiosk.view)
    assert len(kiosk.stage.steps) == shown, "the person's screen is not built anew again and again"
    assert kiosk.capture.tries - tries in (4, 5)
    kiosk.capture.plugged = True
    kiosk.frame(30)
    assert kiosk.stage.steps[-1].screen == "trial" and kiosk.driver.runner.waiting_for_finger
    sit_through(kiosk)
    assert len(trials(kiosk)) == 11


def test_a_panel_gone_in_mid_trial_ends_it_as_interrupted_and_it_is_repeated_when_it_is_back(kiosk):
    sit_through(kiosk, until_position=2)
    kiosk.capture.load(kiosk.person.touches(kiosk.driver.runner.step.plan, kiosk.t_ns + 100_000_000))
    kiosk.frame(100)
    kiosk.capture.unplug()
    kiosk.frame(3)
    facts = trials(kiosk)[-1].record.facts
    assert (facts.outcome, facts.outcome_reason) == ("interrupted", "device_gone")
    assert told(kiosk) == GONE
    kiosk.capture.load([])
    kiosk.capture.plugged = True
    kiosk.frame(30)
    sit_through(kiosk)
    assert [one.record.plan.attempt for one in trials(kiosk) if one.repeat_of] == [2]


def test_staff_may_end_a_visit_whose_panel_stays_away(kiosk):
    sit_through(kiosk, until_position=2)
    kiosk.capture.unplug()
    kiosk.frame(3)
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    assert [one.action for one in kiosk.view.controls] == [CourseAction.GO_ON, CourseAction.STAFF_END]
    kiosk.do(CourseAction.GO_ON)
    assert told(kiosk) == GONE, "back with the person the same words stand there"
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    kiosk.do(CourseAction.STAFF_END)
    assert kiosk.stage.steps[-1].screen == "thanks"


def test_the_sentence_is_the_person_s_language_s(kiosk):
    words = sentence("touch_device_gone", {}, load_language("en"))
    assert words in GONE[1]


# Felt by the source that records


def finger(kiosk: FakeKiosk, x_mm: float, y_mm: float, contact: bool = True, tool: str = "finger") -> Touch:
    calibration = kiosk.driver.visit_context().calibration
    x_raw, y_raw = calibration.to_raw([x_mm], [y_mm], RANGES, PANEL)
    return Touch(kiosk.t_ns + 1, float(x_raw[0]), float(y_raw[0]), contact, 5, tool)


def at_the_finger_check(kiosk: FakeKiosk) -> None:
    while kiosk.driver.runner.step.screen != "finger_check":
        kiosk.do(CourseAction.BEGIN)
    kiosk.stage.places.clear()


def test_the_finger_check_sees_the_fingers_of_the_source_that_records_the_trials(kiosk):
    at_the_finger_check(kiosk)
    kiosk.frame()
    assert kiosk.stage.places[-1] == []
    kiosk.capture.load([finger(kiosk, 3.0, -42.0)])
    kiosk.frame()
    assert kiosk.stage.places[-1] == [pytest.approx((3.0, -42.0), abs=0.02)]
    kiosk.capture.load([finger(kiosk, 3.0, -42.0, contact=False)])
    kiosk.frame()
    assert kiosk.stage.places[-1] == []


def test_a_stylus_in_the_ring_is_no_finger(kiosk):
    at_the_finger_check(kiosk)
    kiosk.capture.load([finger(kiosk, 0.0, -42.0, tool="stylus")])
    kiosk.frame()
    assert kiosk.stage.places[-1] == []


def test_after_the_finger_check_nobody_is_felt_for_any_more(kiosk):
    at_the_finger_check(kiosk)
    kiosk.do(CourseAction.FINGER_FELT)
    kiosk.stage.places.clear()
    kiosk.frame(5)
    assert kiosk.stage.places == []


# Judged by its check

NOISY = DeviceReason("touch_noisy", {"noise_mm": 0.7, "most_mm": 0.5})
TOO_NOISY = DeviceReason("touch_too_noisy", {"noise_mm": 2.7, "most_mm": 2.0}, "refuse")


def checked(kiosk: FakeKiosk, verdict: str, *reasons: DeviceReason) -> None:
    """The tablet's own check ends like this and is kept."""
    kiosk.do(TodayAction.SITE, tablet.TILE)
    found = DeviceCheck(verdict, reasons, DeviceFigures(118.0, 9.5, 0.01, 0.7), DisplayFigures(60.0, 0.0),
                        217.7, 136.1)
    kiosk.driver.on_result(tablet.DeviceChecked(found))
    kiosk.do(StaffAction.NEXT, StaffAction.BACK, StaffAction.BACK)


def at_the_ready_strip(tmp_path, *checks) -> FakeKiosk:
    kiosk = FakeKiosk(tmp_path)
    kiosk.unlock()
    for one in checks:
        checked(kiosk, *one)
    new_person(kiosk)
    intake(kiosk)
    return kiosk


def test_a_tablet_found_unfit_begins_no_visit_and_the_ready_strip_says_why(tmp_path):
    kiosk = at_the_ready_strip(tmp_path, ("refuse", TOO_NOISY))
    assert kiosk.view.note == ("Not fit for visits. Touches tremble by 2.7 mm on their own; at most 2.0 mm "
                               "is accepted.")
    hand_over(kiosk)
    assert kiosk.screen == "ready"
    assert not next(one for one in kiosk.view.controls if one.action == ReadyAction.HAND_OVER).available
    assert kiosk.store.visits_of(kiosk.store.people()[-1].id) == ()


def test_a_tablet_fit_with_a_note_says_it_on_the_ready_strip_and_the_visit_keeps_the_check(tmp_path):
    kiosk = at_the_ready_strip(tmp_path, ("warn", NOISY))
    assert kiosk.view.note == "Fit for visits, with a note. Touches tremble by 0.7 mm on their own."
    hand_over(kiosk)
    assert kiosk.screen == "person"
    visit = kiosk.store.visits_of(kiosk.store.people()[-1].id)[-1]
    assert visit.device_check_id == kiosk.store.checks_of(visit.device_id).panel.id


def test_a_visit_left_open_does_not_go_on_on_a_tablet_found_unfit_since(tmp_path):
    kiosk = at_the_ready_strip(tmp_path)
    hand_over(kiosk)
    code = kiosk.store.people()[-1].code
    kiosk.driver.runner = None
    kiosk.driver.state = replace(kiosk.driver.state, screen=Today())
    checked(kiosk, "refuse", TOO_NOISY)
    kiosk.do(TodayAction.FIND)
    kiosk.type(code)
    kiosk.do(LeftOpenAction.RESUME)
    assert kiosk.screen == "refused" and "tremble" in kiosk.view.sentence
    assert kiosk.driver.runner is None


def test_the_newest_check_counts_also_after_a_restart(tmp_path):
    kiosk = at_the_ready_strip(tmp_path, ("refuse", TOO_NOISY), ("pass",))
    assert kiosk.view.note == ""
    checked_again = FakeKiosk(tmp_path, archive=at_the_ready_strip(tmp_path, ("refuse", TOO_NOISY)).store)
    assert checked_again.driver.context.tablet.checks.verdict == "refuse"


def test_crosses_missed_by_a_disc_s_radius_hold_a_visit_back_too_and_are_kept_with_their_offset(tmp_path):
    kiosk = FakeKiosk(tmp_path)
    kiosk.unlock()
    kiosk.do(TodayAction.SITE, tablet.TILE, TabletAction.CROSSES)
    kiosk.do(*(TouchPlace(x + 12.0, y + 9.0) for x, y in CROSSES_MM), StaffAction.NEXT)
    rows = {row.action: row.cells for row in kiosk.view.rows}
    assert rows[TabletAction.CROSSES] == ("Touch, with five crosses", "15.0 mm · Not fit for visits.")
    kept = kiosk.store.checks_of(kiosk.driver.device.id).crosses
    assert kept.mean_offset_mm == pytest.approx(15.0)  # of a triangle of sides 9, 12, 15
    kiosk.do(StaffAction.BACK, StaffAction.BACK)
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    assert kiosk.screen == "ready" and kiosk.view.note.startswith("Not fit for visits.")


def test_a_named_panel_that_comes_back_under_another_path_is_found_by_its_name(monkeypatch):
    paths, opened = iter(["event3", "event3", "event7"]), []
    monkeypatch.setattr(starting, "find_touch_device", lambda name: (name, next(paths)))
    monkeypatch.setattr(starting, "open_device", opened.append)
    open_panel = starting._opener(starting.Wanted(touch="Invented panel 10"))
    open_panel()
    open_panel()
    assert opened == [("Invented panel 10", "event3"), ("Invented panel 10", "event7")]
