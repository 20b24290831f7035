"""A research package: visits as a Data Package of CSV tables, with a data dictionary and a manifest.

A folder of eight tables (kiosk.exchange.research_tables), datapackage.json (Data Package 2, Table Schema),
data_dictionary.csv and .md (every column: meaning, unit, values, source), README.md, and manifest.json (size
and SHA-256 of every other file). Rows are written visit by visit: memory does not grow with their number.
Everything is written beside the folder's final name and put there in one step: a disk that fills up leaves no
half package. UTF-8, comma, header row, decimal point, shortest decimals that give the number back.
"""

import csv
import hashlib
from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, TextIO

from kiosk.base.canonical_json import JsonObject
from kiosk.base.errors import Refused
from kiosk.exchange.deidentification import DECIMALS, TOLD_TO_YEARS
from kiosk.exchange.new_folder import new_folder, write_json
from kiosk.exchange.research_rows import ROWS_OF, Cell, ResearchVisit
from kiosk.exchange.research_tables import TABLES, Column, TableDescription
from kiosk.i18n.spreadsheet import defused

FORMAT: Final = 1
PROFILE: Final = "https://datapackage.org/profiles/2.0/datapackage.json"
BANDS_YEARS: Final = (18, 30, 40, 50, 60, 70, 80, 90)


@dataclass
class Contents:
    """What was written: rows by table, and people by (age band, sex), for the smallest group."""

    rows: dict[str, int] = field(default_factory=lambda: {table.name: 0 for table in TABLES})
    groups: dict[tuple[str, str], set[str]] = field(default_factory=dict)
    versions: dict[str, set[str]] = field(default_factory=dict)

    @property
    def visits(self) -> int:
        """Visits written."""
        return self.rows["visits"]

    @property
    def people(self) -> int:
        """Different people among them."""
        return len({person for people in self.groups.values() for person in people})

    @property
    def smallest_group(self) -> tuple[str, int] | None:
        """The smallest group of people alike in age band and sex, in words of data, and its size."""
        if not self.groups:
            return None
        (band, sex), people = min(self.groups.items(), key=lambda one: (len(one[1]), one[0]))
        return f"{band} {sex}", len(people)


def write_package(visits: Iterable[ResearchVisit], folder: Path, software: str) -> Contents:
    """Write the package; Refused `exists_already` where the folder stands, `cannot_write` where it cannot."""
    with new_folder(folder) as part:
        contents = _write_tables(visits, part)
        if not contents.visits:
            raise Refused("nothing_for_research", {})
        (part / "data_dictionary.csv").write_text(_dictionary_csv(), "utf-8")
        (part / "data_dictionary.md").write_text(_dictionary_page(), "utf-8")
        (part / "README.md").write_text(_readme(contents), "utf-8")
        write_json(part / "datapackage.json", _descriptor(part, contents, software))
        write_json(part / "manifest.json", _manifest(part, contents, software))
    return contents


def age_band(age_years: float) -> str:
    """The band an age falls in, for counting groups.

    >>> age_band(17.9), age_band(30.0), age_band(89.99)
    ('under 18', '30-39', '80-89')
    """
    if age_years < BANDS_YEARS[0]:
        return f"under {BANDS_YEARS[0]}"
    low = max(edge for edge in BANDS_YEARS if edge <= age_years)
    return f"{low}-{29 if low == BANDS_YEARS[0] else low + 9}"


def _write_tables(visits: Iterable[ResearchVisit], part: Path) -> Contents:
    contents = Contents()
    with ExitStack() as open_files:
        out = {table: open_files.enter_context(_new_csv(part, table)) for table in TABLES}
        for table in TABLES:
            _writer(out[table]).writerow([column.name for column in table.columns])
        for one in visits:
            _note(one, contents)
            for table, rows_of in ROWS_OF.items():
                contents.rows[table.name] += _write_rows(rows_of(one), out[table])
    return contents


def _new_csv(part: Path, table: TableDescription) -> TextIO:
    return (part / f"{table.name}.csv").open("w", encoding="utf-8", newline="")


def _writer(out: TextIO) -> Any:
    return csv.writer(out, lineterminator="\n")


def _write_rows(rows: Iterable[tuple[Cell, ...]], out: TextIO) -> int:
    writer, count = _writer(out), 0
    for row in rows:
        writer.writerow([_text(cell) for cell in row])
        count += 1
    return count


def _text(cell: Cell) -> str:
    """A cell as written; a text that a spreadsheet would run as a formula is kept from it by an apostrophe.

    >>> _text(None), _text(True), _text(0.1), _text("=1+1"), _text(-1.5)
    ('', 'true', '0.1', "'=1+1", '-1.5')
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, str):
        return defused(cell)
    return repr(cell)


def _note(one: ResearchVisit, contents: Contents) -> None:
    group = age_band(one.age_years), one.sex
    contents.groups.setdefault(group, set()).add(one.person)
    visit, scores = one.visit, one.scores
    told = {"battery": f"{visit.battery} {visit.battery_version}", "kiosk": visit.software.get("kiosk", "")}
    if scores is not None:
        told["scoring"] = str(scores.scoring_version)
    for name, version in told.items():
        contents.versions.setdefault(name, set()).add(version)


def _descriptor(part: Path, contents: Contents, software: str) -> JsonObject:
    return {
        "$schema": PROFILE,
        "name": "pursuit-visits",
        "title": "Visits with the pursuit kiosk, de-identified",
        "version": f"{FORMAT}.0.0",
        "description": "Touch samples, scores, standings and changes of visits for which people agreed to "
        "research use. Ages of 90 years and more, names, dates, notes and serial numbers are left out.",
        "contributors": [{"title": f"pursuit kiosk {software}", "roles": ["software"]}],
        "resources": [_resource(part, table) for table in TABLES if contents.rows[table.name] or table.key],
    }


def _resource(part: Path, table: TableDescription) -> JsonObject:
    path = part / f"{table.name}.csv"
    return {
        "name": table.name.replace("_", "-"),
        "path": path.name,
        "title": table.meaning,
        "type": "table",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": path.stat().st_size,
        "hash": f"sha256:{_sha256(path)}",
        "schema": {
            "fields": [_field(column) for column in table.columns],
            "primaryKey": list(table.key),
            "missingValues": [""],
        },
    }


def _field(column: Column) -> JsonObject:
    rules: JsonObject = {"required": True} if column.required else {}
    if column.values:
        rules["enum"] = list(column.values)
    told = {"name": column.name, "type": column.type, "description": column.meaning}
    return told | ({"unit": column.unit} if column.unit else {}) | ({"constraints": rules} if rules else {})


def _dictionary_csv() -> str:
    lines = ["table,column,type,unit,values,required,source,meaning"]
    lines += [
        ",".join(
            (
                table.name,
                one.name,
                one.type,
                one.unit,
                " ".join(one.values),
                _text(one.required),
                one.source,
                f'"{one.meaning}"',
            )
        )
        for table in TABLES
        for one in table.columns
    ]
    return "\n".join(lines) + "\n"


def _dictionary_page() -> str:
    parts = ["# Data dictionary\n"]
    for table in TABLES:
        parts.append(
            f"\n## {table.name}\n\n{table.meaning}. A row is named by {', '.join(table.key)}.\n\n"
            "| column | meaning | type | unit | values | source |\n|---|---|---|---|---|---|\n"
        )
        parts += [
            f"| `{one.name}` | {one.meaning} | {one.type} | {one.unit} | {', '.join(one.values)} | "
            f"{one.source} |\n"
            for one in table.columns
        ]
    return "".join(parts)


def _readme(contents: Contents) -> str:
    lines = [
        "# Visits with the pursuit kiosk, de-identified",
        "",
        f"{contents.visits} visits of {contents.people} people who agreed to research use and did not take",
        "it back. Persons bear running codes; dates are days since the person's first visit here; ages have",
        f"{DECIMALS} decimals; people of {TOLD_TO_YEARS:.0f} years and more are left out; names,",
        "notes, places, serial numbers and moments of a clock are left out.",
        *_smallest_group(contents),
        "",
        "A person follows a moving disc with a fingertip. Millimetres on the panel, x to the right and y up",
        "from the field's centre; t_s = 0 when the disc sets off. Every column stands in data_dictionary.md;",
        "datapackage.json describes the tables for programs; manifest.json holds the SHA-256 of every file.",
        "",
        "The figures describe how people followed a disc on one day. They do not diagnose anything.",
    ]
    return "\n".join(lines) + "\n"


def _smallest_group(contents: Contents) -> list[str]:
    if contents.smallest_group is None:
        return []
    group, people = contents.smallest_group
    return [
        f"The smallest group of people alike in age band and sex is {group}: {people}. In a small group a",
        "person may be recognised by those who know them.",
    ]


def _manifest(part: Path, contents: Contents, software: str) -> JsonObject:
    files = sorted(path for path in part.iterdir() if path.name != "manifest.json")
    return {
        "format": FORMAT,
        "software": software,
        "visits": contents.visits,
        "people": contents.people,
        "versions": {name: sorted(found) for name, found in sorted(contents.versions.items())},
        "rows": contents.rows,
        "files": {path.name: {"bytes": path.stat().st_size, "sha256": _sha256(path)} for path in files},
    }


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
