"""The scores of a demo's recordings computed anew: imports nothing of the kiosk.

    python tests/outside/recompute.py OUT demo_norms

Reads OUT/trials/*.csv, OUT/findings.json (only what each trial was: block, hand, side, form, validity) and
the table's table.csv, and prints JSON [{"blocks": {measure: value}, "z": {measure: z}}], one a visit. Written
from the published definition of the battery and its scores, instant by instant, with no regard to speed.
"""

import csv
import json
import math
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np

RADIUS_MM, DISC_MM, CUT_MM, GRID_HZ = 40.0, 12.0, 40.0, 240
RUN_IN_S = 2.0
TURN_S = {"steady": 8.0, "brisk": 4.0}
WINDOW_S = {"steady": 16.0, "brisk": 16.0, "wander": 20.0}
DIRECTIONS = {
    ("steady", "preferred"): (1, -1, 1),
    ("steady", "other"): (1, -1),
    ("brisk", "preferred"): (-1, 1, -1),
}
KX, AX = (2, 5, 11), (20.44, 13.54, 9.49)
KY, AY = (3, 8, 13), (20.28, 13.04, 10.48)
PHASES = {
    "A1": ((5.328, 5.450, 2.857), (0.668, 4.647, 5.213)),
    "A2": ((4.097, 3.975, 0.284), (5.615, 1.636, 1.070)),
    "B1": ((0.955, 0.833, 3.426), (2.473, 4.778, 4.212)),
    "B2": ((2.186, 2.308, 5.999), (3.810, 1.505, 2.071)),
}
NEEDED = {"steady.preferred": 2, "brisk.preferred": 2, "wander.preferred": 1, "steady.other": 1}
LOWER_IS_BETTER = ("scatter", "lag", "delay", "error_rms", "along_sd", "across_sd")
LOGS = ("scatter", "error_rms", "along_sd", "across_sd")


def path_s(t_s):
    """Path time: speed rises as 3q^2 - 2q^3 over the run-in, q = t / 2 s; then even."""
    if t_s <= 0:
        return 0.0
    q = min(t_s / RUN_IN_S, 1.0)
    return RUN_IN_S * (q**3 - q**4 / 2) + max(t_s - RUN_IN_S, 0.0)


def disc_at(trial, t_s):
    s = path_s(t_s)
    if trial["block"] == "wander":
        px, py = PHASES[f"{trial['form']}{trial['trial']}"]
        x = sum(a * math.cos(2 * math.pi * k * s / 20 + p) for k, a, p in zip(KX, AX, px, strict=True))
        y = sum(a * math.cos(2 * math.pi * k * s / 20 + p) for k, a, p in zip(KY, AY, py, strict=True))
        return complex(x, y)
    turn = math.pi / 2 + direction(trial) * 2 * math.pi * s / TURN_S[trial["block"]]
    return RADIUS_MM * complex(math.cos(turn), math.sin(turn))


def direction(trial):
    """Counter-clockwise is + for a right hand; mirrored for a left one."""
    plus = DIRECTIONS[trial["block"], trial["hand"]][trial["trial"] - 1]
    return plus if trial["side"] == "right" else -plus


def read_rows(file):
    with open(file, newline="", encoding="utf-8") as text:
        return [
            (float(r["t_s"]), complex(float(r["x_mm"]), float(r["y_mm"])), r["contact"] == "1")
            for r in csv.DictReader(text)
        ]


def hand_on_grid(rows, window_s):
    """Hand and contact at run-in + k/240: silence holds, short lifts are bridged, long ones hold."""
    nominal = float(
        np.median(
            [b[0] - a[0] for a, b in pairwise(rows) if a[2] and b[2] and a[1] != b[1] and a[0] >= 0]
        )
    )
    legs = []
    i = 0
    while i < len(rows) - 1:
        j = i + 1
        if not rows[i][2]:
            while j < len(rows) - 1 and not rows[j][2]:
                j += 1
        legs.append((rows[i], rows[j]))
        i = j
    hand, contact, leg = [], [], 0
    for k in range(int(window_s * GRID_HZ)):
        t = RUN_IN_S + k / GRID_HZ
        while leg < len(legs) - 1 and legs[leg + 1][0][0] <= t:
            leg += 1
        (t0, p0, down), (t1, p1, _) = legs[leg]
        lasts = t1 - t0
        if not down and lasts > 0.1 + 1e-9:
            hand.append(p0)
            contact.append(False)
            continue
        begin = t1 - nominal if down and lasts > 2.5 * nominal + 1e-9 else t0
        share = min(max((t - begin) / (t1 - begin), 0.0), 1.0)
        hand.append(p0 + share * (p1 - p0))
        contact.append(True)
    return np.array(hand), np.array(contact)


def trial_scores(trial, rows):
    window_s = WINDOW_S[trial["block"]]
    t = [RUN_IN_S + k / GRID_HZ for k in range(int(window_s * GRID_HZ))]
    hand, contact = hand_on_grid(rows, window_s)
    disc = np.array([disc_at(trial, one) for one in t])
    distance = np.abs(hand - disc)
    scores = {
        "error_rms": math.sqrt(np.mean(np.minimum(distance, CUT_MM) ** 2)),
        "time_on_target": 100 * np.mean((distance <= DISC_MM + 1e-9) & contact),
    }
    on, asked = hand[contact], disc[contact]
    if contact.mean() < 0.8:
        return scores
    if trial["block"] == "wander":
        scores["delay"] = 1000 * wander_delay(trial, on, np.array(t)[contact])
        followed = np.array([disc_at(trial, one - scores["delay"] / 1000) for one in np.array(t)[contact]])
    else:
        turn = np.angle(np.sum((on - on.mean()) * np.conj(asked - asked.mean())))
        scores["lag"] = -direction(trial) * turn * TURN_S[trial["block"]] / (2 * math.pi) * 1000
        followed = asked * np.exp(1j * turn)
    left = on - followed
    left = left - left.mean()
    scores["scatter"] = math.sqrt(np.mean(np.abs(left) ** 2))
    behind_s = scores["delay"] / 1000 if trial["block"] == "wander" else 0.0
    way = np.array([way_at(trial, one - behind_s) for one in np.array(t)[contact]])
    if trial["block"] != "wander":
        way = way * np.exp(1j * turn)
    scores["along_sd"] = math.sqrt(np.mean((left * np.conj(way)).real ** 2))
    scores["across_sd"] = math.sqrt(np.mean((left * np.conj(way)).imag ** 2))
    return scores


def way_at(trial, t_s, step_s=1e-5):
    """The way the disc goes, as a unit vector."""
    way = disc_at(trial, t_s + step_s) - disc_at(trial, t_s - step_s)
    return way / abs(way)


def wander_delay(trial, on, t):
    """Least squares of the hand on constant, cos and sin of six lines; slope of phase on speed through 0."""
    s = np.array([path_s(one) for one in t])
    speeds = [2 * math.pi * k / 20 for k in KX + KY]
    columns = [np.ones_like(s)] + [wave(w * s) for w in speeds for wave in (np.cos, np.sin)]
    design = np.column_stack(columns)
    px, py = PHASES[f"{trial['form']}{trial['trial']}"]
    above = below = 0.0
    for axis, values, phases in ((0, on.real, px), (3, on.imag, py)):
        fitted = np.linalg.lstsq(design, values, rcond=None)[0]
        for line in range(3):
            place = 1 + 2 * (axis + line)
            phase = math.atan2(-fitted[place + 1], fitted[place]) - phases[line]
            phase = (phase + math.pi) % (2 * math.pi) - math.pi
            above -= speeds[axis + line] * phase
            below += speeds[axis + line] ** 2
    return above / below


def scaled(score, value, block):
    if score in LOGS:
        return math.log(value)
    if score == "time_on_target":
        n, p = WINDOW_S[block] / 0.5, value / 100
        return math.log((p * n + 0.5) / ((1 - p) * n + 0.5))
    return value


def unscaled(score, mean, block):
    if score in LOGS:
        return math.exp(mean)
    if score == "time_on_target":
        n = WINDOW_S[block] / 0.5
        return 100 * min(max(((n + 1) / (1 + math.exp(-mean)) - 0.5) / n, 0.0), 1.0)
    return mean


def visit_scores(visit, out):
    chosen = {}
    for trial in visit["trials"]:
        if trial["block"] != "familiarise" and trial["valid"]:
            rows = read_rows(out / trial["file"])
            chosen[trial["block"], trial["hand"], trial["trial"]] = trial_scores(
                {**trial, "form": visit["visit"]["form"]}, rows
            )
    blocks, means = {}, {}
    for name, needed in NEEDED.items():
        block, hand = name.split(".")
        mine = [scores for key, scores in sorted(chosen.items()) if key[:2] == (block, hand)]
        for score in (*LOGS, "lag", "delay", "time_on_target"):
            values = [scores[score] for scores in mine if score in scores]
            if values and len(values) >= needed:
                measure = f"{name}.{score}"
                means[measure] = sum(scaled(score, v, block) for v in values) / len(values)
                blocks[measure] = unscaled(score, means[measure], block)
    pair = [blocks.get("steady.preferred.lag"), blocks.get("brisk.preferred.lag")]
    if None not in pair:
        means["circles.preferred.lag"] = blocks["circles.preferred.lag"] = sum(pair) / 2
    return blocks, means


def z_scores(means, age_years, table):
    z = {}
    for row in table:
        if row["measure"] in means and float(row["age_from"]) <= age_years < float(row["age_to"]):
            plain = (means[row["measure"]] - float(row["mean"])) / float(row["sd"])
            score = row["measure"].rpartition(".")[2]
            z[row["measure"]] = -plain if score in LOWER_IS_BETTER else plain
    return z


def recompute(out, norms):
    with open(norms / "table.csv", newline="", encoding="utf-8") as text:
        table = list(csv.DictReader(text))
    answers = []
    for visit in json.loads((out / "findings.json").read_text(encoding="utf-8"))["visits"]:
        blocks, means = visit_scores(visit, out)
        answers.append({"blocks": blocks, "z": z_scores(means, visit["age_years"], table)})
    return answers


if __name__ == "__main__":
    json.dump(recompute(Path(sys.argv[1]), Path(sys.argv[2])), sys.stdout)
