"""datapackage.json of a table folder: what it must say, read with every fault listed, and written.

A Data Package 2.0 descriptor with one property more, `reference_table`, format 1. Hash and bytes of every
file are over the file as it stands on the disk.
"""

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from datetime import date

from norms.table.csv_reading import decode
from norms.table.reasons import Fault
from norms.table.schema import CSV_FILES, PACKAGE, REQUIRED_FILES
from norms.table.table import STATED_OF_RETEST

FORMAT = 1
STATUSES = ("synthetic", "local", "published")
AGE_METHODS = ("bands", "smoothed_bands", "continuous")
INPUTS = ("finger", "stylus", "mouse")
MOST = 10**9  # of any number that is said: further ones belong to no table, and overflow
_VERSION = re.compile(r"\d+\.\d+\.\d+([-+][0-9A-Za-z.+-]+)?", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)

Rule = tuple[str, Callable[[object], bool]]


def _is_text(value: object) -> bool:
    return isinstance(value, str) and value.strip() != "" and not any(c < " " or c == "\x7f" for c in value)


def is_number(value: object) -> bool:
    """A number as JSON has it, within MOST of 0: neither true, false, infinite, NaN nor of no use."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) <= MOST


def is_count(value: object) -> bool:
    """A whole number of 1 or more."""
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value < MOST


def _is_date(value: object) -> bool:
    try:
        return isinstance(value, str) and bool(_DAY.fullmatch(value)) and bool(date.fromisoformat(value))
    except ValueError:
        return False


def _is_window(value: object) -> bool:
    return isinstance(value, dict) and all(
        isinstance(length, (int, float)) and not isinstance(length, bool) and 0 < length < 3600
        for length in value.values())


def _is_use(value: object) -> bool:
    return isinstance(value, dict) and all(use in ("scale", "percentiles") for use in value.values())


def _is_texts(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(part, str) for part in value)


def _one_of(*known: str) -> Rule:
    return "must be one of " + ", ".join(known), lambda value: value in known


_TEXT: Rule = ("must be text without control characters", _is_text)
_COUNT: Rule = ("must be a whole number of 1 or more", is_count)
_DATE: Rule = ("must be a date YYYY-MM-DD", _is_date)

PACKAGE_RULES: Mapping[str, Rule] = {
    "name": _TEXT, "id": _TEXT, "title": _TEXT, "created": _TEXT,
    "version": ("must be a version such as 1.0.0",
                lambda value: isinstance(value, str) and _VERSION.fullmatch(value) is not None),
    "licenses": ("must be a list", lambda value: isinstance(value, list)),
    "sources": ("must be a list", lambda value: isinstance(value, list)),
    "contributors": ("must be a list", lambda value: isinstance(value, list)),
    "resources": ("must be a list", lambda value: isinstance(value, list)),
    "reference_table": ("must be an object", lambda value: isinstance(value, dict)),
}
REFERENCE_RULES: Mapping[str, Rule] = {
    "format": (f"must be {FORMAT}", lambda value: value == FORMAT and not isinstance(value, bool)),
    "status": _one_of(*STATUSES), "battery": _TEXT, "battery_version": _COUNT, "scoring_version": _COUNT,
    "comparison_version": _COUNT, "window_s": ("must give seconds above 0 for each block", _is_window),
    "input": _one_of(*INPUTS), "population": _TEXT, "country": _TEXT, "setting": _TEXT, "sampling": _TEXT,
    "exclusions": _TEXT, "tested_from": _DATE, "tested_to": _DATE,
    "expires": ("must be a date YYYY-MM-DD or null", lambda value: value is None or _is_date(value)),
    "languages": ("must be a list of language tags", _is_texts), "age_method": _one_of(*AGE_METHODS),
    "floor_n": _COUNT, "warn_n": _COUNT, "stakes": _one_of("low", "high"),
    "measures_use": ("must give scale or percentiles for each measure", _is_use),
}


STATED_OR_NOT: Mapping[str, Rule] = {
    "retest_design": (f"must be an object with texts {', '.join(STATED_OF_RETEST)}",
                      lambda value: isinstance(value, dict) and value.keys() <= set(STATED_OF_RETEST)
                      and all(map(_is_text, value.values()))),
    "whole_n": ("must be a whole number of 1 or more, or null",
                lambda value: value is None or is_count(value)),
    "verified": ("must be a list", lambda value: isinstance(value, list)),
    "carried_over": ("must be a list", lambda value: isinstance(value, list)),
    "calibration": ("must be an object or null", lambda value: value is None or isinstance(value, dict)),
}


def read_package(data: bytes, faults: list[Fault]) -> dict[str, object] | None:
    """The descriptor, or None where it cannot be read or misses what is needed."""
    text = decode(PACKAGE, data, faults)
    if text is None:
        return None
    try:
        package = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        faults.append(Fault(PACKAGE, None, None, f"must be JSON ({error})"))
        return None
    if not isinstance(package, dict):
        faults.append(Fault(PACKAGE, None, None, "must be a JSON object"))
        return None
    wrong = _broken(package, PACKAGE_RULES, "")
    if isinstance(package.get("reference_table"), dict):
        said = package["reference_table"]
        more = {key: rule for key, rule in STATED_OR_NOT.items() if key in said}
        wrong += _broken(said, {**REFERENCE_RULES, **more}, "reference_table.")
    faults.extend(wrong)
    return None if wrong else package


def file_faults(package: Mapping[str, object], files: Mapping[str, bytes]) -> list[Fault]:
    """Files that are missing, not described, or not the bytes that were described."""
    listed = package["resources"]
    resources = [one for one in listed if isinstance(one, dict)] if isinstance(listed, list) else []
    described = {str(one.get("path")): one for one in resources}
    faults = [Fault(PACKAGE, None, "resources", "must describe the file", name) for name in CSV_FILES
              if name not in described and (name in files or name in REQUIRED_FILES)]
    faults += [Fault(PACKAGE, None, "resources", "must be a file of format 1", name)
               for name in described if name not in CSV_FILES]
    for name in CSV_FILES.keys() & described.keys():
        faults += _bytes_faults(name, described[name], files.get(name))
    return faults


def hash_of(data: bytes) -> str:
    return "sha256:" + hashlib.sha256(data).hexdigest()


def write_package(about: Mapping[str, object], files: Mapping[str, bytes]) -> bytes:
    """The descriptor of files as bytes; `about` holds everything but the resources."""
    resources = [_resource(name, files[name]) for name in CSV_FILES if name in files]
    package = {"$schema": "https://datapackage.org/profiles/2.0/datapackage.json", **about,
               "resources": resources}
    return (json.dumps(package, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def with_reference(data: bytes, key: str, value: object) -> bytes:
    """A descriptor with one property of its `reference_table` set anew.

    Raises KeyError, TypeError or ValueError where the bytes hold no such object.
    """
    package = json.loads(data.decode("utf-8-sig"))
    package["reference_table"][key] = value
    return (json.dumps(package, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _resource(name: str, data: bytes) -> dict[str, object]:
    described = CSV_FILES[name]
    header = data.split(b"\n", 1)[0].decode()
    extra = bool(described.optional) and header.endswith(described.optional[-1].name)
    return {"name": described.resource, "path": name, "type": "table", "format": "csv",
            "mediatype": "text/csv", "encoding": "utf-8",
            "dialect": {"delimiter": ",", "lineTerminator": "\n"},
            "hash": hash_of(data), "bytes": len(data), "schema": described.schema(extra)}


def _bytes_faults(name: str, resource: Mapping[str, object], data: bytes | None) -> list[Fault]:
    if data is None:
        return [Fault(name, None, None, "file is missing")]
    faults = []
    if resource.get("hash") != hash_of(data):
        faults.append(Fault(name, None, None, "sha256 must be the one in datapackage.json", hash_of(data)))
    if resource.get("bytes") != len(data):
        faults.append(Fault(name, None, None, "number of bytes must be the one in datapackage.json",
                            len(data)))
    return faults


def _broken(said: Mapping[str, object], rules: Mapping[str, Rule], prefix: str) -> list[Fault]:
    return [Fault(PACKAGE, None, prefix + key, rule, said.get(key, "nothing"))
            for key, (rule, holds) in rules.items() if key not in said or not holds(said[key])]


def _refuse_constant(constant: str) -> object:
    raise ValueError(f"{constant} is not a JSON number")
