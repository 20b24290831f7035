"""A table made by a benchmark: printed, or with --write put between its two marks in the handbook."""

from collections.abc import Sequence
from pathlib import Path


def print_or_write(made: str, page: Path, begin: str, end: str, arguments: Sequence[str]) -> None:
    """`made` begins and ends with its marks, as it stands on the page."""
    if "--write" not in arguments:
        print(made)
        return
    text = page.read_text("utf-8")
    before, _, rest = text.partition(begin)
    page.write_text(before + made + rest.partition(end)[2], "utf-8")
