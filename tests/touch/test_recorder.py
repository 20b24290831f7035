"""The recorder, fed through playback: what a finger did on the glass is what stands in the record."""

from uuid import UUID

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.running import RunningTrial
from kiosk.pursuit.samples import AxisRanges
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.touch.calibration import full_window, nominal
from kiosk.touch.capture import Playback, Touch
from kiosk.touch.recorder import Recorder

BATTERY = load_battery()
PLAN = BATTERY.plan("steady", "preferred", 1)
CALIBRATION = nominal("A")
WINDOW = full_window(CALIBRATION)
KERNEL = AxisRanges(0.0, 16383.0, 10239.0, 0.0)
DOWN_NS = 5_000_000_123  # when the finger comes down
SECOND = 10**9


class Bench:
    """A recorder on a playback, and the clock of both."""

    def __init__(self, touches, **options):
        self.now_ns = 0
        self.playback = Playback(lambda: self.now_ns, KERNEL, WINDOW)
        self.running = RunningTrial(PLAN, BATTERY.rest_on_disc_s, BATTERY.return_after_lift_s)
        self.recorder = Recorder(self.playback, CALIBRATION, self.running, **options)
        self.playback.load(sorted(touches, key=lambda touch: touch.t_ns))

    def run(self, until_ns=40 * SECOND, frame_ns=16_666_667, late=()):
        while self.now_ns < until_ns and self.recorder.phase != "over":
            self.now_ns += frame_ns
            self.recorder.frame(self.now_ns)
            if len(self.recorder._frame_times._t_ns) not in late:
                self.recorder.flipped(self.now_ns)
            else:
                self.recorder.flipped(self.now_ns + frame_ns)
                self.now_ns += frame_ns
        return self

    def record(self):
        return self.recorder.finish()


def _touches(t_s, x_mm, y_mm, contact=None, identity=0):
    """Touches at t_s from the coming down of the finger."""
    x_raw, y_raw = CALIBRATION.to_raw(x_mm, y_mm, KERNEL, WINDOW)
    contact = np.ones(np.size(t_s), bool) if contact is None else contact
    return [Touch(DOWN_NS + round(float(t) * 1e9), float(x), float(y), bool(c), identity)
            for t, x, y, c in zip(t_s, x_raw, y_raw, contact, strict=True)]


def _following(from_s=-0.8, to_s=19.5, identity=0, rate_hz=120):
    t_s = np.arange(round((to_s - from_s) * rate_hz)) / rate_hz + from_s
    return _touches(t_s + 0.8, *PLAN.position(t_s), identity=identity)


@pytest.mark.parametrize("frame_ns", [4_000_000, 16_666_667, 50_000_000, 333_333_333])
def test_the_setting_off_is_the_first_touch_plus_the_rest_at_any_frame_rate(frame_ns):
    record = Bench(_following()).run(frame_ns=frame_ns).record()
    assert record.set_off_ns == DOWN_NS + 800_000_000
    assert record.samples.t_s[0] == -0.8 and record.raw.t_ns[0] == DOWN_NS


@pytest.mark.parametrize("frame_ns", [4_000_000, 50_000_000])
def test_every_touch_of_the_finger_stands_in_the_record_once_and_where_it_was(frame_ns):
    hand = move(typical_hand(60.0, np.random.default_rng(1)), PLAN, np.random.default_rng(2))
    touches = _touches(hand.t_s + 0.8, hand.x_mm, hand.y_mm, hand.contact)
    record = Bench(touches).run(frame_ns=frame_ns).record()
    kept = hand.t_s < PLAN.end_s - 1e-6
    assert np.allclose(record.samples.t_s[:-1], hand.t_s[kept], atol=1e-8)
    assert np.allclose(record.samples.x_mm[:-1], hand.x_mm[kept], atol=1e-9)
    assert np.allclose(record.samples.y_mm[:-1], hand.y_mm[kept], atol=1e-9)
    assert np.array_equal(record.samples.contact[:-1], hand.contact[kept])
    assert (record.samples.t_s[-1], record.facts.outcome) == (PLAN.end_s, "complete")


def test_the_disc_drawn_is_the_disc_that_is_scored():
    bench = Bench(_following()).run(until_ns=DOWN_NS + 7 * SECOND)
    picture = bench.recorder.picture(bench.now_ns)
    x, y = PLAN.position((bench.now_ns - DOWN_NS) / 1e9 - 0.8)
    assert (picture.x_mm, picture.y_mm) == (pytest.approx(float(x)), pytest.approx(float(y)))
    assert picture.on and picture.phase == "window"


def test_a_finger_at_rest_without_events_is_closed_at_the_end_of_the_trial():
    record = Bench(_touches([0.0, 0.1], [0.0, 0.2], [40.0, 40.0])).run().record()
    assert record.samples.t_s == pytest.approx([-0.8, -0.7, 19.0])
    assert record.samples.contact.all() and record.samples.x_mm[-1] == pytest.approx(0.2)


def test_a_finger_lifted_to_the_end_is_closed_as_lifted():
    touches = _following(to_s=10.0)
    last = touches[-1]
    lift = Touch(last.t_ns + 8_000_000, last.x_raw, last.y_raw, False)
    record = Bench([*touches, lift]).run().record()
    assert record.samples.t_s[-1] == 19.0 and record.samples.contact[-2:].tolist() == [False, False]


def test_what_was_recorded_before_a_return_to_waiting_is_dropped():
    first = _touches([0.0, 1.0, 1.5], [0.0, 0.0, 0.0], [40.0, 40.0, 40.0], [True, True, False])
    again = [Touch(t.t_ns + 10 * SECOND, t.x_raw, t.y_raw, t.contact, 1) for t in _following()]
    record = Bench([*first, *again]).run().record()
    assert record.set_off_ns == DOWN_NS + 10 * SECOND + 800_000_000
    assert record.raw.t_ns[0] == DOWN_NS + 10 * SECOND and record.samples.t_s[0] == pytest.approx(-0.8)
    assert record.samples.contact.all() and abs(record.samples.t_s.size - 19.8 * 120) <= 1


def test_another_contact_is_counted_and_leaves_no_sample():
    palm = _touches([3.8, 8.8], [60.0, 60.0], [-50.0, -50.0], [True, False], identity=9)
    alone, with_palm = (Bench([*_following(), *more]).run().record() for more in ([], palm))
    assert np.array_equal(alone.raw.t_ns, with_palm.raw.t_ns)
    assert (alone.facts.other_touches, with_palm.facts.other_touches) == (0, 1)
    assert with_palm.facts.other_contact_s == pytest.approx(5.0) and with_palm.facts.identity_lost is False


def test_a_finger_that_comes_back_under_a_new_identity_stays_in_the_record():
    away = _following(to_s=6.0)
    lift = Touch(away[-1].t_ns + 1, away[-1].x_raw, away[-1].y_raw, False)
    record = Bench([*away, lift, *_following(from_s=6.25, identity=1)]).run().record()
    assert np.sum(~record.samples.contact) == 1 and record.samples.t_s.size > 2300
    assert not record.facts.identity_lost and record.facts.other_touches == 0


def test_frames_further_apart_than_one_and_a_half_refreshes_are_counted_as_dropped():
    bench = Bench(_following(), refresh_hz=60.0).run(late=(500, 700, 900))
    facts = bench.record().facts
    assert facts.dropped_frames == 3
    assert facts.refresh_hz == 60.0
    assert facts.flip_t_s[0] <= 0.0 < facts.flip_t_s[1] and facts.flip_t_s[-1] <= 19.05


def test_against_a_known_refresh_a_display_that_is_always_late_drops_every_frame():
    bench = Bench(_following(), refresh_hz=60.0).run(frame_ns=33_333_333)
    facts = bench.record().facts
    assert facts.refresh_hz == 60.0 and facts.dropped_frames == facts.flip_t_s.size - 1 > 500


def test_the_facts_name_the_source_the_clock_and_what_was_given():
    identity = UUID(int=7)
    record = Bench(_following(), refresh_hz=60.0, latency_ms=48.0, latency_source="video", calibrated=True,
                   calibration_id=identity).run().record()
    facts = record.facts
    assert (facts.touch_source, facts.clock) == ("playback", "simulated")
    assert (facts.lost_events, facts.input_fuzz) == (0, 0.0)
    assert (facts.latency_ms, facts.latency_source, facts.calibrated) == (48.0, "video", True)
    assert record.calibration_id == identity and record.plan is PLAN


def test_losing_focus_ends_the_trial_as_interrupted_with_what_there_was():
    bench = Bench(_following()).run(until_ns=DOWN_NS + 6 * SECOND)
    bench.recorder.interrupt("focus_lost")
    record = bench.run().record()
    assert (record.facts.outcome, record.facts.outcome_reason) == ("interrupted", "focus_lost")
    assert 5.1 < record.samples.t_s[-1] < 5.3


def test_stopping_keeps_what_there_was():
    bench = Bench(_following()).run(until_ns=DOWN_NS + 6 * SECOND)
    bench.recorder.stop()
    assert bench.record().facts.outcome == "stopped"


def test_a_device_that_is_gone_interrupts_the_trial():
    bench = Bench(_following()).run(until_ns=DOWN_NS + 6 * SECOND)

    def gone():
        raise OSError(19, "no such device")

    bench.playback.drain = gone
    facts = bench.run().record().facts
    assert (facts.outcome, facts.outcome_reason) == ("interrupted", "device_gone")


def test_a_trial_that_never_set_off_has_no_record():
    bench = Bench(_touches([0.0, 0.5], [0.0, 0.0], [40.0, 40.0], [True, False])).run(until_ns=9 * SECOND)
    bench.recorder.stop()
    assert bench.record() is None


def test_a_recording_without_flips_does_not_know_its_frames():
    bench = Bench(_following())
    while bench.recorder.phase != "over":
        bench.now_ns += 50_000_000
        bench.recorder.frame(bench.now_ns)
    facts = bench.record().facts
    assert (facts.refresh_hz, facts.dropped_frames, facts.flip_t_s.size) == (None, None, 0)
