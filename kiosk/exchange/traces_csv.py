"""A trial's traces as two CSVs: from instant to instant, and its spectrum.

traces    t_s, hand_x_mm, hand_y_mm, disc_x_mm, disc_y_mm, contact, distance_mm, on_target, along_mm,
          across_mm, hand_speed_mm_s, disc_speed_mm_s; along and across are empty off the glass
spectrum  f_hz, power_mm2_hz, line_mm2_hz
"""

import csv
from collections.abc import Mapping, Sequence
from io import StringIO

import numpy as np

from kiosk.pursuit.samples import Floats
from kiosk.scoring.traces import Traces
from kiosk.scoring.tremor import Shake


def traces_csv(traces: Traces) -> str:
    """One row an instant."""
    return _csv({
        "t_s": traces.t_s, "hand_x_mm": traces.hand.real, "hand_y_mm": traces.hand.imag,
        "disc_x_mm": traces.disc.real, "disc_y_mm": traces.disc.imag,
        "contact": traces.contact.astype(int).tolist(), "distance_mm": traces.distance_mm,
        "on_target": traces.on_target.astype(int).tolist(), "along_mm": traces.along_mm,
        "across_mm": traces.across_mm, "hand_speed_mm_s": traces.hand_speed,
        "disc_speed_mm_s": traces.disc_speed})


def spectrum_csv(shake: Shake) -> str:
    """One row a frequency; line is what was laid through 3 to 12 Hz."""
    power, line = np.exp(shake.log_power), np.exp(shake.line_nat)
    return _csv({"f_hz": shake.f_hz, "power_mm2_hz": power, "line_mm2_hz": line})


def _csv(columns: Mapping[str, Floats | Sequence[int]]) -> str:
    out = StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    listed = [column.tolist() if isinstance(column, np.ndarray) else column for column in columns.values()]
    writer.writerows([_cell(one) for one in row] for row in zip(*listed, strict=True))
    return out.getvalue()


def _cell(value: float | int) -> str:
    return "" if value != value else repr(value)
