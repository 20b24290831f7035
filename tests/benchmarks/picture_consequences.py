"""How far pictures that come late move a score: `python tests/benchmarks/picture_consequences.py [HANDS]`.

Simulated hands aged 30 to 80 follow what was shown: the disc where the latest picture had it, a hand's own
delay ago. That is an upper bound, as nobody jumps with a picture and a circle can be foreseen. Each hand does
the battery once with sixty even pictures a second and once with the same draws and late pictures. A cell is
the mean change of the block score on its scale, in standard deviations of the demo's reference group at that
age; above 0 is poorer. The limits of kiosk.scoring.validity and kiosk.touch.device_check rest on the last
column.
"""

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

if not __package__:
    sys.path[0] += "/../.."

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.pictures_shown import added_age_s, standstill_s
from kiosk.pursuit.samples import Floats, Samples
from kiosk.pursuit.simulated_hand import Hand, move, typical_hand
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.catalogue import PRIMARY, kind_of
from kiosk.scoring.score import score_trial
from norms import read_folder

AGES = (30, 40, 50, 60, 70, 80)
SEED = 2026
EVEN_S = 1 / 60
DEMO = Path(__file__).resolve().parents[2] / "demo_norms"

Pictures = Callable[[TrialPlan, np.random.Generator], Floats]  # times of the pictures of one trial, seconds


def even(hz: float = 60.0) -> Pictures:
    """So many pictures a second, evenly."""
    return lambda plan, rng: np.arange(-1.0, plan.end_s, 1 / hz)


def standstill(ms: float) -> Pictures:
    """One standstill in the window, at a random moment."""
    def pictures(plan: TrialPlan, rng: np.random.Generator) -> Floats:
        at_s = plan.run_in_s + rng.uniform(0.0, plan.window_s - ms / 1000)
        t_s = even()(plan, rng)
        return t_s[(t_s <= at_s) | (t_s >= at_s + ms / 1000 - EVEN_S / 2)]

    return pictures


def late(percent: float, intervals: int) -> Pictures:
    """Late pictures, each after so many intervals of 1/60 s, that add up to this share of the time."""
    def pictures(plan: TrialPlan, rng: np.random.Generator) -> Floats:
        share = percent / 100 * intervals / (intervals - 1)  # of the time that lies in long intervals
        count = round((plan.end_s + 1.0) / EVEN_S)
        long_ones = round(share * count / intervals)
        steps = np.array([intervals] * long_ones + [1] * (count - intervals * long_ones))
        return np.concatenate([[-1.0], -1.0 + EVEN_S * np.cumsum(rng.permutation(steps))])

    return pictures


CONDITIONS: dict[str, Pictures] = {
    "one standstill of 100 ms": standstill(100), "of 250 ms": standstill(250), "of 400 ms": standstill(400),
    "late 5 %, two intervals": late(5, 2), "late 15 %, two intervals": late(15, 2),
    "late 5 %, 100 ms": late(5, 6),
    "late 2 %, 250 ms": late(2, 15), "late 20 %, 100 ms": late(20, 6), "30 a second": even(30.0),
}


def as_followed(samples: Samples, hand: Hand, plan: TrialPlan, t_s: Floats) -> Samples:
    """The movement of a hand that sees the disc only where the pictures at t_s had it."""
    behind_s = hand.delay_s - (hand.lead_s if isinstance(plan.path, Circle) else 0.0)
    seen_s = np.maximum(samples.t_s - behind_s, t_s[0])
    held_s = t_s[np.searchsorted(t_s, seen_s, side="right") - 1]
    (seen_x, seen_y), (held_x, held_y) = plan.position(seen_s), plan.position(held_s)
    x_mm, y_mm = samples.x_mm + held_x - seen_x, samples.y_mm + held_y - seen_y
    return Samples(samples.t_s, x_mm, y_mm, samples.contact)


def visit(age: int, number: int, pictures: Pictures) -> dict[str, float]:
    """The primary block scores of one hand's battery, on their scales."""
    battery, rng = load_battery(), np.random.default_rng([SEED, age, number])
    hand = typical_hand(age, rng)
    trials = []
    for block in (one for one in battery.blocks if one.scored):
        for trial in range(1, block.trials + 1):
            plan = battery.plan(block.id, block.hand, trial)
            draw = np.random.default_rng(rng.integers(2**63))
            samples = move(hand, plan, draw)
            followed = as_followed(samples, hand, plan, pictures(plan, draw))
            trials.append((plan, score_trial(TrialRecord(plan, followed, TrialFacts(latency_ms=0.0)))))
    scores = score_blocks(trials, battery)
    return {name: scores[name].scaled for name in PRIMARY}


def moved(pictures: Pictures, hands: int) -> dict[str, float]:
    """By measure: the mean change in SD of the reference group; above 0 is poorer."""
    table, away = read_folder(DEMO), {name: [] for name in PRIMARY}
    for age in AGES:
        for number in range(hands):
            plain, changed = visit(age, number, even()), visit(age, number, pictures)
            for name in PRIMARY:
                row = next(row for row in table.rows
                           if row.measure == name and row.sex == "any" and row.age_from <= age < row.age_to)
                away[name].append((changed[name] - plain[name]) / row.sd)
    return {name: float(np.mean(found)) * (1 if kind_of(name).better == "lower" else -1)
            for name, found in away.items()}


def of_pictures(pictures: Pictures) -> tuple[float, float]:
    """The longest standstill and the added age (ms) of one trial's pictures."""
    plan = load_battery().plan("steady", "preferred", 1)
    t_s = pictures(plan, np.random.default_rng(SEED))
    span = plan.run_in_s - 1.0, plan.run_in_s + plan.window_s
    return 1000 * standstill_s(t_s, *span), 1000 * added_age_s(t_s, 60.0, *span)


def main(arguments: list[str]) -> None:
    hands = int(arguments[0]) if arguments else 4
    measures = " | ".join(f"`{name}`" for name in PRIMARY)
    print(f"| pictures | longest standstill, ms | older on average, ms | {measures} | most |")
    print("|---|" + "---|" * (len(PRIMARY) + 3))
    for name, pictures in CONDITIONS.items():
        found, (longest_ms, older_ms) = moved(pictures, hands), of_pictures(pictures)
        cells = " | ".join(f"{found[measure]:+.3f}" for measure in PRIMARY)
        most = max(abs(value) for value in found.values())
        print(f"| {name} | {longest_ms:.0f} | {older_ms:.1f} | {cells} | {most:.3f} |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
