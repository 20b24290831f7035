"""A catalogue as a spreadsheet (CSV, UTF-8) and back: one row a form, the English beside the translation.

A translator fills `translation` and clears `state` of what was looked at again; the other columns are locked:
what comes back changed there, a placeholder lost or an unknown row is a fault; then nothing is taken. It may
come back as spreadsheet programs save it: separated by commas, semicolons or tabs, in UTF-8 or UTF-16. A row
that is not there any more leaves its message as it was, and is counted.
A cell that a spreadsheet would run as a formula is written behind an apostrophe, which is taken off again.

Decision languages-7.
"""

import csv
import io
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from babel.messages.catalog import Catalog, Message

from kiosk.base.errors import Fault, FaultyFile, Refused
from kiosk.i18n.catalogue_file import catalogue_path, forms_of, header, placeholder_faults, read_catalogue
from kiosk.i18n.catalogue_update import catalogue_text, note_of
from kiosk.i18n.checking import marks_of

COLUMNS = ("key", "context", "form", "english", "translation", "state")
LOCKED = COLUMNS[:4]
AGAIN = "look again"
_RUNS = ("=", "+", "-", "@", "\t", "\r", "'")
_SEPARATORS = (",", ";", "\t")
Row = dict[str, str]


class Taken(NamedTuple):
    """How many messages a spreadsheet changed, and of how many it had no row."""

    changed: int
    absent: int


def sheet_text(tag: str, folder: Path) -> str:
    """The catalogue of a tag as a spreadsheet; a mark at its very beginning tells that it is UTF-8."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for row in _rows(_catalogue(tag, folder)):
        writer.writerow({name: defused(cell) for name, cell in row.items()})
    return "\ufeff" + out.getvalue()


def take_back(tag: str, folder: Path, sheet: Path) -> Taken:
    """Put a filled spreadsheet into the catalogue. FaultyFile with every fault."""
    catalogue, path = _catalogue(tag, folder), catalogue_path(tag, folder)
    given = _read(sheet)
    wanted = {(row["key"], row["form"]): row for row in _rows(catalogue)}
    faults = [fault for place, row in given for fault in _locked_faults(sheet, place, row, wanted)]
    changed = absent = 0
    if not faults:
        for message in [one for one in catalogue if one.id]:
            rows = [(place, row) for place, row in given if row["key"] == key_of(message)]
            changed, absent = changed + _taken(message, rows), absent + (not rows)
            faults += _message_faults(sheet, message, rows)
    if faults:
        raise FaultyFile(faults)
    path.write_text(catalogue_text(catalogue, header(path), note_of(path)), "utf-8")
    return Taken(changed, absent)


def key_of(message: Message) -> str:
    """Twelve hexadecimal digits of a message's identity."""
    said = "\n\n".join((message.context or "", *forms_of(message.id)))
    return sha256(said.encode("utf-8")).hexdigest()[:12]


def defused(cell: str) -> str:
    """A cell that no spreadsheet runs.

    >>> defused("=1+2"), defused("'tis"), defused("Rest")
    ("'=1+2", "''tis", 'Rest')
    """
    return f"'{cell}" if cell.startswith(_RUNS) else cell


def restored(cell: str) -> str:
    """The cell as it was; also where a spreadsheet has swallowed the apostrophe.

    >>> [restored(defused(cell)) for cell in ("=1+2", "'tis", "Rest")]
    ['=1+2', "'tis", 'Rest']
    """
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(_RUNS) else cell


def _catalogue(tag: str, folder: Path) -> Catalog:
    path = catalogue_path(tag, folder)
    if not path.is_file():
        raise Refused("language_unknown", {"tag": tag})
    return read_catalogue(path)


def _rows(catalogue: Catalog) -> Iterator[Row]:
    for message in catalogue:
        if not message.id:
            continue
        english, forms = forms_of(message.id), forms_of(message.string)
        count = catalogue.num_plurals if message.pluralizable else 1
        for n in range(count):
            yield {
                "key": key_of(message),
                "context": message.context or "",
                "form": str(n),
                "english": english[min(n, len(english) - 1)],
                "translation": forms[n] if n < len(forms) else "",
                "state": AGAIN if message.fuzzy else "",
            }


def _read(sheet: Path) -> list[tuple[int, Row]]:
    """Rows with their line in the file (of the row's end, where a cell has several lines)."""
    try:
        text = _decoded(sheet.read_bytes())
        reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=_separator(text))
        rows = [(reader.line_num, row) for row in reader]
    except (UnicodeDecodeError, csv.Error) as fault:
        raise FaultyFile([Fault(str(sheet), None, None, "must_be_saved_as_csv", str(fault))]) from fault
    if tuple(reader.fieldnames or ()) != COLUMNS:
        raise FaultyFile([Fault(str(sheet), 1, None, "must_have_the_columns", ", ".join(COLUMNS))])
    return [(place, {name: restored(row[name] or "") for name in COLUMNS}) for place, row in rows]


def _decoded(content: bytes) -> str:
    return content.decode("utf-16" if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)) else "utf-8-sig")


def _separator(text: str) -> str:
    """The separator that parts the line of heads as it was written; a comma where none does."""
    heads = text.partition("\n")[0].rstrip("\r").replace('"', "")
    return next((one for one in _SEPARATORS if tuple(heads.split(one)) == COLUMNS), ",")


def _locked_faults(sheet: Path, place: int, row: Row, wanted: dict[tuple[str, str], Row]) -> Iterator[Fault]:
    original = wanted.get((row["key"], row["form"]))
    if original is None:
        yield Fault(str(sheet), place, "key", "must_stand_in_the_catalogue", row["key"])
        return
    for name in LOCKED:
        if row[name] != original[name]:
            yield Fault(str(sheet), place, name, "must_be_left_as_it_was", row[name])


def _taken(message: Message, rows: list[tuple[int, Row]]) -> int:
    before = (forms_of(message.string), message.fuzzy)
    forms = list(forms_of(message.string))
    for _, row in rows:
        n = int(row["form"])
        forms += [""] * (n + 1 - len(forms))
        forms[n] = row["translation"]
    message.string = tuple(forms) if message.pluralizable else forms[0]
    if rows and not any(row["state"] for _, row in rows):
        message.flags.discard("fuzzy")
    return int((forms_of(message.string), message.fuzzy) != before)


def _message_faults(sheet: Path, message: Message, rows: list[tuple[int, Row]]) -> Iterator[Fault]:
    lost = {fault.value for fault in placeholder_faults(sheet, message)}
    marks = [marks_of(one) for one in forms_of(message.id)]
    for place, row in rows:
        said = row["translation"]
        if said and said in lost:
            yield Fault(str(sheet), place, "translation", "must_keep_the_placeholders", said)
        if said and marks_of(said) not in marks:
            yield Fault(str(sheet), place, "translation", "must_keep_the_marks", said)
