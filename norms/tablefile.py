"""Reference table folders, format 1: read with every fault listed, and written."""

from collections.abc import Mapping
from pathlib import Path

from norms.table import Table


def read_folder(folder: Path) -> Table:
    """Read a folder; raises TableFaults with all that is wrong."""
    raise NotImplementedError


def read_zip(data: bytes) -> Table:
    """Read a folder packed by `pack_folder`; raises TableFaults."""
    raise NotImplementedError


def pack_folder(folder: Path) -> bytes:
    """The folder's files as zip bytes, the same bytes for the same files."""
    raise NotImplementedError


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write the files of a folder, all or none."""
    raise NotImplementedError
