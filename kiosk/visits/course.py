"""Which screen and which trial come next in a visit: a state machine without clock, screen or storage.

    welcome --begin--> finger_check --finger_felt--> demonstration --shown--> instruction
    instruction --ready--> trial (the practice) · instruction --show_again--> demonstration
    trial --trial_ended--> rest --ready--> [change_hand --ready-->] [new_path --ready-->] trial ... thanks
    practice not understood: not_understood_once --shown, show_again or ready--> demonstration ... trial
    again not understood: not_understood --retry--> demonstration · --go_on_marked--> rest · --end--> stopped
    every screen of the person --stop--> stop_menu --rest--> rest · --go_on--> back · --end--> stopped
    stopped --shown or go_on--> thanks
    every screen but these two --staff_end--> stopped (by staff)

A trial's Stop while the disc waits is act(STOP); while it moves the trial ends with the outcome "stopped",
which leads to the stop menu too (another stop stays there).

A scored trial that was not complete, or not fit to be scored, is repeated once at the end of its block, with
the same direction or path. The practice trial (block `familiarise`) is repeated once by itself, and once more
only where staff ask for it.

`step` is the same object until something changes.
Step.plan is the trial on the screen or, elsewhere, the next one; Step.hand_side is the hand it asks for, on
rest the hand that has just moved. trials_left_in_block counts the trial of `plan` and what follows it in its
block; on rest it counts what is left in the block just worked on (0: the block is over). Decision trials-5.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from kiosk.pursuit.battery import Battery, Block
from kiosk.pursuit.trial import Outcome, TrialPlan
from kiosk.visits.actions import CourseAction

Screen = Literal["welcome", "finger_check", "demonstration", "instruction", "trial", "not_understood_once",
                 "not_understood", "rest", "change_hand", "new_path", "stop_menu", "stopped", "thanks"]

DotState = Literal["done", "now", "todo", "unscored"]


@dataclass(frozen=True)
class ProgressDot:
    """The progress dot of one planned trial; unscored: ended, but not fit to be scored."""

    block: str
    hand: str
    number: int
    state: DotState


@dataclass(frozen=True)
class EndedTrial:
    """A trial that ended. fit: to be scored (of the practice: passed); None: not judged."""

    plan: TrialPlan
    outcome: Outcome
    fit: bool | None

    @property
    def wants_repeat(self) -> bool:
        """Whether a trial must be repeated: it was not completed, or judged unfit."""
        return self.outcome != "complete" or self.fit is False


@dataclass(frozen=True)
class Agenda:
    """The first attempts of every block that runs today, in order."""

    blocks: tuple[tuple[TrialPlan, ...], ...]

    def next_plan(self, ended: Sequence[EndedTrial], practice_over: bool) -> TrialPlan | None:
        """The next trial, None when all are over."""
        for block in self.blocks:
            if block[0].block == FAMILIARISE and practice_over:
                continue
            left = self.left_in_block(block[0].block_name, ended)
            if left:
                return left[0]
        return None

    def left_in_block(self, block_name: str, ended: Sequence[EndedTrial]) -> tuple[TrialPlan, ...]:
        """What is still to come in a block: first attempts, then repeats."""
        plans = [plan for block in self.blocks for plan in block if plan.block_name == block_name]
        tried = {plan.number: attempts_at(plan, ended) for plan in plans}
        first = [plan for plan in plans if not tried[plan.number]]
        again = [replace(plan, attempt=len(tried[plan.number]) + 1) for plan in plans
                 if _to_be_repeated(plan, tried[plan.number])]
        return (*first, *again)

    def dots(self, ended: Sequence[EndedTrial], now: TrialPlan | None) -> tuple[ProgressDot, ...]:
        """One dot for each planned trial; `now` is the trial on the screen."""
        return tuple(_dot(plan, attempts_at(plan, ended), now) for block in self.blocks for plan in block)


How = Literal["completed", "stopped_by_person", "stopped_by_staff"]

PRACTICE_TRIES: Final = 3  # first, repeat, and one that staff ask for

_MOVES: Final[dict[tuple[str, CourseAction], Screen]] = {
    ("welcome", CourseAction.BEGIN): "finger_check",
    ("finger_check", CourseAction.FINGER_FELT): "demonstration",
    ("demonstration", CourseAction.SHOWN): "instruction",
    ("instruction", CourseAction.SHOW_AGAIN): "demonstration",
    ("instruction", CourseAction.READY): "trial",
    ("not_understood_once", CourseAction.SHOWN): "demonstration",
    ("not_understood_once", CourseAction.SHOW_AGAIN): "demonstration",
    ("not_understood_once", CourseAction.READY): "demonstration",
    ("new_path", CourseAction.READY): "trial",
    ("stopped", CourseAction.SHOWN): "thanks",
    ("stopped", CourseAction.GO_ON): "thanks",
}

_NO_STOP: Final = ("not_understood", "stopped", "thanks")


@dataclass(frozen=True)
class Step:
    """What is on the screen now. note: "repeat" where `plan` repeats an earlier trial."""

    screen: Screen
    plan: TrialPlan | None
    hand_side: str
    progress_dots: tuple[ProgressDot, ...]
    trials_left_in_block: int
    note: str | None = None


class Course:
    """The course of one visit, moved on by what the person, the staff and the trials do."""

    def __init__(self, battery: Battery, *, form: str, preferred_hand: str,
                 hands_today: str = "both") -> None:
        self._agenda = agenda_for(battery, form=form, preferred_hand=preferred_hand, hands_today=hands_today)
        self._ended: list[EndedTrial] = []
        self._marked = False
        self._screen: Screen = "welcome"
        self._back: Screen = "welcome"
        self._after_rest: Screen | None = None
        self.how: How | None = None
        self.step: Step = self._step()

    @classmethod
    def resume(cls, battery: Battery, *, form: str, preferred_hand: str, hands_today: str = "both",
               done: Sequence[tuple[TrialPlan, Outcome, bool | None]]) -> "Course":
        """The course after the trials of `done` (plan, outcome, fit to be scored; practice: passed)."""
        course = cls(battery, form=form, preferred_hand=preferred_hand, hands_today=hands_today)
        course._ended = [EndedTrial(*one) for one in done]
        if done:
            course._marked = done[-1][0].block != FAMILIARISE and not course._understood()
            course._go_to(course._screen_after_trial())
        return course

    @property
    def done(self) -> bool:
        """Nothing more is asked of the person."""
        return self.how is not None

    @property
    def position(self) -> int:
        """Place of the next trial in the visit, from 1; the practice counts."""
        return len(self._ended) + 1

    @property
    def observations(self) -> tuple[str, ...]:
        """Observation codes the course itself adds."""
        return ("not_understood",) if self._marked else ()

    def act(self, action: CourseAction) -> Step:
        """Move on by an action of the person or the staff, one of those drawn above.

        Raises ValueError naming step and action where the action does not fit the step.
        """
        screen = self._target(action)
        if action is CourseAction.STAFF_END and self._screen not in ("stopped", "thanks"):
            self.how, screen = "stopped_by_staff", "stopped"
        if screen is None:
            raise ValueError(f"action must fit the step {self._screen}, got {action.value!r}")
        self._note(action)
        if screen == "thanks" and self.how is None:
            self.how = "completed"
        return self._go_to(screen)

    def trial_ended(self, outcome: Outcome, valid: bool | None, practice_passed: bool | None = None) -> Step:
        """The trial on the screen ended; `valid` = fit to be scored, `practice_passed` for the practice."""
        plan = self._next()
        if self._screen != "trial" or plan is None:
            raise ValueError(f"a trial must be on the screen to end, got the step {self._screen}")
        self._ended.append(EndedTrial(plan, outcome, valid if plan.scored else practice_passed is True))
        screen = self._screen_after_trial()
        if outcome == "stopped":
            self._back, screen, self.how = screen, "stop_menu", None  # even after the last trial
        return self._go_to(screen)

    def _go_to(self, screen: Screen) -> Step:
        self._screen = screen
        self.step = self._step()
        return self.step

    def _step(self) -> Step:
        plan = self._next()
        left = self._agenda.left_in_block
        if self._screen == "rest" and self._ended:
            last = self._ended[-1].plan
            over = last.block == FAMILIARISE and self._practice_over()
            side, remaining = last.hand_side, 0 if over else len(left(last.block_name, self._ended))
        else:
            side = plan.hand_side if plan else self._agenda.blocks[0][0].hand_side
            remaining = len(left(plan.block_name, self._ended)) if plan else 0
        return Step(self._screen, plan, side, self._agenda.dots(self._ended, self._now(plan)), remaining,
                    "repeat" if plan and plan.attempt > 1 else None)

    def _note(self, action: CourseAction) -> None:
        """Keep what an action means beyond the next screen."""
        if action is CourseAction.STOP:
            self._back = self._back if self._screen == "stop_menu" else self._screen
        elif action is CourseAction.REST and self._back not in ("rest", "trial"):
            self._after_rest = self._back
        elif self._screen == "rest":
            self._after_rest = None
        elif action is CourseAction.GO_ON_MARKED:
            self._marked = True
        elif action is CourseAction.END:
            self.how = "stopped_by_person" if self._screen == "stop_menu" else "stopped_by_staff"

    def _target(self, action: CourseAction) -> Screen | None:
        """Where an action leads from the screen, None where it does not fit."""
        if action is CourseAction.STOP:
            return None if self._screen in _NO_STOP else "stop_menu"
        if self._screen == "stop_menu":
            choices: dict[CourseAction, Screen] = {
                CourseAction.GO_ON: self._back, CourseAction.REST: "rest", CourseAction.END: "stopped"}
            return choices.get(action)
        if self._screen == "not_understood":
            return self._staff_choice(action)
        if (self._screen, action) == ("rest", CourseAction.READY):
            return self._after_rest or self._before_trial()
        if (self._screen, action) == ("change_hand", CourseAction.READY):
            return "new_path" if self._path_is_new() else "trial"
        return _MOVES.get((self._screen, action))

    def _staff_choice(self, action: CourseAction) -> Screen | None:
        choices: dict[CourseAction, Screen] = {CourseAction.GO_ON_MARKED: "rest", CourseAction.END: "stopped"}
        if len(self._practice()) < PRACTICE_TRIES:
            choices[CourseAction.RETRY] = "demonstration"
        return choices.get(action)

    def _screen_after_trial(self) -> Screen:
        if self._next() is None:
            self.how = "completed"
            return "thanks"
        last = self._ended[-1]
        if last.plan.block != FAMILIARISE or self._understood():
            return "rest"
        if len(self._practice()) > 1:
            return "not_understood"
        return "not_understood_once" if last.outcome == "complete" else "rest"

    def _before_trial(self) -> Screen:
        plan = self._next()
        if plan and self._ended and plan.hand_side != self._ended[-1].plan.hand_side:
            return "change_hand"
        return "new_path" if self._path_is_new() else "trial"

    def _path_is_new(self) -> bool:
        """Whether the coming block wanders and the last one did not."""
        plan = self._next()
        if plan is None or not self._ended:
            return False
        return plan.block == "wander" and self._ended[-1].plan.block != "wander"

    def _next(self) -> TrialPlan | None:
        return self._agenda.next_plan(self._ended, self._practice_over())

    def _now(self, plan: TrialPlan | None) -> TrialPlan | None:
        return plan if self._screen == "trial" else None

    def _practice(self) -> tuple[EndedTrial, ...]:
        return attempts_at(self._agenda.blocks[0][0], self._ended)

    def _understood(self) -> bool:
        tried = self._practice()
        return bool(tried) and not tried[-1].wants_repeat

    def _practice_over(self) -> bool:
        return self._marked or self._understood()


def form_for(earlier_visits: int) -> Literal["A", "B"]:
    """The form of a visit: A when the number of earlier visits is even, B when it is odd."""
    return "B" if earlier_visits % 2 else "A"


FAMILIARISE = "familiarise"


def agenda_for(battery: Battery, *, form: str, preferred_hand: str, hands_today: str) -> Agenda:
    """The blocks of the hands that can be used today.

    With one usable hand only that hand's blocks run, and the practice trial is done by it.
    """
    sides = {"preferred": preferred_hand, "other": "left" if preferred_hand == "right" else "right"}
    usable = [hand for hand in sides if hands_today in ("both", sides[hand])]
    return Agenda(tuple(_plans(battery, block, form, sides, usable) for block in battery.blocks
                        if block.id == FAMILIARISE or block.hand in usable))


def attempts_at(plan: TrialPlan, ended: Sequence[EndedTrial]) -> tuple[EndedTrial, ...]:
    """The ended attempts at the same trial of the same block, oldest first."""
    return tuple(one for one in ended
                 if (one.plan.block_name, one.plan.number) == (plan.block_name, plan.number))


def _plans(battery: Battery, block: Block, form: str, sides: dict[str, str],
           usable: list[str]) -> tuple[TrialPlan, ...]:
    hand = block.hand if block.hand in usable else usable[0]
    plans = (battery.plan(block.id, block.hand, number, form=form, side=sides[hand])
             for number in range(1, block.trials + 1))
    return tuple(replace(plan, hand=hand) for plan in plans)


def _to_be_repeated(plan: TrialPlan, tried: tuple[EndedTrial, ...]) -> bool:
    if not tried or not tried[-1].wants_repeat:
        return False
    return len(tried) == 1 or plan.block == FAMILIARISE


def _dot(plan: TrialPlan, tried: tuple[EndedTrial, ...], now: TrialPlan | None) -> ProgressDot:
    state: DotState = "todo"
    if now is not None and (now.block_name, now.number) == (plan.block_name, plan.number):
        state = "now"
    elif tried:
        state = "unscored" if plan.scored and tried[-1].wants_repeat else "done"
    return ProgressDot(plan.block, plan.hand, plan.number, state)
