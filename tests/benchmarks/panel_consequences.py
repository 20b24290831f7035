"""What a touch panel adds to a score: `python tests/benchmarks/panel_consequences.py [HANDS] [--write]`.

Simulated hands aged 30 to 80 do the battery once on a panel without fault and once, with the same draws, on
a panel with one. The first table is how far block scores move, in standard deviations of the demo's reference
group at that age; above 0 is poorer. The second is the spread of one hand's score over ten panels, in the
score's own standard errors, with nothing taken off and with the latency taken off that an operator's slide
would find. The limits of kiosk.touch rest on the first. --write puts both into the handbook for clinic IT.
"""

import sys
from pathlib import Path

import numpy as np

if not __package__:
    sys.path[0] += "/../.."

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.catalogue import PRIMARY, kind_of
from kiosk.scoring.score import score_trial
from kiosk.touch.simulated_panel import SimulatedPanel, reported
from norms import read_folder
from tests.benchmarks.handbook_table import print_or_write

AGES = (30, 40, 50, 60, 70, 80)
SEED = 2026
TRUE_HZ = 480.0
DEMO = Path(__file__).resolve().parents[2] / "demo_norms"
PAGE = Path(__file__).resolve().parents[2] / "kiosk" / "handbook" / "clinic_it.md"
FROM, TO = "<!-- panel consequences: begin -->", "<!-- panel consequences: end -->"
MEASURES = (*PRIMARY, "steady.preferred.error_rms", "steady.preferred.time_on_target")
GOOD = SimulatedPanel(rate_hz=120.0)
SLIDE_SE_S = 0.0015  # root mean square SE of the slide in tests/touch/test_slide.py

FAULTS: dict[str, tuple[SimulatedPanel, bool]] = {  # the panel, and whether its delay is taken off
    "2.7 ms of latency not taken off": (SimulatedPanel(latency_s=0.0027), False),
    "50 ms of latency not taken off": (SimulatedPanel(latency_s=0.050), False),
    "60 reports a second": (SimulatedPanel(rate_hz=60.0), False),
    "40 reports a second": (SimulatedPanel(rate_hz=40.0), False),
    "100 a second, a gap of 40 ms each second": (SimulatedPanel(100.0, gap_s=0.040), False),
    "gaps of 60 ms each second": (SimulatedPanel(gap_s=0.060), False),
    "gaps of 100 ms each second": (SimulatedPanel(gap_s=0.100), False),
    "gaps of 250 ms each second": (SimulatedPanel(gap_s=0.250), False),
    "stamps in clusters of 3, delay taken off": (SimulatedPanel(cluster=3), True),
    "jitter of 0.5 mm": (SimulatedPanel(jitter_mm=0.5), False),
    "jitter of 0.9 mm, moving only": (SimulatedPanel(moving_jitter_mm=0.9), False),
    "jitter of 2 mm": (SimulatedPanel(jitter_mm=2.0), False),
    "smoothing of 30 ms, delay taken off": (SimulatedPanel(smoothing_s=0.030), True),
    "smoothing of 100 ms, delay taken off": (SimulatedPanel(smoothing_s=0.100), True),
    "edges pulled in by 3 mm": (SimulatedPanel(edge_bias_mm=3.0, half_mm=(75.0, 62.5)), False),
    "a dead row of 3 mm": (SimulatedPanel(dead_rows_mm=(19.0, 22.0)), False),
}
TEN = (
    SimulatedPanel(120.0, 0.020), SimulatedPanel(60.0, 0.035, jitter_mm=0.1), SimulatedPanel(100.0, 0.050),
    SimulatedPanel(120.0, 0.040, smoothing_s=0.020), SimulatedPanel(240.0, 0.065, jitter_mm=0.2),
    SimulatedPanel(100.0, 0.080, gap_s=0.040), SimulatedPanel(120.0, 0.095, cluster=2),
    SimulatedPanel(80.0, 0.110, jitter_mm=0.1), SimulatedPanel(120.0, 0.100, smoothing_s=0.025),
    SimulatedPanel(60.0, 0.150, moving_jitter_mm=0.2))


def visit(age: int, number: int, panel: SimulatedPanel, taken_off_s: float) -> dict[str, tuple[float, float]]:
    """Block scores of one hand's battery on their scales, with their SEs."""
    battery, rng = load_battery(), np.random.default_rng([SEED, age, number])
    hand, trials = typical_hand(age, rng), []
    for block in (one for one in battery.blocks if one.scored):
        for trial in range(1, block.trials + 1):
            plan = battery.plan(block.id, block.hand, trial)
            true = move(hand, plan, np.random.default_rng(rng.integers(2**63)), TRUE_HZ)
            seen = reported(true, panel, np.random.default_rng([SEED, age, number, trial]))
            facts = TrialFacts(latency_ms=1000 * taken_off_s)
            trials.append((plan, score_trial(TrialRecord(plan, seen, facts))))
    scores = score_blocks(trials, battery)
    return {name: (scores[name].scaled, scores[name].se) for name in MEASURES}


def moved(panel: SimulatedPanel, corrected: bool = False, hands: int = 1) -> dict[str, float]:
    """By measure: the mean change in SD of the reference group; above 0 is poorer; NaN: not scored."""
    table, away = read_folder(DEMO), {name: [] for name in MEASURES}
    taken_off_s = panel.delay_s if corrected else 0.0
    for age in AGES:
        for number in range(hands):
            plain, changed = visit(age, number, GOOD, 0.0), visit(age, number, panel, taken_off_s)
            for name in MEASURES:
                row = next(row for row in table.rows
                           if row.measure == name and row.sex == "any" and row.age_from <= age < row.age_to)
                new = changed[name][0]
                away[name].append(float("nan") if new is None else (new - plain[name][0]) / row.sd)
    return {name: float(np.mean(found)) * (1 if kind_of(name).better == "lower" else -1)
            for name, found in away.items()}


def spread(corrected: bool, hands: int = 1) -> dict[str, float]:
    """By measure: the SD of one hand's score over the ten panels, in its SE; root mean square over hands."""
    rng, found = np.random.default_rng(SEED), {name: [] for name in MEASURES}
    for age in AGES:
        for number in range(hands):
            seen = [visit(age, number, panel, max(panel.delay_s + rng.normal(0.0, SLIDE_SE_S), 0.0)
                          if corrected else 0.0) for panel in TEN]
            for name in MEASURES:
                se = np.mean([one[name][1] for one in seen if one[name][1] is not None])
                found[name].append(np.std([one[name][0] for one in seen], ddof=1) / se)
    return {name: float(np.sqrt(np.mean(np.square(all_)))) for name, all_ in found.items()}


def page(hands: int) -> str:
    """Both tables as they stand in the handbook, marks included."""
    lines = ["| panel | largest move of a primary score, SD | of which score | error_rms | time_on_target |",
             "|---|---|---|---|---|"]
    for name, (panel, off) in FAULTS.items():
        found = moved(panel, off, hands)
        most = max(PRIMARY, key=lambda one: abs(found[one]))
        lines.append(f"| {name} | {shown(found[most])} | `{most}` | "
                     f"{shown(found['steady.preferred.error_rms'])} | "
                     f"{shown(found['steady.preferred.time_on_target'])} |")
    before, after = spread(False, hands), spread(True, hands)
    lines += ["", "| score | spread over ten panels, SE | with the latency by slide taken off, SE |",
              "|---|---|---|"]
    lines += [f"| `{name}` | {before[name]:.2f} | {after[name]:.2f} |" for name in MEASURES]
    return "\n".join([FROM, *lines, TO])


def shown(move_sd: float) -> str:
    text = "not scored" if np.isnan(move_sd) else f"{move_sd:+.2f}"
    return text[1:] if text in ("+0.00", "-0.00") else text


def main(arguments: list[str]) -> None:
    numbers = [one for one in arguments if one.isdigit()]
    print_or_write(page(int(numbers[0]) if numbers else 1), PAGE, FROM, TO, arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
