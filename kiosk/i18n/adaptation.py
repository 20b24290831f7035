"""The adaptation record of a catalogue: who did which part of it, when, and from which source.

Parts of the ITC guidelines for translating and adapting tests (second edition, 2017): a forward and an
independent back translation, a review, a pilot with people of the language; then approval. A part is kept
as "INITIALS DATE"; initials, not names. The status follows from the parts that are there.
"""

import datetime as dt
import re
from collections.abc import Mapping
from pathlib import Path

from kiosk.base.errors import Refused
from kiosk.i18n.catalogue_file import ENCODING, header

FIELDS = {
    "forward-translator": "X-Forward-Translator",
    "back-translator": "X-Back-Translator",
    "reviewer": "X-Reviewer",
    "pilot": "X-Pilot",
    "approver": "X-Approver",
}
ROLES = tuple(FIELDS)
_INITIALS = re.compile(r"[^\W\d_]{1,4}")
_REACHED = (("approver", "approved"), ("pilot", "piloted"), ("reviewer", "reviewed"))


def new_record(tag: str, plural_forms: str) -> dict[str, str]:
    """The header of a catalogue that nobody has worked on yet."""
    return {
        "Project-Id-Version": "pursuit-kiosk",
        "Language": tag.replace("-", "_"),
        **ENCODING,
        "Plural-Forms": plural_forms,
        "X-Address": "",
        **dict.fromkeys(FIELDS.values(), ""),
        "X-Adaptation-Version": "1",
        "X-Status": "draft",
        "X-Source-Revision": "",
    }


def sign(path: Path, role: str, by: str, on: dt.date) -> str:
    """Record who did a part of the adaptation; the status that the catalogue then has.

    Refused: initials that are none, a part before those that it builds on, and a back translation, or a
    review, by the forward translator.
    """
    if not _INITIALS.fullmatch(by):
        raise Refused("initials_wanted", {"initials": by})
    record = header(path)
    earlier = [field for field in _before(role) if not record.get(field)]
    if earlier:
        raise Refused("adaptation_part_missing", {"part": earlier[0]})
    if role in ("back-translator", "reviewer") and record[FIELDS["forward-translator"]].split()[:1] == [by]:
        raise Refused("adaptation_not_independent", {"initials": by})
    record[FIELDS[role]] = f"{by} {on.isoformat()}"
    record["X-Status"] = status_reached(record)
    rewrite(path, record)
    return record["X-Status"]


def status_reached(record: Mapping[str, str]) -> str:
    """The status that the parts of a record amount to."""
    return next((status for role, status in _REACHED if record.get(FIELDS[role])), "draft")


def back_to_draft(record: Mapping[str, str]) -> dict[str, str]:
    """The record once the source has changed: of what was signed the next version, every part to do anew."""
    if not any(record.get(field) for field in FIELDS.values()):
        return dict(record)
    version = int(record.get("X-Adaptation-Version") or 0) + 1
    emptied = dict.fromkeys(FIELDS.values(), "")
    return {**record, **emptied, "X-Status": "draft", "X-Adaptation-Version": str(version)}


def rewrite(path: Path, record: Mapping[str, str]) -> None:
    """Put a record's fields into the header of a file; its messages stay as they are."""
    text = path.read_text("utf-8")
    for name, value in record.items():
        head, colon, rest = text.partition(f'\n"{name}: ')
        text = head + colon + value + rest[rest.index('\\n"\n') :] if colon else text
    path.write_text(text, "utf-8")


def _before(role: str) -> list[str]:
    return [FIELDS[one] for one in ROLES[: ROLES.index(role)]]
