"""What changed of a tablet since the measurement before, and nothing else."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from kiosk.visits.device_record import Device
from kiosk.visits.passport import MeasuredBy, Measurement, PanelIdentity, make_passport

AT = datetime(2026, 11, 1, tzinfo=UTC)
TABLET = Device(UUID(int=1), "ten_inch", "this tablet", "", "", 1280, 800)


def measured(by, day, **figures):
    return Measurement(by, AT + timedelta(days=day), "M. Orla", figures)


def test_only_figures_that_moved_between_the_last_two_of_a_kind_are_changes():
    found = make_passport(TABLET, PanelIdentity(), [
        measured(MeasuredBy.PANEL, 0, rate_hz=90.0, noise_mm=0.1),
        measured(MeasuredBy.SLIDE, 1, latency_ms=70.0),
        measured(MeasuredBy.PANEL, 2, rate_hz=120.0, noise_mm=0.1),
        measured(MeasuredBy.PANEL, 3, rate_hz=100.0, noise_mm=0.1, refresh_hz=60.0)])
    assert [(one.figure, one.before, one.now, one.before_at) for one in found.changes] == [
        ("rate_hz", 120.0, 100.0, AT + timedelta(days=2))]
    assert [(one.by, one.made_at.day) for one in found.newest] == [
        (MeasuredBy.PANEL, 4), (MeasuredBy.SLIDE, 2)]


@pytest.mark.parametrize(("before", "now"), [({}, {"rate_hz": 1.0}), ({"rate_hz": 1.0}, {})])
def test_what_was_not_known_before_or_is_not_now_has_not_changed(before, now):
    found = make_passport(TABLET, PanelIdentity(), [
        measured(MeasuredBy.PANEL, 0, **before), measured(MeasuredBy.PANEL, 1, **now)])
    assert found.changes == ()
