"""An operator who slides a finger with the pacing mark and sets the line's lead until it lies on the finger.

Written without the code under test but for the line it draws. The finger trails the pacing mark by a lag of
its own, is rounded at the turns and is unsteady; the operator compares line and fingertip at the moment of
the picture, and sees that with an error and with an offset to one side (a touch beside the place that is
meant, a look from the side). Seconds, millimetres.
"""

from dataclasses import dataclass

import numpy as np

from kiosk.pursuit.samples import Samples
from kiosk.touch.simulated_panel import reported
from kiosk.touch.slide import HALF_WAY_MM, PASS_S, line_mm, start_ms

RATE_HZ = 500.0


@dataclass(frozen=True)
class Operator:
    lag_s: float = 0.15
    unsteady_mm: float = 1.0
    sees_mm: float = 1.0        # SD of what is seen of a whole to and fro
    aside_mm: float = 1.5
    content_mm: float = 1.5     # a line nearer than this is good enough


def finger(operator, seconds, rng):
    """The true movement: the pacing mark's, later, rounded and unsteady."""
    t_s = np.arange(0.0, seconds, 1 / RATE_HZ)
    through = ((t_s - operator.lag_s) / PASS_S) % 2
    x_mm = HALF_WAY_MM * (2 * np.minimum(through, 2 - through) - 1)
    window = np.hanning(int(0.12 * RATE_HZ))
    noise = np.convolve(rng.standard_normal(t_s.size), np.hanning(int(0.3 * RATE_HZ)), "same")
    x_mm = np.convolve(np.pad(x_mm, window.size // 2, "edge"), window / window.sum(), "same")[
        window.size // 2:window.size // 2 + t_s.size]
    x_mm += operator.unsteady_mm * noise / noise.std()
    return Samples(t_s, x_mm, np.full(t_s.size, -30.0), np.ones(t_s.size, dtype=bool))


def ahead_mm(true, seen, lead_s, from_s, until_s, picture_s=1 / 60):
    """By how much the line lies ahead, on average of both directions in the middle of the passes."""
    found = {1.0: [], -1.0: []}
    for now_s in np.arange(from_s, until_s, picture_s):
        x_mm = np.interp(now_s, true.t_s, true.x_mm)
        known = np.searchsorted(seen.t_s, now_s, side="right")
        line = line_mm(seen.t_s[max(known - 60, 0):known], seen.x_mm[max(known - 60, 0):known], now_s, lead_s)
        if line is None:
            continue
        way = float(np.sign(np.interp(now_s + 0.01, true.t_s, true.x_mm)
                            - np.interp(now_s - 0.01, true.t_s, true.x_mm)))
        if way:
            found[way].append(line - x_mm)
    return {way: float(np.mean(places)) for way, places in found.items() if places}


def settings(operator, panel, rng, count, before_ms=(), step_s=0.004, coarse_s=0.020):
    """So many further leads, ms, set from too short and from too long in turn."""
    leads_ms, to_and_fro = list(before_ms), 2 * PASS_S
    for _ in range(count):
        true = finger(operator, 40.0, rng)
        seen = reported(true, panel, rng)
        lead_s = start_ms(leads_ms) / 1000
        for look in range(1, 26):
            ways = ahead_mm(true, seen, lead_s, look * to_and_fro, (look + 1) * to_and_fro)
            # the offset to one side is ahead one way and behind the other; the operator balances both
            both = [way * (place + operator.aside_mm) for way, place in ways.items()]
            off_mm = float(np.mean(both)) + operator.sees_mm * rng.standard_normal()
            if abs(off_mm) < operator.content_mm:
                break
            step = coarse_s if abs(off_mm) > 6.0 else step_s
            lead_s -= np.sign(off_mm) * step
        leads_ms.append(1000 * lead_s)
    return leads_ms
