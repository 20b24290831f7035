"""The columns of a table folder's files: one description that reads cells and writes Table Schema.

A cell that breaks its rule gives the rule as a sentence; empty text is a missing value (None).

Decision norms-9.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from norms.table.percentiles import COLUMNS
from norms.table.scale import LARGEST

Cell = str | int | float | None
LARGEST_L, LARGEST_Z, LEAST_SD_OF_Z = 20.0, 100.0, 0.01
LARGEST_N = 10_000_000  # people: more than any sample of movement holds
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,4})?", re.ASCII)
_INTEGER = re.compile(r"[+-]?\d{1,15}", re.ASCII)


@dataclass(frozen=True)
class Column:
    """One column: type string, integer or number, and what its cells must keep."""

    name: str
    type: str
    required: bool = True
    unique: bool = False
    enum: tuple[str, ...] = ()
    pattern: str = ""
    minimum: float | None = None
    maximum: float | None = None
    above: float | None = None
    below: float | None = None

    def schema(self) -> dict[str, object]:
        """Table Schema of the column."""
        stated = {"required": self.required, "unique": self.unique, "enum": list(self.enum),
                  "pattern": self.pattern and f"^{self.pattern}$"}
        bounds = {"minimum": self.minimum, "maximum": self.maximum, "exclusiveMinimum": self.above,
                  "exclusiveMaximum": self.below}
        constraints = {key: value for key, value in stated.items() if value}
        constraints |= {key: value for key, value in bounds.items() if value is not None}
        described: dict[str, object] = {"name": self.name, "type": self.type}
        return described | ({"constraints": constraints} if constraints else {})

    def read(self, text: str) -> tuple[Cell, str | None]:
        """The cell's value and None, or None and the rule it breaks."""
        if text == "":
            return None, ("must not be empty" if self.required else None)
        if self.type == "string":
            rule = self._rule_of_text(text)
            return (None, rule) if rule else (text, None)
        return self._read_number(text)

    def _rule_of_text(self, text: str) -> str | None:
        if _CONTROL.search(text):
            return "must hold no control character"
        if self.enum and text not in self.enum:
            return "must be one of " + ", ".join(self.enum)
        if self.pattern and re.fullmatch(self.pattern, text) is None:
            return f"must match {self.pattern}"
        return None

    def _read_number(self, text: str) -> tuple[Cell, str | None]:
        whole = self.type == "integer"
        if (_INTEGER if whole else _NUMBER).fullmatch(text) is None:
            return None, "must be a whole number" if whole else "must be a finite number"
        value = int(text) if whole else float(text)
        rule = None if isfinite(value) else "must be a finite number"
        rule = rule or self._rule_of_bounds(value)
        return (None, rule) if rule else (value, None)

    def _rule_of_bounds(self, value: float) -> str | None:
        if self.minimum is not None and value < self.minimum:
            return f"must be {self.minimum:g} or more"
        if self.maximum is not None and value > self.maximum:
            return f"must be {self.maximum:g} or less"
        if self.above is not None and value <= self.above:
            return f"must be above {self.above:g}"
        if self.below is not None and value >= self.below:
            return f"must be below {self.below:g}"
        return None


@dataclass(frozen=True)
class CsvFile:
    """One CSV file: its columns in order, those it may add at the end all together, its key."""

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    optional: tuple[Column, ...] = ()

    @property
    def resource(self) -> str:
        return self.name.removesuffix(".csv")

    def schema(self, with_optional: bool = False) -> dict[str, object]:
        columns = self.columns + (self.optional if with_optional else ())
        return {"fields": [column.schema() for column in columns], "primaryKey": list(self.key)}


SEX = ("any", "female", "male")
_MEASURE = r"[a-z]+\.(preferred|other|both)\.[a-z][a-z0-9_]*"
DEVICE_CLASS = "[A-Za-z0-9][A-Za-z0-9 ._-]*"

MEASURES = CsvFile("measures.csv", (
    Column("measure", "string", unique=True, pattern=_MEASURE),
    Column("unit", "string", enum=("mm", "%", "ms", "ratio", "log ratio", "Hz")),
    Column("better", "string", enum=("higher", "lower", "neither")),
    Column("scale", "string", enum=("identity", "log", "logit", "lms")),
    Column("decimals", "integer", minimum=0, maximum=4),
    Column("trial_sd", "number", required=False, minimum=0),
), ("measure",))

ROWS = CsvFile("table.csv", (
    Column("measure", "string"),
    Column("sex", "string", enum=SEX),
    Column("device_class", "string", pattern=DEVICE_CLASS),
    Column("age_from", "number", minimum=0),
    Column("age_to", "number", maximum=120),
    Column("n", "integer", minimum=2, maximum=LARGEST_N),
    Column("n_mean", "number", required=False, above=0),
    Column("df_sd", "number", required=False, minimum=1),
    Column("l", "number", required=False, minimum=-LARGEST_L, maximum=LARGEST_L),
    Column("mean", "number", minimum=-LARGEST, maximum=LARGEST),
    Column("sd", "number", above=0, maximum=LARGEST),
), ("measure", "sex", "device_class", "age_from"),
    tuple(Column(f"p{percent:02d}", "number", minimum=-LARGEST, maximum=LARGEST) for percent in COLUMNS))

RETEST = CsvFile("retest.csv", (
    Column("measure", "string"),
    Column("sex", "string", enum=SEX),
    Column("device_class", "string", pattern=DEVICE_CLASS),
    Column("n", "integer", minimum=4, maximum=LARGEST_N),
    Column("r", "number", above=-1, below=1),
    Column("mean_1", "number", minimum=-LARGEST_Z, maximum=LARGEST_Z),
    Column("sd_1", "number", minimum=LEAST_SD_OF_Z, maximum=LARGEST_Z),
    Column("mean_2", "number", minimum=-LARGEST_Z, maximum=LARGEST_Z),
    Column("sd_2", "number", minimum=LEAST_SD_OF_Z, maximum=LARGEST_Z),
    Column("days_min", "number", minimum=0),
    Column("days_median", "number", minimum=0),
    Column("days_max", "number", minimum=0, maximum=100_000),
    Column("earlier_visits", "integer", minimum=0),
), ("measure", "sex", "device_class", "earlier_visits"))

CORRELATIONS = CsvFile("correlations.csv", (
    Column("kind", "string", enum=("visit", "change")),
    Column("measure_1", "string"),
    Column("measure_2", "string"),
    Column("device_class", "string", pattern=DEVICE_CLASS),
    Column("n", "integer", minimum=4, maximum=LARGEST_N),
    Column("r", "number", minimum=-1, maximum=1),
), ("kind", "measure_1", "measure_2", "device_class"))

CSV_FILES: Mapping[str, CsvFile] = {one.name: one for one in (MEASURES, ROWS, RETEST, CORRELATIONS)}
REQUIRED_FILES = ("measures.csv", "table.csv")
PACKAGE = "datapackage.json"
