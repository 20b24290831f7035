"""Wishes of the site's part: calibration, check, latency and tables kept; the language changed."""

from collections.abc import Callable
from typing import Final
from uuid import UUID

from kiosk.app.driver import Clinic
from kiosk.app.listed import load_table, table_rows
from kiosk.app.tablet import Checking, with_latency
from kiosk.base.errors import Refused
from kiosk.visits import desk_site
from kiosk.visits.desk_pad import on
from kiosk.visits.device_record import CalibrationRecord
from norms import Refusal, TableFaults


def _keep(clinic: Clinic, what: str) -> None:
    """The figures on the screen into the archive."""
    {"calibration": _keep_calibration, "crosses": _keep_crosses, "check": _keep_check,
     "latency": _keep_latency}[what](clinic)


def _keep_calibration(clinic: Clinic) -> None:
    measured, kit = clinic.state.site.measured, clinic.kit
    if measured is None:
        return
    found = measured.calibration
    record = CalibrationRecord(
        kit.new_id(), clinic.device.id, measured.method, found.px_per_mm_x, found.px_per_mm_y,
        found.window_width_px, found.window_height_px, measured.readings, kit.display)
    kit.archive.add_calibration(record)
    clinic.state = desk_site.kept(clinic.state)
    clinic.take_calibration(record)


def _keep_crosses(clinic: Clinic) -> None:
    crosses = clinic.state.site.crosses
    if crosses is not None:
        clinic.kit.archive.add_cross_check(clinic.device.id, _calibration_id(clinic), crosses)
        _checked(clinic)


def _keep_check(clinic: Clinic) -> None:
    check = clinic.state.site.check
    if check is None:
        return
    clinic.kit.archive.add_device_check(clinic.device.id, _calibration_id(clinic), check)
    _checked(clinic)


def _calibration_id(clinic: Clinic) -> UUID:
    if clinic.record is None:
        raise Refused("tablet_not_calibrated")
    return clinic.record.id


def _checked(clinic: Clinic) -> None:
    clinic.state = desk_site.kept(clinic.state, checks=clinic.kit.archive.checks_of(clinic.device.id))


def _keep_latency(clinic: Clinic) -> None:
    found = clinic.state.site.latency
    if found is None:
        return
    clinic.device = with_latency(clinic.device, found.latency_ms, found.sd_ms, found.method)
    clinic.kit.archive.add_device(clinic.device)
    clinic.state = desk_site.kept(clinic.state, latency_ms=found.latency_ms)


def _begin_check(clinic: Clinic, _: str) -> None:
    clinic.checking = Checking(clinic.capture, clinic.kit.now_ns())


def _follow_check(clinic: Clinic, _: str) -> None:
    """Once a frame: the touches of a device check; its verdict when the time is over."""
    checking = clinic.checking
    if checking is None:
        return
    if clinic.state.screen != "device_check":
        clinic.capture.stop()
        clinic.checking = None
        return
    if not checking.frame(clinic.kit.now_ns()):
        return
    clinic.checking = None
    try:
        found = checking.finish(clinic.room().calibration, clinic.kit.refresh_hz)
    except Refused as refusal:
        reason = Refusal(refusal.code, dict(refusal.values))
        clinic.told((desk_site.device_checked(clinic.state, reason), ()))
        return
    clinic.told((desk_site.device_checked(clinic.state, found), ()))


def _tables(clinic: Clinic, _: str) -> None:
    clinic.state = desk_site.tables_told(clinic.state, table_rows(clinic.kit.tables_folder, clinic.table))


def _load_table(clinic: Clinic, _: str) -> None:
    """A table's folder into the archive; a real one judges visits from now on."""
    kit = clinic.kit
    try:
        table = load_table(kit.tables_folder / clinic.state.table_wanted)
    except TableFaults as faults:
        raise Refused("table_for_other") from faults
    kept = table.table
    kit.archive.add_reference_table(kept.sha256, kept.name, kept.version, kept.status, table.folder_zip)
    clinic.table = table
    _tables(clinic, "")


def _language(clinic: Clinic, _: str) -> None:
    clinic.state = on(clinic.state, "site")


def _nothing(clinic: Clinic, _: str) -> None:
    """The crosses report their touches themselves."""


WISHES: Final[dict[str, Callable[[Clinic, str], None]]] = {
    "keep": _keep, "begin_check": _begin_check, "follow_check": _follow_check, "tables": _tables,
    "load_table": _load_table, "language": _language, "watch_crosses": _nothing,
}
