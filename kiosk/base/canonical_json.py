"""Canonical JSON: the one text form of structured content, so that equal content has equal bytes."""

import json
from typing import Any

JsonObject = dict[str, Any]
"""An object of JSON as it was read: its values are checked where they are used."""


def canonical_json(content: object) -> str:
    """UTF-8 text with sorted keys and no spaces; ValueError where it holds NaN or an infinity.

    >>> canonical_json({"b": [1, 2.0], "a": None})
    '{"a":null,"b":[1,2.0]}'
    """
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
