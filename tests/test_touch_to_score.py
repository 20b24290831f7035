"""From the kernel's bytes to the score: one finger, the same score, whatever else lies on the glass.

A simulated hand's touches are written into a pipe as a panel would send them, read by the reader's thread,
recorded, and scored. Time is virtual: a frame of 50 ms is drawn once its touches are read.
"""

from dataclasses import dataclass, field

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.running import RunningTrial
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.scoring.score import score_trial
from kiosk.touch.recorder import Recorder
from tests.touch.panel import (
    CALIBRATION,
    DROPPED,
    MT_X,
    MT_Y,
    RANGES,
    SLOT,
    STYLUS,
    SYN,
    TOOL,
    TRACKING,
    WINDOW,
    Pipe,
    event,
    report,
    wait_until,
)

BATTERY = load_battery()
PLAN = BATTERY.plan("steady", "preferred", 1)
DOWN_NS = 1_000_000_000
FRAME_NS = 50_000_000
FINGER, PALM_IDENTITY = 40, 39


def raw(x_mm, y_mm):
    x, y = CALIBRATION.to_raw(x_mm, y_mm, RANGES, WINDOW)
    return np.rint(x).astype(int).tolist(), np.rint(y).astype(int).tolist()


def contact(slot, identity, t_s, x_mm, y_mm, lifts=True, tool=0):
    """A contact's reports: (t_ns, changes), at t_s from the coming down of the finger."""
    xs, ys = raw(np.asarray(x_mm), np.asarray(y_mm))
    stamps = [DOWN_NS + round(t * 1e6) * 1000 for t in t_s]
    rows = [(t, [(SLOT, slot), (MT_X, x), (MT_Y, y)]) for t, x, y in zip(stamps, xs, ys, strict=True)]
    rows[0][1][1:1] = [(TRACKING, identity), (TOOL, tool)]
    return rows + ([(stamps[-1] + 1000, [(SLOT, slot), (TRACKING, -1)])] if lifts else [])


def finger(slot=0):
    hand = move(typical_hand(70.0, np.random.default_rng(1)), PLAN, np.random.default_rng(2))
    kept = (hand.t_s >= -0.8) & hand.contact
    return contact(slot, FINGER, hand.t_s[kept] + 0.8, hand.x_mm[kept], hand.y_mm[kept], lifts=False)


def palm(from_s, to_s, slot=1, tool=0):
    """A palm's edge on the disc's way, sliding and trembling: the disc passes over it."""
    t_s = np.arange(from_s, to_s, 0.011)
    return contact(slot, PALM_IDENTITY, t_s, 28 + np.sin(7 * t_s), -32 + 2 * np.cos(5 * t_s), tool=tool)


@dataclass
class Glass:
    """A pipe, its reader, and a virtual clock."""

    now_ns: int = 0
    pipe: Pipe = field(default_factory=Pipe)

    def __post_init__(self):
        self.reader = self.pipe.reader(now_ns=lambda: self.now_ns)

    def record(self, rows, until_ns=None):
        running = RunningTrial(PLAN, BATTERY.rest_on_disc_s, BATTERY.return_after_lift_s)
        recorder = Recorder(self.reader, CALIBRATION, running, refresh_hz=20.0, latency_ms=60.0,
                            latency_source="slow_motion_video")
        rows = sorted(rows, key=lambda row: row[0])
        while recorder.phase != "over" and self.now_ns < 40 * 10**9:
            self.now_ns += FRAME_NS
            due = [row for row in rows if row[0] <= self.now_ns]
            rows = rows[len(due):]
            self.write(due)
            if until_ns is not None and self.now_ns >= until_ns:
                self.pipe.unplug()
                wait_until(lambda: self.reader.gone)
                rows = []
            recorder.frame(self.now_ns)
            recorder.flipped(self.now_ns)
        return recorder.finish()

    def write(self, rows):
        self.pipe.write(*(row[1] if isinstance(row[1], bytes) else report(row[0], *row[1]) for row in rows))
        if rows:
            wait_until(lambda: self.reader._contacts._known_to_ns == rows[-1][0])


@pytest.fixture
def glass():
    made = []

    def make():
        made.append(Glass())
        return made[-1]

    yield make
    for one in made:
        one.reader.close()
        one.pipe.unplug()


@pytest.fixture
def alone(glass):
    return glass().record(finger())


def test_a_finger_on_the_kernel_s_panel_is_scored(alone):
    scores = score_trial(alone)
    assert (alone.facts.clock, alone.facts.touch_source, alone.facts.input_fuzz) == (
        "kernel_monotonic", "kernel", 2.0)
    assert scores.validity.valid and scores.values["scatter"].value > 0
    assert alone.set_off_ns == DOWN_NS + 800_000_000 and alone.facts.other_touches == 0


@pytest.mark.parametrize(("rests", "slots", "valid"), [
    ([(4.8, 6.3)], (0, 1), True), ([(-0.5, 3.0), (9.0, 10.0)], (1, 0), True),
    ([(-0.5, 30.0)], (1, 0), False)],
    ids=["palm during", "palm first and again", "palm all the time"])
def test_palm_and_finger_score_the_same_as_the_finger_alone_to_the_last_digit(
        glass, alone, rests, slots, valid):
    finger_slot, palm_slot = slots
    rows = [row for from_s, to_s in rests for row in palm(from_s, to_s, palm_slot)]
    both = glass().record([*finger(finger_slot), *rows])
    scores, scores_alone = score_trial(both), score_trial(alone)
    assert scores.values == scores_alone.values
    for column in ("t_ns", "x_raw", "y_raw", "contact"):
        assert getattr(both.raw, column).tobytes() == getattr(alone.raw, column).tobytes()
    assert (both.facts.other_touches, scores.validity.valid) == (len(rests), valid)
    assert ("second_contact" in [reason.code for reason in scores.validity.reasons]) is not valid


def test_a_stylus_on_the_disc_does_not_begin_a_trial_and_a_finger_beside_it_does(glass):
    t_s = np.arange(0.0, 3.0, 0.01)
    stylus = contact(3, 12, t_s, 0 * t_s, 40 + 0.05 * np.sin(t_s), tool=STYLUS)
    assert glass().record(stylus) is None
    later = [(t_ns + 5 * 10**9, changes) for t_ns, changes in finger()]
    record = glass().record([*stylus, *later])
    assert record.set_off_ns == DOWN_NS + 5_800_000_000


def test_a_stylus_laid_down_beside_the_finger_counts_as_another_contact(glass, alone):
    t_s = np.arange(4.0, 5.0, 0.01)
    both = glass().record([*finger(), *contact(3, 12, t_s, 30 + t_s, 0 * t_s, tool=STYLUS)])
    assert score_trial(both).values == score_trial(alone).values
    assert both.facts.other_touches == 1 and both.facts.other_contact_s == pytest.approx(0.99, abs=0.02)


def test_touches_that_the_kernel_lost_are_marked_in_the_record_and_in_the_validity(glass):
    rows = finger()
    at = next(index for index, (t_ns, _) in enumerate(rows) if t_ns > DOWN_NS + 6_800_000_000)
    lost = rows[at:at + 24]
    drop = [(lost[-1][0], event(lost[-1][0], SYN, DROPPED, 0) + report(lost[-1][0], (MT_X, 1)))]
    record = glass().record([*rows[:at], *drop, *rows[at + 24:]])
    from_s, to_s = ((t_ns - record.set_off_ns) / 1e9 for t_ns in (rows[at - 1][0], lost[-1][0]))
    assert record.facts.lost_events == 1
    assert record.facts.lost_spans_s == ((from_s, to_s),)
    [caution] = [one for one in score_trial(record).validity.cautions if one.code == "touches_lost"]
    assert caution.values["lost_ms"] == pytest.approx(1000 * (to_s - from_s))


def test_a_span_lost_outside_the_window_is_no_caution(glass):
    rows = finger()
    at = next(index for index, (t_ns, _) in enumerate(rows) if t_ns > DOWN_NS + 1_500_000_000)
    drop = [(rows[at][0], event(rows[at][0], SYN, DROPPED, 0) + report(rows[at][0], (MT_X, 1)))]
    record = glass().record([*rows[:at], *drop, *rows[at + 1:]])
    assert record.facts.lost_events == 1
    assert "touches_lost" not in [one.code for one in score_trial(record).validity.cautions]


def test_a_panel_that_is_unplugged_interrupts_the_trial_and_plugged_in_again_begins_anew(glass):
    bench = glass()
    record = bench.record(finger(), until_ns=DOWN_NS + 6 * 10**9)
    assert (record.facts.outcome, record.facts.outcome_reason) == ("interrupted", "device_gone")
    assert record.samples.t_s[-1] == pytest.approx(5.2, abs=0.06)
    shift_ns = bench.now_ns
    again = bench.record([(t_ns + shift_ns, changes) for t_ns, changes in finger()])
    assert again.facts.outcome == "complete" and score_trial(again).validity.valid
    assert again.set_off_ns == shift_ns + DOWN_NS + 800_000_000
