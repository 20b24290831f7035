"""Standard errors of one trial's figures, by drawing its seconds anew (see resampling.py).

Each figure is written once more as a function of sums over instants. Units as in the catalogue. The SE of a
delay is that of its fit and not made here; so is the SE of the wander gain. Follow is 1 less the share of
what is left beside the six lines, the lines kept as fitted: at the best fit, fitting them anew changes
nothing in first order. Decision scoring-8.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kiosk.pursuit.samples import Floats
from kiosk.pursuit.target import Circle
from kiosk.scoring.accuracy import FARTHEST_MM, on_target
from kiosk.scoring.grid import GRID_HZ, Bools, Points
from kiosk.scoring.movement import Movement, Timed
from kiosk.scoring.stalls import begins
from kiosk.scoring.timing import WanderFit

Columns = dict[str, Floats]


def standard_errors(movement: Movement) -> Mapping[str, float]:
    """SE of each figure by its id, in its unit."""
    columns = _plain_columns(movement)
    if movement.timed is not None:
        columns |= _timed_columns(movement, movement.timed)
    seconds = sums_by_second(np.column_stack(list(columns.values())))

    def figures(sums: Floats) -> Columns:
        return _figures(dict(zip(columns, sums.T, strict=True)), movement)

    errors = standard_error(seconds, lambda sums: np.column_stack(list(figures(sums).values())))
    with np.errstate(divide="ignore", invalid="ignore"):
        names = figures(seconds.sum(axis=0, keepdims=True))
    return dict(zip(names, errors.tolist(), strict=True))


def _plain_columns(movement: Movement) -> Columns:
    window, disc = movement.window, movement.disc
    beside, down = window.hand - disc, window.contact
    on = on_target(window.hand, disc, down, movement.plan.disc_radius_mm)
    return {
        "all": np.ones(disc.size), "down": down.astype(float), "on": on.astype(float),
        "square": np.minimum(np.abs(beside), FARTHEST_MM) ** 2,
        "beside_x": beside.real * down, "beside_y": beside.imag * down, "lifts": begins(~down).astype(float),
    }


def _timed_columns(movement: Movement, timed: Timed) -> Columns:
    down = movement.window.contact
    left = timed.left * down
    columns = {
        "left_x": left.real, "left_y": left.imag, "left_square": left.real**2 + left.imag**2,
        "along_square": timed.parts.real**2 * down, "across_square": timed.parts.imag**2 * down,
        "stalled": timed.stalled.astype(float), "stalls": begins(timed.stalled).astype(float),
    }
    if isinstance(movement.plan.path, Circle):
        columns |= _circle_columns(movement.window.hand * down, movement.disc * down)
    if isinstance(timed.fit, WanderFit) and timed.fit.at_lines is not None:
        columns |= _wander_columns(movement.window.hand, down, timed.fit.at_lines)
    return columns


def _wander_columns(hand: Points, down: Bools, at_lines: Points) -> Columns:
    moved, beside = np.zeros_like(hand), np.zeros_like(hand)
    moved[down] = hand[down] - hand[down].mean()
    beside[down] = moved[down] - at_lines
    return {
        "moved_x": moved.real, "moved_y": moved.imag, "moved_square": np.abs(moved) ** 2,
        "beside_lines_x": beside.real, "beside_lines_y": beside.imag,
        "beside_lines_square": np.abs(beside) ** 2,
    }


def _circle_columns(hand: Points, disc: Points) -> Columns:
    product = hand * np.conj(disc)
    return {
        "product_re": product.real, "product_im": product.imag, "disc_square": np.abs(disc) ** 2,
        "hand_x": hand.real, "hand_y": hand.imag, "disc_x": disc.real, "disc_y": disc.imag,
    }


def _figures(sums: Columns, movement: Movement) -> Columns:
    down = sums["down"]
    share = 100.0 * down / sums["all"]
    figures = {
        "error_rms": np.sqrt(sums["square"] / sums["all"]),
        "time_on_target": 100.0 * sums["on"] / sums["all"],
        "offset_x": sums["beside_x"] / down, "offset_y": sums["beside_y"] / down,
        "contact": share, "lift_share": 100.0 - share, "lifts": sums["lifts"],
    }
    if movement.timed is not None:
        figures |= _timed_figures(sums)
    if movement.timed is not None and isinstance(movement.plan.path, Circle):
        figures |= _circle_figures(sums, movement.plan.path)
    if "moved_square" in sums:
        figures["follow"] = 100.0 * (1.0 - _variance(sums, "beside_lines") / _variance(sums, "moved"))
    return figures


def _variance(sums: Columns, name: str) -> Floats:
    """Of a point on the glass, x and y together, over contact."""
    down = sums["down"]
    mean_square = (sums[f"{name}_x"] / down) ** 2 + (sums[f"{name}_y"] / down) ** 2
    return np.asarray(sums[f"{name}_square"] / down - mean_square)


def _timed_figures(sums: Columns) -> Columns:
    down = sums["down"]
    return {
        "scatter": np.sqrt(np.maximum(_variance(sums, "left"), 0.0)),
        "along_sd": np.sqrt(sums["along_square"] / down),
        "across_sd": np.sqrt(sums["across_square"] / down),
        "stalls": sums["stalls"], "stall_share": 100.0 * sums["stalled"] / sums["all"],
    }


def _circle_figures(sums: Columns, circle: Circle) -> Columns:
    """Lag (ms, about the mean turn of the draws, so that it does not jump at half a turn) and gain."""
    hand, disc = sums["hand_x"] + 1j * sums["hand_y"], sums["disc_x"] + 1j * sums["disc_y"]
    product = sums["product_re"] + 1j * sums["product_im"] - hand * np.conj(disc) / sums["down"]
    asked = sums["disc_square"] - np.abs(disc) ** 2 / sums["down"]
    turn_rad = np.angle(product * np.conj(product.sum()))
    lag_ms = turn_rad * circle.period_s / (2 * np.pi) * 1000.0
    return {"lag": lag_ms, "lag_as_recorded": lag_ms, "gain": np.abs(product) / asked}


SECONDS_SEED: Final = 1986
DRAWS: Final = 400
STRETCH: Final = GRID_HZ  # instants of one second

Sums = NDArray[Any]


def sums_by_second(columns: Sums) -> Sums:
    """Columns by instant, shape (n, k), summed over each second: shape (seconds, k).

    >>> sums_by_second(np.ones((480, 1))).ravel().tolist()
    [240.0, 240.0]
    """
    return np.asarray(np.add.reduceat(columns, np.arange(0, len(columns), STRETCH), axis=0))


def standard_error(seconds: Sums, figures: Callable[[Sums], NDArray[np.float64]]) -> NDArray[np.float64]:
    """SD of each figure over the draws; `figures` takes sums of shape (draws, k), gives (draws, m).

    A draw in which a figure has no value (no contact in any of its seconds) is left out; NaN without any.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        values = figures(_draws(len(seconds)) @ seconds)
        known = np.isfinite(values)
        draws = known.sum(axis=0)
        away = np.where(known, values - np.where(known, values, 0.0).sum(axis=0) / draws, 0.0)
        return np.asarray(np.sqrt((away**2).sum(axis=0) / (draws - 1)))


@lru_cache(maxsize=8)
def _draws(seconds: int) -> NDArray[np.float64]:
    """How often each second is in each draw, shape (draws, seconds)."""
    rng = np.random.default_rng(SECONDS_SEED)
    counts = rng.multinomial(seconds, np.full(seconds, 1.0 / seconds), size=DRAWS).astype(np.float64)
    counts.setflags(write=False)
    return counts
