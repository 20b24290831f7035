"""Copies of the store as the site lead sees them."""

from dataclasses import dataclass
from datetime import datetime

from norms import Refusal


@dataclass(frozen=True)
class Backups:
    """newest: when the last good copy was made, local time; kept: how many there are, in this folder.

    running: one is being made. trouble: why the last one was not made, and when it was tried.
    """

    newest: datetime | None = None
    kept: int = 0
    folder: str = ""
    running: bool = False
    trouble: Refusal | None = None
    tried: datetime | None = None
