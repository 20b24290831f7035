"""The scores of a recording in plain pandas, as in a notebook; speed.py's yardstick. No SEs, no spectrum."""

import math

import numpy as np
import pandas as pd


def path_s(t):
    q = min(max(t, 0.0) / 2.0, 1.0)
    return 2.0 * (q**3 - q**4 / 2) + max(t - 2.0, 0.0)


def disc_at(t, path):
    s = path_s(t)
    if path["kind"] == "circle":
        angle = path["start_rad"] + path["direction"] * 2 * math.pi * s / path["period_s"]
        return complex(path["radius_mm"] * math.cos(angle), path["radius_mm"] * math.sin(angle))
    turn = 2 * math.pi * s / 20
    return complex(*(sum(a * math.cos(k * turn + p) for k, a, p in path[axis]) for axis in "xy"))


def scores(samples: pd.DataFrame, path: dict, window_s: float) -> dict[str, float]:
    frame = samples.copy()
    frame["hand"] = frame["x_mm"] + 1j * frame["y_mm"]
    frame["lasts"] = frame["t_s"].shift(-1) - frame["t_s"]
    moving = (frame["hand"].shift(-1) != frame["hand"]) & (frame["contact"] * frame["contact"].shift(-1) == 1)
    nominal = frame.loc[moving & (frame["t_s"] >= 0), "lasts"].median()
    down = frame[(frame["contact"] == 1) | (frame["contact"].shift(1) == 1)].copy()
    down["hand"] = down["hand"].where(down["contact"] == 1, down["hand"].shift(1))
    down["until"], down["next"] = down["t_s"].shift(-1), down["hand"].shift(-1)
    grid = pd.DataFrame({"t": 2.0 + np.arange(int(240 * window_s)) / 240})
    grid = pd.merge_asof(grid.assign(at=grid["t"] + 1e-9), down, left_on="at", right_on="t_s")
    grid["z"] = grid.apply(lambda row: where(row, nominal), axis=1)
    grid["on_glass"] = (grid["contact"] == 1) | (grid["until"] - grid["t_s"] <= 0.1 + 1e-9)
    grid["disc"] = grid["t"].apply(disc_at, path=path)
    distance = (grid["z"] - grid["disc"]).abs()
    found = {"error_rms": math.sqrt((distance.clip(upper=40.0) ** 2).mean()),
             "time_on_target": 100 * ((distance <= 12 + 1e-9) & grid["on_glass"]).mean()}
    return found | followed(grid[grid["on_glass"]], path)


def where(row, nominal):
    """Where the hand is: silence holds, short lifts are bridged, long ones hold."""
    lasts, begin = row["until"] - row["t_s"], row["t_s"]
    if row["contact"] == 1 and lasts > 2.5 * nominal + 1e-9:
        begin = row["until"] - nominal
    elif row["contact"] != 1 and lasts > 0.1 + 1e-9:
        return row["hand"]
    share = min(max((row["t"] - begin) / (row["until"] - begin), 0.0), 1.0)
    return row["hand"] + share * (row["next"] - row["hand"])


def followed(on: pd.DataFrame, path: dict) -> dict[str, float]:
    if path["kind"] == "circle":
        turn = np.angle(((on["z"] - on["z"].mean()) * np.conj(on["disc"] - on["disc"].mean())).sum())
        name, behind_s = "lag", -path["direction"] * turn * path["period_s"] / (2 * math.pi)
        as_followed = on["disc"] * np.exp(1j * turn)
    else:
        name, behind_s = "delay", delay(on, path)
        as_followed = (on["t"] - behind_s).apply(disc_at, path=path)
    left = on["z"] - as_followed
    return {name: 1000 * behind_s, "scatter": math.sqrt(((left - left.mean()).abs() ** 2).mean())}


def delay(on: pd.DataFrame, path: dict) -> float:
    speeds = [2 * math.pi * k / 20 for k, _, _ in (*path["x"], *path["y"])]
    s = on["t"].apply(path_s)
    waves = {f"c{w}": np.cos(w * s) for w in speeds} | {f"s{w}": np.sin(w * s) for w in speeds}
    design = pd.DataFrame({"1": 1.0} | waves)
    above = below = 0.0
    for axis, hand in (("x", np.real(on["z"])), ("y", np.imag(on["z"]))):
        fitted = dict(zip(design, np.linalg.lstsq(design.to_numpy(), hand, rcond=None)[0], strict=True))
        for k, _, phase in path[axis]:
            w = 2 * math.pi * k / 20
            angle = np.angle((fitted[f"c{w}"] - 1j * fitted[f"s{w}"]) * np.exp(-1j * phase))
            above, below = above - w * angle, below + w**2
    return above / below
