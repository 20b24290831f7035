"""What every signed statement in datapackage.json has in common: roles, its text fields, and its own hash.

The hash shows that a statement was changed; it is no proof of who wrote it.
"""

import json
from collections.abc import Mapping
from hashlib import sha256

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
