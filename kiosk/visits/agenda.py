"""Which trial comes next, worked out from the trials that have ended; no screens, no clock.

A trial is over when it ended; a scored one that was not complete or not fit to be scored is repeated once, at
the end of its block, with the same direction or path. The practice trial (block `familiarise`) is repeated
once by itself, and once more only where staff ask for it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from kiosk.pursuit.battery import Battery, Block
from kiosk.pursuit.trial import Outcome, TrialPlan

FAMILIARISE = "familiarise"
BeadState = Literal["done", "now", "todo", "unscored"]


@dataclass(frozen=True)
class Bead:
    """One planned trial as a bead; unscored = kept, not scored."""

    block: str
    hand: str
    number: int
    state: BeadState


@dataclass(frozen=True)
class EndedTrial:
    """A trial that ended. `fit` = fit to be scored (practice: understood), None = not judged."""

    plan: TrialPlan
    outcome: Outcome
    fit: bool | None

    @property
    def wants_repeat(self) -> bool:
        """Not complete, or judged unfit."""
        return self.outcome != "complete" or self.fit is False


@dataclass(frozen=True)
class Agenda:
    """First attempts of every block that runs today, in order."""

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

    def beads(self, ended: Sequence[EndedTrial], now: TrialPlan | None) -> tuple[Bead, ...]:
        """One bead a planned trial; `now` is the trial on the screen."""
        return tuple(_bead(plan, attempts_at(plan, ended), now) for block in self.blocks for plan in block)


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


def _bead(plan: TrialPlan, tried: tuple[EndedTrial, ...], now: TrialPlan | None) -> Bead:
    state: BeadState = "todo"
    if now is not None and (now.block_name, now.number) == (plan.block_name, plan.number):
        state = "now"
    elif tried:
        state = "unscored" if plan.scored and tried[-1].wants_repeat else "done"
    return Bead(plan.block, plan.hand, plan.number, state)
