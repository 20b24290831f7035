"""The fixed battery, read from battery.toml: blocks in order, and the plan of every trial.

Millimetres, seconds, radians. Directions are given for a right hand and mirrored for a left one; wander paths
are never mirrored. Decision norms-20.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

from kiosk.base.canonical_json import JsonObject
from kiosk.base.errors import WrongUsage
from kiosk.pursuit.target import Circle, Line, Path, Wander
from kiosk.pursuit.trial import TrialPlan

Hand = Literal["preferred", "other"]
Form = Literal["A", "B"]


@dataclass(frozen=True)
class Block:
    """One block: an id with a hand, how many trials, and how each moves."""

    id: str
    hand: Hand
    path: Literal["circle", "wander"]
    trials: int
    directions: tuple[int, ...]
    period_s: float
    window_s: float
    scored: bool
    needs_valid: int

    @property
    def name(self) -> str:
        """BLOCK.HAND, as in measure ids."""
        return f"{self.id}.{self.hand}"


@dataclass(frozen=True)
class Battery:
    """A battery version: everything that belongs to what a person sees and does."""

    id: str
    version: int
    field_mm: tuple[float, float]
    disc_radius_mm: float
    rest_on_disc_s: float
    return_after_lift_s: float
    run_in_s: float
    run_on_s: float
    rest_without_disc_s: float
    circle_radius_mm: float
    circle_start_rad: float
    understood_contact_s: float
    understood_turns: float
    wander: dict[str, Wander]
    blocks: tuple[Block, ...]

    def block(self, block: str, hand: str) -> Block:
        """The block of this id and hand; WrongUsage `unknown_block` where the battery has none."""
        for one in self.blocks:
            if (one.id, one.hand) == (block, hand):
                return one
        known = ", ".join(b.name for b in self.blocks)
        raise WrongUsage("unknown_block", {"block": block, "hand": hand, "known": known})

    def plan(self, block: str, hand: str, number: int, *, form: str = "A", side: str | None = None,
             attempt: int = 1) -> TrialPlan:
        """The frozen plan of one trial; number from 1, side is the hand that moves."""
        one = self.block(block, hand)
        if not 1 <= number <= one.trials:
            raise WrongUsage("unknown_trial", {"block": one.name, "trial": number, "trials": one.trials})
        moving = side or ("right" if hand == "preferred" else "left")
        return TrialPlan(
            battery=self.id,
            battery_version=self.version,
            block=block,
            hand=hand,
            hand_side=moving,
            number=number,
            attempt=attempt,
            form=form,
            scored=one.scored,
            path=self._path(one, number, form, moving),
            run_in_s=self.run_in_s,
            window_s=one.window_s,
            run_on_s=self.run_on_s,
            disc_radius_mm=self.disc_radius_mm,
        )

    def _path(self, block: Block, number: int, form: str, side: str) -> Path:
        if block.path == "wander":
            return self.wander[f"{form}{number}"]
        mirror = -1 if side == "left" else 1
        return Circle(self.circle_radius_mm, block.period_s, mirror * block.directions[number - 1],
                      self.circle_start_rad)


@cache
def load_battery() -> Battery:
    """The battery that ships with the kiosk."""
    text = files("kiosk.pursuit").joinpath("battery.toml").read_text(encoding="utf-8")
    return read_battery(tomllib.loads(text))


def read_battery(data: JsonObject) -> Battery:
    """A Battery from the tables of a battery file."""
    width, height = data["field_mm"]
    return Battery(
        id=data["id"],
        version=data["version"],
        field_mm=(width, height),
        disc_radius_mm=data["disc_radius_mm"],
        rest_on_disc_s=data["rest_on_disc_s"],
        return_after_lift_s=data["return_after_lift_s"],
        run_in_s=data["run_in_s"],
        run_on_s=data["run_on_s"],
        rest_without_disc_s=data["rest_without_disc_s"],
        circle_radius_mm=data["circle"]["radius_mm"],
        circle_start_rad=data["circle"]["start_rad"],
        understood_contact_s=data["understood"]["contact_s"],
        understood_turns=data["understood"]["turns"],
        wander=_wander_paths(data["wander"]),
        blocks=tuple(_block(b) for b in data["block"]),
    )


def _block(data: JsonObject) -> Block:
    directions = tuple(data.get("directions", ()))
    return Block(
        id=data["id"],
        hand=data["hand"],
        path=data["path"],
        trials=len(directions) or len(data["numbers"]),
        directions=directions,
        period_s=data.get("period_s", 0.0),
        window_s=data["window_s"],
        scored=data["scored"],
        needs_valid=data["needs_valid"],
    )


def _wander_paths(data: JsonObject) -> dict[str, Wander]:
    return {
        name: Wander(name, data["period_s"], _lines(data["x"], phases["x"]), _lines(data["y"], phases["y"]))
        for name, phases in data["phases_rad"].items()
    }


def _lines(axis: JsonObject, phases: list[float]) -> tuple[Line, ...]:
    shape = zip(axis["multiples"], axis["amplitudes_mm"], phases, strict=True)
    return tuple(Line(multiple, amplitude_mm, phase_rad) for multiple, amplitude_mm, phase_rad in shape)
