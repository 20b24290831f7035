"""What signed statements in datapackage.json have in common: how they are read, who signs, their own hash.

Its hash shows that a statement was changed; it is no proof of who wrote it.
"""

import json
from collections.abc import Callable, Mapping
from datetime import date
from hashlib import sha256

from norms.table.datapackage import INPUTS
from norms.table.reasons import Fault

ROLES = ("site_lead", "researcher")


def digest(plain: Mapping[str, object]) -> str:
    """The hash of a statement's fields, without the hash itself."""
    fields = {key: value for key, value in plain.items() if key != "sha256"}
    text = json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return "sha256:" + sha256(text.encode()).hexdigest()


def with_digest(plain: Mapping[str, object]) -> dict[str, object]:
    """A statement's fields with their hash, as they stand in datapackage.json."""
    return {**plain, "sha256": digest(plain)}


def text_of(said: object) -> str:
    """A text that must not be empty; raises TypeError."""
    if not isinstance(said, str) or not said:
        raise TypeError("a text is missing")
    return said


def listed(reference: Mapping[str, object], key: str) -> list[object]:
    """The statements under a key of `reference_table`, as they stand there; none where it is no list."""
    found = reference.get(key)
    return found if isinstance(found, list) else []


def faults_of(
    reference: Mapping[str, object], key: str, broken: Callable[[object], list[str]]
) -> list[Fault]:
    """What is wrong with the statements under a key; `broken` names the rules that one of them breaks."""
    return [
        Fault("datapackage.json", None, f"reference_table.{key} {number}", rule)
        for number, said in enumerate(listed(reference, key), start=1)
        for rule in broken(said)
    ]


def seal_rules(said: object, of: Mapping[str, str], hashes: Mapping[str, str]) -> dict[str, bool]:
    """Two rules and whether a statement breaks them: its own hash, and those of the files it speaks of."""
    return {
        "sha256 must be that of the statement":
            not isinstance(said, dict) or said.get("sha256") != digest(said),
        "must be of the table's files as they are": dict(of) != dict(hashes),
    }


def check_signer(role: object, pointed_with: object, on: str) -> None:
    """Whether role, input and date of a statement are known ones; raises TypeError or ValueError."""
    for key, value, known in (("role", role, ROLES), ("input", pointed_with, INPUTS)):
        if value not in known:
            raise ValueError(f"{key}, must be one of {', '.join(known)}")
    date.fromisoformat(on)
