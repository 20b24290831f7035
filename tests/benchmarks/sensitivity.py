"""Which score moves by how much when one thing changes: `python tests/benchmarks/sensitivity.py`.

Prints the table that stands in the handbook for researchers between its two marks; with --write it is put
there. Simulated hands aged 30 to 80 do the whole battery once as they are and once with one thing changed,
everything else and every random draw alike. A cell is the mean change of the block score on its scale over
the hands, in standard errors of that block score (root mean square over the hands); above 0 is poorer.
"""

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

if not __package__:
    sys.path[0] += "/../.."

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.simulated_hand import Hand, move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.block_facts import block_facts
from kiosk.scoring.catalogue import PRIMARY, kind_of
from kiosk.scoring.score import score_trial
from tests.benchmarks.handbook_table import print_or_write

AGES = (30, 40, 50, 60, 70, 80)
SEED = 2026
MEASURES = (*PRIMARY, "wander.preferred.prediction", "steady.preferred.error_rms",
            "steady.preferred.time_on_target", "wander.preferred.follow", "steady.preferred.along_sd",
            "steady.preferred.across_sd")
SHAKE = "steady.preferred.tremor_hz"
FROM, TO = "<!-- sensitivity: begin -->", "<!-- sensitivity: end -->"
PAGE = Path(__file__).resolve().parents[2] / "kiosk" / "handbook" / "researcher.md"

Change = Callable[[Hand], Hand]
Spoil = Callable[[Samples], Samples]


def same(thing):
    return thing


def noisier(hand: Hand) -> Hand:
    return replace(hand, noise_mm=1.2 * hand.noise_mm, noise_s=1.2 * hand.noise_s)


def later(hand: Hand) -> Hand:
    return replace(hand, delay_s=hand.delay_s + 0.020)


def shaking(samples: Samples) -> Samples:
    """5 Hz, 0.5 mm RMS, from side to side."""
    shake_mm = 0.5 * np.sqrt(2) * np.cos(2 * np.pi * 5.0 * samples.t_s)
    return Samples(samples.t_s, samples.x_mm + shake_mm, samples.y_mm, samples.contact)


def at_earlier(samples: Samples, behind_s: np.ndarray) -> Samples:
    """The same movement, at each moment where it was that much earlier."""
    t_s = samples.t_s - behind_s
    return Samples(samples.t_s, np.interp(t_s, samples.t_s, samples.x_mm),
                   np.interp(t_s, samples.t_s, samples.y_mm), samples.contact)


def stalling(samples: Samples) -> Samples:
    """Half a second at rest from 8 s on, caught up within 0.4 s."""
    since_s = samples.t_s - 8.0
    return at_earlier(samples, np.clip(np.minimum(since_s, 0.5 * (0.9 - since_s) / 0.4), 0.0, 0.5))


def lapsing(samples: Samples) -> Samples:
    """Up to 0.3 s further behind for 1.5 s from 8 s on."""
    through = np.clip((samples.t_s - 8.0) / 1.5, 0.0, 1.0)
    return at_earlier(samples, 0.3 * np.sin(np.pi * through) ** 2)


def lifting(samples: Samples) -> Samples:
    """Off the glass for half a second from 8 s on."""
    away = (samples.t_s >= 8.0) & (samples.t_s < 8.5)
    return Samples(samples.t_s, samples.x_mm, samples.y_mm, samples.contact & ~away)


CHANGES: dict[str, tuple[Change, Spoil]] = {
    "20 ms more delay": (later, same), "20 % more noise": (noisier, same),
    "5 Hz shake, 0.5 mm": (same, shaking), "one stall": (same, stalling), "one lapse": (same, lapsing),
    "one lift": (same, lifting),
}


def visit(age: int, change: Change, spoil: Spoil) -> dict[str, tuple[float, float]]:
    """Every block score of one hand's battery on its scale, with its SE."""
    battery, rng = load_battery(), np.random.default_rng([SEED, age])
    hand = change(typical_hand(age, rng))
    plans = [battery.plan(block.id, block.hand, number) for block in battery.blocks if block.scored
             for number in range(1, block.trials + 1)]
    trials = [(plan, score_trial(recording(hand, plan, rng, spoil))) for plan in plans]
    scores = score_blocks(trials, battery) | block_facts(trials, battery)
    return {name: (scores[name].scaled, scores[name].se) for name in (*MEASURES, SHAKE)}


def recording(hand: Hand, plan: TrialPlan, rng: np.random.Generator, spoil: Spoil) -> TrialRecord:
    """One trial; its draws do not depend on what is changed."""
    drawn = np.random.default_rng(rng.integers(2**63))
    return TrialRecord(plan, spoil(move(hand, plan, drawn)), TrialFacts(latency_ms=0.0))


def visits() -> tuple[list[dict], dict[str, list[dict]]]:
    """Every hand as it is, and with each change."""
    plain = [visit(age, same, same) for age in AGES]
    return plain, {name: [visit(age, *how) for age in AGES] for name, how in CHANGES.items()}


def moved(measure: str, plain: list[dict], changed: list[dict]) -> float:
    away = np.mean([new[measure][0] - old[measure][0] for old, new in zip(plain, changed, strict=True)])
    se = np.sqrt(np.mean([old[measure][1] ** 2 for old in plain if old[measure][1] is not None]))
    return float(away / se) * (1 if kind_of(measure).better == "lower" else -1)


def page() -> str:
    """The table as it stands in the handbook, marks included."""
    plain, changed = visits()
    lines = ["| block score | " + " | ".join(CHANGES) + " |", "|---|" + "---|" * len(CHANGES)]
    for measure in MEASURES:
        cells = [shown(moved(measure, plain, found)) for found in changed.values()]
        lines.append(f"| `{measure}` | {' | '.join(cells)} |")
    seen = [f"{sum(one[SHAKE][0] is not None for one in found)} of {len(AGES)}" for found in changed.values()]
    lines.append(f"| `{SHAKE}`: seen | {' | '.join(seen)} |")
    return "\n".join([FROM, *lines, TO])


def shown(away: float) -> str:
    text = f"{away:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text


def main(arguments: list[str]) -> None:
    print_or_write(page(), PAGE, FROM, TO, arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
