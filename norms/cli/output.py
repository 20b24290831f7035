"""What every command prints and writes: an answer as lines or JSON, sentences on standard error, pictures.

JSON is one object, unrounded: the fields of the answer, or {"refused": CODE, "values": {...}}; a number that
is not finite is null.
"""

import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import asdict
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

from norms.table.reasons import Refusal, sentence

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

REFUSED = 1


def complain(text: str, code: int = REFUSED) -> int:
    """Print one sentence on standard error; returns the exit code."""
    print(text if text.endswith(".") else text + ".", file=sys.stderr)
    return code


def print_answer(found: "DataclassInstance", lines: Callable[[], list[str]], in_json: bool,
                 more: Mapping[str, object] | None = None) -> int:
    """Print an answer as lines, or as JSON with `more` properties; a refusal also as a sentence (code 1)."""
    refused = isinstance(found, Refusal)
    if in_json:
        added = {} if refused else more or {}
        print(json.dumps({**as_json(found), **added}, ensure_ascii=False, allow_nan=False))
    if isinstance(found, Refusal):
        return complain(sentence(found))
    if not in_json:
        print("\n".join(lines()))
    return 0


def as_json(found: "DataclassInstance") -> dict[str, object]:
    """The fields of a dataclass as JSON values."""
    if isinstance(found, Refusal):
        return {"refused": found.code, "values": dict(found.values)}
    return {key: _finite(value) for key, value in asdict(found).items()}


def write_pictures(pictures: Mapping[Path, str]) -> None:
    """Write SVG texts, with the folders they need."""
    for path, picture in pictures.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(picture, "utf-8")


def _finite(value: object) -> object:
    if isinstance(value, float) and not isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _finite(one) for key, one in value.items()}
    return [_finite(one) for one in value] if isinstance(value, (tuple, list)) else value
