"""Every error the kiosk raises on purpose.

    KioskError
    ├── Refused(code, values)          exit 1   the request is understood and refused with a reason
    │   └── FaultyFile(faults)         exit 1   a file is wrong; all its faults at once
    ├── WrongUsage(code, values)       exit 2   the request itself is wrong (unknown block, trial 99)
    └── MissingSystemPackages(names)   exit 3   the operating system lacks packages

A code is a short word in snake_case, its values are the facts of the case; the sentence in the
reader's language is made later, by kiosk.wording. No error carries a person's name.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import ClassVar


class KioskError(Exception):
    """A reason code with the values that belong to it."""

    exit_code: ClassVar[int] = 1

    def __init__(self, code: str, values: Mapping[str, object] = MappingProxyType({})) -> None:
        super().__init__(code)
        self.code = code
        self.values = MappingProxyType(dict(values))

    def __str__(self) -> str:
        listed = ", ".join(f"{name}={value!r}" for name, value in self.values.items())
        return f"{self.code} ({listed})" if listed else self.code


class Refused(KioskError):
    """Understood, and refused with a reason rather than guessed."""


class WrongUsage(KioskError):
    """The command or its arguments do not exist or do not fit together."""

    exit_code = 2


class MissingSystemPackages(KioskError):
    """Packages of the operating system that must be installed first."""

    exit_code = 3

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__("system_packages_missing", {"names": tuple(names)})


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with one file: the rule it breaks and the value found there.

    `row` counts lines of the file from 1 (a table's header is row 1); row, column and value are None
    where the fault belongs to the file as a whole. `rule` is a code such as "must_be_finite".
    """

    file: str
    row: int | None
    column: str | None
    rule: str
    value: str | None = None


class FaultyFile(Refused):
    """A file that cannot be read as what it should be, with every fault found in it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        if not faults:
            raise ValueError("faults: at least one is needed, got none")
        self.faults = tuple(faults)
        super().__init__("file_is_faulty", {"file": Path(faults[0].file).name, "count": len(faults)})

    def __str__(self) -> str:
        return "; ".join(_place(fault) for fault in self.faults)


def _place(fault: Fault) -> str:
    row = "" if fault.row is None else f" row {fault.row}"
    column = "" if fault.column is None else f" {fault.column}"
    value = "" if fault.value is None else f" (value {fault.value})"
    return f"{fault.file}{row}{column}: {fault.rule}{value}"
