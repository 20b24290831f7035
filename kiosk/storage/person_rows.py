"""Persons, devices and calibrations as rows. Details of a person are versions; the newest counts."""

from dataclasses import fields
from json import loads
from typing import Any
from uuid import UUID

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.rows import Ledger, Row, Writing, latest
from kiosk.visits.canonical import canonical_json
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.person import Person

_LATENCY = ("latency_ms", "latency_sd_ms", "latency_method")


def add_person(writing: Writing, person: Person) -> None:
    """The person where new, and a version of their details."""
    if not writing.exists(tables.person, person.id):
        writing.add(tables.person, {"id": person.id})
    before = writing.connection.execute(_details_of(person.id).limit(1)).mappings().first()
    details = {name: value for name, value in _facts(person).items() if name != "id"}
    row = writing.add(tables.person_details, {
        **details, "person_id": person.id, "supersedes": None if before is None else before["id"]})
    writing.note("add_person", tables.person_details, row)


def read_person(ledger: Ledger, person_id: UUID) -> Person:
    """The details as last known; Refused `unknown_person`."""
    row = ledger.one(_details_of(person_id))
    if row is None:
        raise Refused("unknown_person", {"person": str(person_id)})
    return Person(**{**_same_named(Person, row), "id": person_id})


def add_device(writing: Writing, device: Device) -> None:
    """The tablet where new, and its latency where known.

    Refused `device_known_otherwise` where the tablet is known with other facts.
    """
    facts = {name: value for name, value in _facts(device).items() if name not in _LATENCY}
    query = latest(tables.device, tables.device.c.id == device.id)
    known = writing.connection.execute(query).mappings().first()
    if known is not None and any(known[name] != value for name, value in facts.items()):
        raise Refused("device_known_otherwise", {"device": str(device.id)})
    row: Row = writing.add(tables.device, facts) if known is None else dict(known)
    if device.latency_ms is not None:
        writing.add(tables.device_latency, {
            "device_id": device.id, "latency_ms": device.latency_ms, "sd_ms": device.latency_sd_ms,
            "method": device.latency_method or ""})
    writing.note("add_device", tables.device, row)


def read_device(ledger: Ledger, device_id: UUID) -> Device:
    """The tablet with its newest latency; Refused `unknown_device`."""
    row = ledger.one(latest(tables.device, tables.device.c.id == device_id))
    if row is None:
        raise Refused("unknown_device", {"device": str(device_id)})
    known = ledger.one(latest(tables.device_latency, tables.device_latency.c.device_id == device_id))
    latency = {} if known is None else dict(
        zip(_LATENCY, (known["latency_ms"], known["sd_ms"], known["method"] or None), strict=True))
    return Device(**{**_same_named(Device, row), **latency})


def add_calibration(writing: Writing, calibration: CalibrationRecord) -> None:
    """A calibration of a tablet."""
    facts = _facts(calibration) | {"readings": canonical_json([float(one) for one in calibration.readings])}
    writing.note("add_calibration", tables.calibration, writing.add(tables.calibration, facts))


def calibration_from(row: Row) -> CalibrationRecord:
    """The calibration of a row."""
    facts = _same_named(CalibrationRecord, row)
    return CalibrationRecord(**{**facts, "readings": tuple(loads(row["readings"]))})


def _details_of(person_id: UUID) -> Any:
    return latest(tables.person_details, tables.person_details.c.person_id == person_id)


def _facts(record: Any) -> dict[str, Any]:
    return {field.name: getattr(record, field.name) for field in fields(record)}


def _same_named(kind: type[Any], row: Row) -> dict[str, Any]:
    return {field.name: row[field.name] for field in fields(kind) if field.name in row}
