"""The real kiosk on a display, driven with the mouse and with a finger of another process; nothing is called.

What comes out is read from the page it saved and from its store, once it is closed.
"""

import csv
import re
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from scipy import stats

from tests.calm_machine import real_time
from tests.needed_packages import needs
from tests.outside import eyes
from tests.outside.archive import visits
from tests.outside.hands import (
    BLOCKS,
    STAFF_CORNER,
    back_to_today,
    end_here,
    find_again,
    first_run,
    hand_over,
    intake,
    new_person,
    same_as_last_time,
    sit_through,
    staff_come,
    to_the_demonstration,
    to_the_next_trial,
    to_the_page,
    wait_for,
)
from tests.outside.kiosk_process import (
    LATE_S,
    PASSPHRASE,
    RATE_HZ,
    KioskProcess,
    finger_path,
    plan_of,
)

pytestmark = [needs("xvfb", "xdotool"), real_time]

DEMO_TABLE = Path(__file__).resolve().parents[2] / "demo_norms"
COPIED = ("purpose", "research_use", "preferred_hand", "hands_today", "placement", "delivery", "language")


@pytest.fixture
def kiosk(tmp_path, request):
    """Its tablet is of the class T10, or of the one asked for."""
    process = KioskProcess(tmp_path, device_class=getattr(request, "param", "T10"))
    yield process
    if process.running:
        process.close()


def begun(kiosk, **answers):
    """A new person from the first run to the demonstration."""
    first_run(kiosk)
    new_person(kiosk, "195405")
    intake(kiosk, **answers)
    hand_over(kiosk)
    to_the_demonstration(kiosk)


def page_text(kiosk, page=None):
    (page,) = kiosk.pages.glob("*.pdf") if page is None else (page,)
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
    begun(kiosk, tool_hand="left")
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
    begun(kiosk, hands_today="right")
    trials = [one for one in BLOCKS if one[1] == "preferred"]
    sit_through(kiosk, trials)
    _, _, kept = only_visit(kiosk)
    assert {t.record.plan.hand for t in kept} == {"preferred"}
    assert {t.record.plan.block for t in kept} == {"familiarise", "steady", "brisk", "wander"}


def unsteadily(kiosk, plan, _):
    """A finger that strays 12 mm about the disc, nine times in ten seconds, once it has set off."""
    t_s, places = finger_path(plan)
    stray = 12.0 * np.clip(t_s, 0.0, 1.0)
    turn = 2 * np.pi * 0.9 * t_s
    away = np.column_stack([stray * np.cos(turn), stray * np.sin(turn)])
    return kiosk.follow(plan, points_mm=places + away)


def chance_of_as_many_low(measures, at_least):
    """In how many of 100 people so many of these measures lie below standard score 79.5, by the table's r.

    The multivariate normal of scipy; a score is low below z* = (79.5 - 100) / 15 = -41/30.
    """
    with (DEMO_TABLE / "correlations.csv").open(encoding="utf-8") as file:
        r = {(row["measure_1"], row["measure_2"]): float(row["r"]) for row in csv.DictReader(file)
             if row["kind"] == "visit"}
    low, one, other = -41 / 30, *measures
    between = r.get((one, other)) or r[other, one]
    both = stats.multivariate_normal([0.0, 0.0], [[1.0, between], [between, 1.0]]).cdf([low, low])
    return 100 * (both if at_least == 2 else 2 * stats.norm.cdf(low) - both)


@pytest.mark.long
@pytest.mark.parametrize("kiosk", ["simulated"], indirect=True)
def test_a_visit_stopped_after_the_fourth_trial_scores_what_it_has_and_counts_among_that(kiosk):
    """Training, so that the simulated table may judge; the person strays far from the disc."""
    begun(kiosk, purpose="training")
    done = sit_through(kiosk, until=("steady", "other", 1), follow=unsteadily)  # the practice and four trials
    end_here(kiosk)
    staff_come(kiosk)
    to_the_page(kiosk)
    text = page_text(kiosk)
    ((after, measures),) = re.findall(r"Stopped by the person after trial (\d)\. (\d) of 6", text)
    assert (int(after), measures) == (4, "2")
    ((low, scored),) = re.findall(r"(\d) of (\d) scores (?:is|are) low for age 72", text)
    ((people, least),) = re.findall(r"About (\d+) in 100 people of the reference group have (\d)", text)
    assert (int(scored), int(least)) == (2, int(low)) and int(low) >= 1
    wanted = chance_of_as_many_low(("steady.preferred.scatter", "steady.other.scatter"), int(low))
    assert int(people) == pytest.approx(wanted, abs=0.6)
    _, _, trials = only_visit(kiosk)
    assert len(trials) == len(done)
    assert all(counts_agree(trial) for trial in trials)


@pytest.mark.long
def test_a_second_visit_takes_the_answers_over_and_the_page_shows_both_and_why_none_is_judged(kiosk):
    """No table is loaded here, so the values of both visits stand side by side, with the reason."""
    begun(kiosk, posture="wheelchair")
    sit_through(kiosk, most=4)
    end_here(kiosk)
    staff_come(kiosk)
    to_the_page(kiosk)
    back_to_today(kiosk)
    find_again(kiosk, "K-0101-H")
    same_as_last_time(kiosk)
    hand_over(kiosk)
    to_the_demonstration(kiosk)
    sit_through(kiosk, form="B")
    staff_come(kiosk)
    to_the_page(kiosk)
    saved = sorted(kiosk.pages.glob("*.pdf"), key=lambda page: page.stat().st_mtime_ns)
    first_page, second_page = (page_text(kiosk, page) for page in saved)
    assert "Visit 1 of this kind" in first_page and "Visit 2 of this kind" in second_page
    (then,) = re.findall(r"Scatter, steady circle (\d+\.\d mm)", first_page)
    ((one, other),) = re.findall(r"Scatter, steady circle (\d+\.\d mm) (\d+\.\d mm)", second_page)
    assert then in (one, other) and "no comparison is shown" in second_page
    assert kiosk.close() != 70
    (_, first, _), (_, second, trials) = visits(kiosk.store, PASSPHRASE)
    assert first.person_id == second.person_id
    assert (first.form, second.form) == ("A", "B")
    assert all(counts_agree(trial) for trial in trials)
    assert all(getattr(first, name) == getattr(second, name) for name in COPIED)
    assert [visit.intake["posture"] for visit in (first, second)] == ["wheelchair", "seated"]


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
