"""Visits, their ends and observations as rows."""

from dataclasses import fields
from json import loads
from typing import Any

from kiosk.pursuit.observation import Observation
from kiosk.storage.rows import Row
from kiosk.visits.canonical import canonical_json
from kiosk.visits.visit import Visit, VisitEnd

_AS_JSON = ("intake", "software")


def visit_row(visit: Visit) -> Row:
    """A visit's columns; the two mappings as canonical JSON."""
    facts = {field.name: getattr(visit, field.name) for field in fields(visit)}
    return facts | {name: canonical_json(dict(facts[name])) for name in _AS_JSON}


def visit_from(row: Row) -> Visit:
    """The visit of a row."""
    facts = _same_named(Visit, row)
    return Visit(**{**facts, **{name: loads(row[name]) for name in _AS_JSON}})


def end_row(end: VisitEnd) -> Row:
    """An end's columns."""
    return {field.name: getattr(end, field.name) for field in fields(end)}


def end_from(row: Row) -> VisitEnd:
    """The end of a row."""
    return VisitEnd(**_same_named(VisitEnd, row))


def observation_from(row: Row) -> Observation:
    """The observation of a row."""
    return Observation(row["code"], row["trial_id"], row["note"])


def _same_named(kind: type[Any], row: Row) -> dict[str, Any]:
    return {field.name: row[field.name] for field in fields(kind)}
