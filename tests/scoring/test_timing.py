"""Lag and delay against a Fourier transform, an outside regression and hand-made lines."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm

from kiosk.pursuit.target import Circle, Line, Wander
from kiosk.scoring.grid import instants
from kiosk.scoring.timing import fit_circle, fit_wander
from tests.scoring.hands import disc_of, plan_of

ALL = np.ones(4800, bool)
WANDER = plan_of("wander")
SPEEDS = 2 * np.pi / 20 * np.array([2, 5, 11, 3, 8, 13])


def lines_shifted(delays_s, gains=(1.0,) * 6) -> np.ndarray:
    """A hand on the window's instants whose six lines are late by these times, with these gains."""
    path = WANDER.path
    assert isinstance(path, Wander)

    def moved(line: Line, number: int) -> Line:
        return Line(line.multiple, gains[number] * line.amplitude_mm,
                    line.phase_rad - SPEEDS[number] * delays_s[number])

    own = replace(path, x=tuple(moved(line, k) for k, line in enumerate(path.x)),
                  y=tuple(moved(line, k + 3) for k, line in enumerate(path.y)))
    return disc_of(replace(WANDER, path=own), instants(2.0, 20.0))


def fitted(hand, contact=ALL):
    return fit_wander(hand[contact], contact, WANDER.path, 2.0, 20.0)


def test_delay_weighs_each_line_by_its_squared_speed():
    delays_s = np.array([0.30, 0.20, 0.15, 0.25, 0.18, 0.16])
    fit = fitted(lines_shifted(delays_s))
    assert fit.delay_s == pytest.approx(np.average(delays_s, weights=SPEEDS**2), abs=1e-9)


def test_delay_and_its_error_are_a_regression_through_the_origin():
    """statsmodels OLS of the six phases, found by Fourier transform, on angular speed without a constant."""
    rng = np.random.default_rng(1)
    hand = lines_shifted(rng.uniform(0.1, 0.3, 6), rng.uniform(0.6, 1.1, 6)) + 3 - 2j
    hand = hand + rng.normal(0, 4, 4800) + 1j * rng.normal(0, 4, 4800)
    disc = disc_of(WANDER, instants(2.0, 20.0))
    phases = [np.angle(np.fft.rfft(getattr(hand, axis))[k] / np.fft.rfft(getattr(disc, axis))[k])
              for axis, ks in (("real", (2, 5, 11)), ("imag", (3, 8, 13))) for k in ks]
    outside = sm.OLS(-np.array(phases), SPEEDS).fit()
    fit = fitted(hand)
    assert fit.delay_s == pytest.approx(outside.params[0], rel=1e-6)
    assert fit.se_s == pytest.approx(outside.bse[0], rel=1e-6)


@pytest.mark.parametrize("share_off", [0.05, 0.19])
def test_a_gap_in_contact_does_not_bias_the_delay(share_off):
    hand = lines_shifted(np.full(6, 0.21)) + 5 + 2j
    contact = ALL.copy()
    contact[1000:1000 + round(4800 * share_off)] = False
    assert fitted(hand, contact).delay_s == pytest.approx(0.21, abs=1e-9)


def test_follow_is_the_share_of_variance_at_the_lines_of_each_axis():
    hand = lines_shifted(np.full(6, 0.2))
    assert fitted(hand).follow == pytest.approx(1.0, abs=1e-9)
    at_lines = np.mean(np.abs(hand) ** 2)
    t_s = instants(2.0, 20.0)
    elsewhere = np.sqrt(at_lines) * np.exp(2j * np.pi * 0.35 * t_s)  # line 7: no line of the path
    assert fitted(hand + elsewhere).follow == pytest.approx(0.5, abs=1e-6)
    crossed = hand.imag + 1j * hand.real  # each axis follows the other one
    assert fitted(crossed).follow < 1e-6


@pytest.mark.parametrize("direction", [1, -1])
@pytest.mark.parametrize("lag_s", [-0.4, 0.0, 0.07, 0.9, 1.9])
def test_lag_is_positive_behind_the_disc_in_either_direction(direction, lag_s):
    circle = Circle(40.0, 4.0, direction, np.pi / 2)
    t_s = np.arange(960) / 240
    disc, hand = (40 * np.exp(1j * (np.pi / 2 + direction * np.pi / 2 * t)) for t in (t_s, t_s - lag_s))
    fit = fit_circle(0.8 * hand + 7 - 3j, disc, circle)
    assert fit.lag_s == pytest.approx(lag_s, abs=1e-9)
    assert fit.gain == pytest.approx(0.8)


def test_lag_is_the_phase_that_minimises_the_squared_distance():
    """The angle of sum z_h conj z_t is the least-squares turn: scanned over all angles instead."""
    rng = np.random.default_rng(3)
    circle = Circle(40.0, 8.0, 1, 0.0)
    disc = 40 * np.exp(1j * np.pi / 4 * np.arange(0, 16, 1 / 240))
    hand = disc * np.exp(-0.2j) + rng.normal(0, 6, disc.size) + 1j * rng.normal(0, 6, disc.size)
    angles = np.linspace(-0.5, 0.5, 20001)
    moved = hand - hand.mean()
    cost = -2 * np.real(np.vdot(disc, moved) * np.exp(-1j * angles))
    assert fit_circle(hand, disc, circle).turn_rad == pytest.approx(angles[np.argmin(cost)], abs=1e-4)
