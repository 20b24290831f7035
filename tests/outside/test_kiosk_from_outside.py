"""The real kiosk on a display, driven with the mouse and with a finger of another process; nothing is called.

What comes out is read from the page it saved and from its store, once it is closed.
"""

import re

import numpy as np
import pytest
from pypdf import PdfReader

from tests.outside import eyes
from tests.outside.archive import visits
from tests.outside.hands import (
    BLOCKS,
    STAFF_CORNER,
    end_here,
    first_run,
    hand_over,
    intake,
    new_person,
    sit_through,
    staff_come,
    to_the_demonstration,
    to_the_next_trial,
    to_the_page,
    wait_for,
)
from tests.outside.kiosk_process import LATE_S, PASSPHRASE, RATE_HZ, KioskProcess, missing, plan_of

pytestmark = pytest.mark.skipif(bool(missing()), reason=f"this machine has no {', '.join(missing())}")

RIGHT, LEFT, BOTH, ONLY_RIGHT = 0, 1, 0, 1


@pytest.fixture
def kiosk(tmp_path):
    process = KioskProcess(tmp_path)
    yield process
    if process.running:
        process.close()


def begun(kiosk, hand=RIGHT, hands=BOTH, reason=()):
    """A new person from the first run to the demonstration; all else answered with the first answer."""
    first_run(kiosk)
    new_person(kiosk, "195405")
    intake(kiosk, hand, hands, *reason, None, 0, 0, 0, 0, 0, 0, 0, 0)
    hand_over(kiosk)
    to_the_demonstration(kiosk)


def page_text(kiosk):
    (page,) = kiosk.pages.glob("*.pdf")
    return " ".join(PdfReader(page).pages[0].extract_text().split())


def only_visit(kiosk):
    assert kiosk.close() != 70
    ((archive, visit, trials),) = visits(kiosk.store, PASSPHRASE)
    return archive, visit, trials


def test_a_visit_from_the_first_pin_to_the_saved_page_whose_person_tries_once_and_ends_there(kiosk):
    """Every sample of the other process's finger is kept, with its own stamp."""
    begun(kiosk)
    assert to_the_next_trial(kiosk)
    stamps = kiosk.follow(plan_of("familiarise", "preferred", 1))
    wait_for(kiosk, lambda picture: not eyes.is_trial(picture))
    end_here(kiosk)
    staff_come(kiosk)
    to_the_page(kiosk)
    text = page_text(kiosk)
    assert "K-0101-H" in text and "May 1954" in text
    assert "Stopped by the person" in text and "not scored" in text
    archive, visit, (trial,) = only_visit(kiosk)
    assert archive.visit_end(visit.id).how == "stopped_by_person"
    facts, kept_ns = trial.record.facts, trial.record.raw.t_ns
    assert (facts.touch_source, facts.outcome) == ("pipe", "complete")
    assert kept_ns[:-1].tolist() == stamps[: len(kept_ns) - 1]  # the last one may close the trial
    assert counts_agree(trial)


def counts_agree(trial):
    """Samples kept are the rate times the time from the rest on the disc to the end, within 1 %."""
    wanted = RATE_HZ * (0.8 + trial.record.plan.end_s)
    return len(trial.record.raw.t_ns) == pytest.approx(wanted, rel=0.01)


@pytest.mark.long
def test_a_whole_visit_reads_a_finger_fifty_milliseconds_late_as_that(kiosk):
    begun(kiosk)
    sit_through(kiosk)
    staff_come(kiosk)
    to_the_page(kiosk)
    text = page_text(kiosk)
    assert "Fit to read?" in text and "measure today" in text
    archive, visit, trials = only_visit(kiosk)
    first = [one for one in trials if one.record.plan.attempt == 1]
    assert [(t.record.plan.block, t.record.plan.hand, t.record.plan.number) for t in first] == BLOCKS
    assert all(counts_agree(trial) for trial in trials)
    assert archive.visit_end(visit.id).how == "completed"
    for measure in ("Lag on circles", "Delay, wandering path"):
        (late_ms,) = re.findall(rf"{measure} (\d+) ms behind", text)
        assert int(late_ms) == pytest.approx(LATE_S * 1000, abs=3)


@pytest.mark.long
def test_a_left_handed_visit_turns_the_other_way_and_stop_stands_on_the_other_side(kiosk):
    begun(kiosk, hand=LEFT)
    sit_through(kiosk, side="left")
    _, _, trials = only_visit(kiosk)
    sides = {t.record.plan.hand: t.record.plan.hand_side for t in trials}
    assert sides == {"preferred": "left", "other": "right"}
    assert trials[1].record.plan.path.direction == -1
    assert all(counts_agree(trial) for trial in trials)
    assert all(np.hypot(*on_disc(trial)) < 5.0 for trial in trials)


def on_disc(trial):
    """Median distance in x and y between finger and disc, mm."""
    samples = trial.record.samples
    x_mm, y_mm = trial.record.plan.position(np.maximum(samples.t_s, 0.0))
    return float(np.median(np.abs(samples.x_mm - x_mm))), float(np.median(np.abs(samples.y_mm - y_mm)))


@pytest.mark.long
def test_with_one_usable_hand_only_its_blocks_run(kiosk):
    begun(kiosk, hands=ONLY_RIGHT, reason=(0,))
    trials = [one for one in BLOCKS if one[1] == "preferred"]
    sit_through(kiosk, trials)
    _, _, kept = only_visit(kiosk)
    assert {t.record.plan.hand for t in kept} == {"preferred"}
    assert {t.record.plan.block for t in kept} == {"familiarise", "steady", "brisk", "wander"}


@pytest.mark.long
def test_a_visit_stopped_after_the_fourth_trial_scores_what_it_has(kiosk):
    begun(kiosk)
    sit_through(kiosk, most=4)
    end_here(kiosk)
    staff_come(kiosk)
    to_the_page(kiosk)
    assert "Stopped by the person after trial" in page_text(kiosk)
    _, _, trials = only_visit(kiosk)
    assert len(trials) == 4


@pytest.mark.long
def test_a_trial_with_the_finger_away_for_most_of_it_is_shown_once_more(kiosk):
    begun(kiosk)
    sit_through(kiosk, most=1)

    def follow(kiosk, plan, number):
        return kiosk.follow(plan, seconds=6.0 if number == 0 else None)

    sit_through(kiosk, most=4, follow=follow)
    _, _, trials = only_visit(kiosk)
    steady = [(t.record.plan.number, t.record.plan.attempt) for t in trials[1:]]
    assert steady == [(1, 1), (2, 1), (3, 1), (1, 2)]
    assert trials[4].repeat_of == trials[1].id


@pytest.mark.long
@pytest.mark.parametrize(("choice", "blocks"), [
    (0, ["familiarise"] * 3), (1, ["familiarise"] * 2 + ["steady"]), (2, ["familiarise"] * 2)])
def test_a_person_who_does_not_follow_twice_is_left_to_the_staffs_choice(kiosk, choice, blocks):
    """Explain and try again, go on marked, end here."""
    begun(kiosk)
    sit_through(kiosk, most=2, follow=lambda kiosk, plan, number: kiosk.follow(plan, seconds=1.0))
    wait_for(kiosk, lambda picture: not eyes.is_trial(picture))
    staff_come(kiosk, STAFF_CORNER)
    kiosk.press(*wait_for(kiosk, eyes.foot)[choice])
    if choice < 2:
        assert to_the_next_trial(kiosk)
        block = blocks[-1]
        kiosk.follow(plan_of(block, "preferred", 1))
        wait_for(kiosk, lambda picture: not eyes.is_trial(picture))
    _, _, trials = only_visit(kiosk)
    assert [t.record.plan.block for t in trials] == blocks
