"""A folder that is written whole or not at all, and JSON in its files."""

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from kiosk.base.errors import Refused

PART: Final = ".part"


@contextmanager
def new_folder(folder: Path) -> Iterator[Path]:
    """A folder beside the final name, renamed to it when all is written, removed where anything went wrong.

    Refused `exists_already` where the final name stands, `cannot_write` where something cannot be written.
    """
    if folder.exists():
        raise Refused("exists_already", {"file": folder.name})
    part = folder.with_name(folder.name + PART)
    try:
        shutil.rmtree(part, ignore_errors=True)
        part.mkdir(parents=True, mode=0o700)
        yield part
        part.rename(folder)
    except OSError as fault:
        raise Refused("cannot_write", {"file": folder.name, "why": fault.strerror or "no access"}) from fault
    finally:
        shutil.rmtree(part, ignore_errors=True)


def json_text(content: object) -> str:
    """Indented JSON, as people read it."""
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def write_json(path: Path, content: object) -> None:
    """A file of indented JSON."""
    path.write_text(json_text(content), "utf-8")
