"""The course: walks of whole visits. The order of screens and trials is that of the battery, hand by hand."""

from collections.abc import Callable, Iterable, Iterator

import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.trial import TrialPlan
from kiosk.visits.actions import CourseAction
from kiosk.visits.course import Course, Step, form_for

ANSWERS = {"welcome": CourseAction.BEGIN, "finger_check": CourseAction.FINGER_FELT,
           "demonstration": CourseAction.SHOWN, "instruction": CourseAction.READY,
           "rest": CourseAction.READY, "change_hand": CourseAction.READY, "new_path": CourseAction.READY,
           "not_understood_once": CourseAction.SHOWN,
           "stop_menu": CourseAction.GO_ON}
Ends = Callable[[TrialPlan, int], tuple[str, bool | None, bool | None]]


def new_course(**changed: str) -> Course:
    return Course(load_battery(), **{"form": "A", "preferred_hand": "right", "hands_today": "both"} | changed)


def fit(plan: TrialPlan, position: int) -> tuple[str, bool | None, bool | None]:
    return ("complete", True, None) if plan.scored else ("complete", None, True)


def move(course: Course, ends: Ends = fit, answers: dict[str, str] = ANSWERS) -> None:
    """One step on."""
    step = course.step
    if step.screen == "trial":
        course.trial_ended(*ends(step.plan, course.position))
    else:
        course.act(answers[step.screen])


def walk(course: Course, ends: Ends = fit, answers: dict[str, str] = ANSWERS) -> list[Step]:
    """Every step up to the end, answered as the table says; trials end as `ends` says."""
    steps = [course.step]
    while not course.done:
        move(course, ends, answers)
        steps.append(course.step)
        assert len(steps) < 200
    return steps


def named(steps: Iterable[Step]) -> list[str]:
    return [short(step.plan) if step.screen == "trial" else step.screen for step in steps]


def short(plan: TrialPlan) -> str:
    repeat = f" again {plan.attempt}" if plan.attempt > 1 else ""
    return f"{plan.block} {plan.hand_side} {plan.number}{repeat}"


def trials(steps: list[Step]) -> Iterator[TrialPlan]:
    return (step.plan for step in steps if step.screen == "trial")


FIRST_SCREENS = ["welcome", "finger_check", "demonstration", "instruction"]


def test_a_visit_goes_through_the_battery_with_a_rest_after_every_trial():
    course = new_course()
    assert named(walk(course)) == [
        *FIRST_SCREENS, "familiarise right 1", "rest",
        "steady right 1", "rest", "steady right 2", "rest", "steady right 3", "rest", "change_hand",
        "steady left 1", "rest", "steady left 2", "rest", "change_hand",
        "brisk right 1", "rest", "brisk right 2", "rest", "brisk right 3", "rest", "new_path",
        "wander right 1", "rest", "wander right 2", "thanks"]
    assert (course.how, course.done, course.observations) == ("completed", True, ())


def test_directions_and_paths_are_those_of_the_battery():
    # DESIGN of battery clinic 1: steady + - + and + -, brisk - + -; form A walks A1, A2.
    plans = list(trials(walk(new_course())))
    turns = [plan.path.direction for plan in plans[1:] if plan.block != "wander" and plan.hand == "preferred"]
    assert turns == [1, -1, 1, -1, 1, -1]
    assert [plan.path.name for plan in plans if plan.block == "wander"] == ["A1", "A2"]
    other = [plan.path.direction for plan in plans if plan.hand == "other"]
    assert other == [-1, 1]  # + - mirrored for the left hand


def test_a_left_handed_person_begins_with_the_left_hand_and_mirrored_circles():
    plans = list(trials(walk(new_course(preferred_hand="left"))))
    assert [plan.hand_side for plan in plans] == ["left"] * 4 + ["right"] * 2 + ["left"] * 5
    assert [plan.path.direction for plan in plans[1:4]] == [-1, 1, -1]
    assert [plan.path.direction for plan in plans[4:6]] == [1, -1]
    assert plans[-1].path == load_battery().wander["A2"]  # never mirrored


@pytest.mark.parametrize(("preferred", "today", "expected"), [
    ("right", "right", ["familiarise right 1", *(f"steady right {n}" for n in (1, 2, 3)),
                        *(f"brisk right {n}" for n in (1, 2, 3)), "wander right 1", "wander right 2"]),
    ("right", "left", ["familiarise left 1", "steady left 1", "steady left 2"]),
    ("left", "right", ["familiarise right 1", "steady right 1", "steady right 2"])])
def test_with_one_usable_hand_only_its_blocks_run(preferred: str, today: str, expected: list[str]):
    steps = walk(new_course(preferred_hand=preferred, hands_today=today))
    assert [short(plan) for plan in trials(steps)] == expected
    assert "change_hand" not in named(steps)
    assert {plan.hand for plan in trials(steps)} == {"preferred" if preferred == today else "other"}
    assert len(steps[-1].progress_dots) == len(expected)


def test_progress_dots_are_one_a_trial_and_fill_from_the_left():
    steps = walk(new_course())
    assert {len(step.progress_dots) for step in steps} == {11}
    groups = [(dot.block, dot.hand) for dot in steps[0].progress_dots]
    assert [groups.count(group) for group in dict.fromkeys(groups)] == [1, 3, 2, 3, 2]
    for k, step in enumerate(step for step in steps if step.screen == "trial"):
        assert [dot.state for dot in step.progress_dots] == ["done"] * k + ["now"] + ["todo"] * (10 - k)
    assert {dot.state for dot in steps[-1].progress_dots} == {"done"}


def test_a_rest_counts_what_is_left_in_the_block_and_a_trial_counts_itself():
    steps = walk(new_course())
    left = {screen: [step.trials_left_in_block for step in steps if step.screen == screen]
            for screen in ("rest", "trial")}
    assert left == {"rest": [0, 2, 1, 0, 1, 0, 2, 1, 0, 1], "trial": [1, 3, 2, 1, 2, 1, 3, 2, 1, 2, 1]}
    assert [step.hand_side for step in steps if step.screen == "change_hand"] == ["left", "right"]


def test_positions_count_every_trial_of_the_visit_from_one():
    seen = []
    walk(new_course(), lambda plan, position: (seen.append((position, plan.block)), fit(plan, position))[1])
    assert seen[:2] == [(1, "familiarise"), (2, "steady")]
    assert [position for position, _ in seen] == list(range(1, 12))


def test_a_trial_not_fit_to_be_scored_is_repeated_once_at_the_end_of_its_block():
    def bad_steady_2(plan: TrialPlan, position: int):
        return ("complete", False, None) if short(plan) == "steady right 2" else fit(plan, position)
    steps = walk(new_course(), bad_steady_2)
    assert [short(plan) for plan in trials(steps)][1:5] == [
        "steady right 1", "steady right 2", "steady right 3", "steady right 2 again 2"]
    again = next(step for step in steps if step.plan and step.plan.attempt == 2 and step.screen == "trial")
    first = next(step for step in steps if step.screen == "trial" and short(step.plan) == "steady right 2")
    assert again.plan.path == first.plan.path and again.note == "repeat"
    before = steps[steps.index(again) - 1]
    assert [dot.state for dot in before.progress_dots][:4] == ["done", "done", "unscored", "done"]
    assert [dot.state for dot in steps[-1].progress_dots] == ["done"] * 11


@pytest.mark.parametrize("ending", [("complete", False, None), ("interrupted", None, None)])
def test_what_is_never_fit_is_tried_twice_and_no_more(ending: tuple):
    steps = walk(new_course(), lambda plan, position: ending if plan.scored else fit(plan, position))
    plans = [short(plan) for plan in trials(steps)]
    assert len(plans) == 21 and len(set(plans)) == 21
    assert plans[4:7] == ["steady right 1 again 2", "steady right 2 again 2", "steady right 3 again 2"]
    assert [dot.state for dot in steps[-1].progress_dots] == ["done"] + ["unscored"] * 10


def test_a_trial_whose_fitness_was_not_judged_is_not_repeated():
    steps = walk(new_course(), lambda plan, position: ("complete", None, True))
    assert len(list(trials(steps))) == 11


# The practice trial

def test_not_understood_once_shows_the_disc_again_and_repeats_the_practice():
    def second(plan: TrialPlan, position: int):
        return fit(plan, position) if plan.scored else ("complete", None, plan.attempt == 2)
    course = new_course()
    steps = walk(course, second)
    assert named(steps)[4:10] == ["familiarise right 1", "not_understood_once", "demonstration",
                                  "instruction", "familiarise right 1 again 2", "rest"]
    assert course.observations == ()


def never_understood(plan: TrialPlan, position: int) -> tuple[str, bool | None, bool | None]:
    return fit(plan, position) if plan.scored else ("complete", None, False)


def test_going_on_after_not_understanding_twice_is_marked():
    course = new_course()
    steps = walk(course, never_understood, ANSWERS | {"not_understood": CourseAction.GO_ON_MARKED})
    assert named(steps)[8:12] == ["familiarise right 1 again 2", "not_understood", "rest", "steady right 1"]
    assert (course.how, course.observations) == ("completed", ("not_understood",))


def test_ending_after_not_understanding_is_an_end_by_staff():
    course = new_course()
    steps = walk(course, never_understood, ANSWERS | {"not_understood": CourseAction.END})
    assert named(steps)[-2:] == ["not_understood", "stopped"]
    assert (course.how, course.observations) == ("stopped_by_staff", ())
    assert course.act(CourseAction.GO_ON).screen == "thanks"


def test_staff_can_have_it_tried_once_more_and_then_only_go_on_or_end():
    course = new_course()
    while course.step.screen != "not_understood":
        move(course, never_understood)
    assert named(map(course.act, (CourseAction.RETRY, CourseAction.SHOWN, CourseAction.READY))) == [
        "demonstration", "instruction", "familiarise right 1 again 3"]
    assert course.trial_ended("complete", None, False).screen == "not_understood"
    with pytest.raises(ValueError, match="not_understood, got 'retry'"):
        course.act(CourseAction.RETRY)
    assert course.act(CourseAction.GO_ON_MARKED).screen == "rest"


def test_a_retry_that_is_understood_leaves_no_mark():
    def third(plan: TrialPlan, position: int):
        return fit(plan, position) if plan.scored else ("complete", None, plan.attempt == 3)
    course = new_course()
    walk(course, third, ANSWERS | {"not_understood": CourseAction.RETRY})
    assert (course.how, course.observations) == ("completed", ())


# Stop

def at_trial(course: Course, name: str) -> Course:
    while course.step.screen != "trial" or short(course.step.plan) != name:
        move(course)
    return course


def test_stopped_after_trial_4_what_was_done_stays_and_the_person_ended_it():
    course = at_trial(new_course(), "steady left 2")  # the fifth scored trial waits
    assert named(map(course.act, (CourseAction.STOP, CourseAction.END))) == ["stop_menu", "stopped"]
    assert (course.how, course.done, course.position) == ("stopped_by_person", True, 6)
    assert [dot.state for dot in course.step.progress_dots] == ["done"] * 5 + ["todo"] * 6
    assert course.act(CourseAction.SHOWN).screen == "thanks" and course.how == "stopped_by_person"


def test_stop_while_the_disc_moves_asks_and_going_on_repeats_the_trial_at_the_end_of_the_block():
    course = at_trial(new_course(), "steady right 2")
    assert course.trial_ended("stopped", False, None).screen == "stop_menu"
    assert course.act(CourseAction.STOP).screen == "stop_menu"  # pressed again
    assert course.act(CourseAction.GO_ON).screen == "rest"
    rest_of_visit = walk(course)
    assert [short(plan) for plan in trials(rest_of_visit)][:2] == ["steady right 3", "steady right 2 again 2"]


def test_stop_while_the_disc_waits_and_going_on_leaves_the_trial_as_it_was():
    course = at_trial(new_course(), "steady right 2")
    stopped = [course.act(one).screen for one in (CourseAction.STOP, CourseAction.GO_ON)]
    assert stopped == ["stop_menu", "trial"]
    assert short(course.step.plan) == "steady right 2" and course.position == 3


@pytest.mark.parametrize("screen", ["welcome", "finger_check", "demonstration", "instruction", "rest",
                                    "change_hand", "new_path", "trial"])
def test_a_rest_chosen_after_stop_leads_back_to_where_it_was(screen: str):
    course = new_course()
    while course.step.screen != screen:
        move(course)
    plan = course.step.plan
    assert [course.act(one).screen for one in (CourseAction.STOP, CourseAction.REST)] == ["stop_menu", "rest"]
    back = course.act(CourseAction.READY)
    assert back.screen == ("trial" if screen == "rest" else screen)
    assert back.plan == plan


def test_a_stop_in_the_very_last_trial_can_still_end_or_complete_the_visit():
    def last_is_stopped(course: Course) -> Course:
        at_trial(course, "wander right 2").trial_ended("stopped", False, None)
        course.act(CourseAction.GO_ON), course.act(CourseAction.READY)
        assert course.trial_ended("stopped", False, None).screen == "stop_menu" and not course.done
        return course
    ended, gone_on = last_is_stopped(new_course()), last_is_stopped(new_course())
    ended.act(CourseAction.END), gone_on.act(CourseAction.GO_ON)
    assert (ended.how, gone_on.how) == ("stopped_by_person", "completed")


# Resuming

def test_a_resumed_course_goes_on_where_the_first_stopped():
    whole = list(trials(walk(new_course(form="B"))))
    for k in range(1, 11):
        done = [(plan, "complete", True) for plan in whole[:k]]
        course = Course.resume(load_battery(), form="B", preferred_hand="right", done=done)
        assert course.step.screen == "rest" and course.position == k + 1
        assert list(trials(walk(course))) == whole[k:]
    finished = Course.resume(load_battery(), form="B", preferred_hand="right",
                             done=[(plan, "complete", True) for plan in whole])
    assert (finished.step.screen, finished.how) == ("thanks", "completed")
    assert Course.resume(load_battery(), form="A", preferred_hand="right", done=[]).step.screen == "welcome"


def test_a_resumed_course_repeats_what_was_interrupted_and_keeps_its_mark():
    plans = list(trials(walk(new_course())))
    done = [(plans[0], "complete", False), (plans[1], "interrupted", None)]
    course = Course.resume(load_battery(), form="A", preferred_hand="right", done=done)
    assert course.observations == ("not_understood",)
    assert [short(plan) for plan in trials(walk(course))][:3] == [
        "steady right 2", "steady right 3", "steady right 1 again 2"]


# Laws and refusals

def test_the_step_is_the_same_object_until_something_moves():
    course = new_course()
    step = course.step
    assert course.step is step
    course.act(CourseAction.BEGIN)
    assert course.step is not step


@pytest.mark.parametrize(("screen", "action"), [
    ("welcome", CourseAction.READY), ("welcome", CourseAction.GO_ON), ("rest", CourseAction.BEGIN),
    ("trial", CourseAction.READY), ("stop_menu", CourseAction.BEGIN), ("trial", CourseAction.RETRY),
    ("thanks", CourseAction.STOP)])
def test_an_action_that_does_not_fit_names_step_and_action_and_moves_nothing(screen, action):
    course = new_course()
    while course.step.screen != screen:
        if screen == "stop_menu" and course.step.screen == "rest":
            course.act(CourseAction.STOP)
        else:
            move(course)
    before = course.step
    with pytest.raises(ValueError, match=f"{screen}, got '{action.value}'"):
        course.act(action)
    assert course.step is before


def test_a_trial_cannot_end_where_none_is_on_the_screen():
    with pytest.raises(ValueError, match="welcome"):
        new_course().trial_ended("complete", True, None)


def test_the_form_is_a_on_even_and_b_on_odd_numbers_of_earlier_visits():
    assert [form_for(k) for k in range(4)] == ["A", "B", "A", "B"]
    names = [plan.path.name for plan in trials(walk(new_course(form="B"))) if plan.block == "wander"]
    assert names == ["B1", "B2"]
