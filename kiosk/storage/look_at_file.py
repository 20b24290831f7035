"""A look at a store's file before its key is tried: whose it is, and whether it is whole.

The file begins with the salt of its keys; the rest looks like chance. Pages have 4096 bytes.
"""

from pathlib import Path
from typing import Final

from kiosk.base.errors import Refused
from kiosk.storage.keys import StoreKeys

PAGE_BYTES: Final = 4096
NEARLY_ALL: Final = 12   # of the 16 bytes of the salt: ours, but damaged
LOOKS_RANDOM: Final = 240  # different values among the first 4096 bytes; chance gives 256


def check_belongs(path: Path, keys: StoreKeys) -> None:
    """Refused: not_our_file, key_of_other_store, store_cut_short, store_damaged; a new file passes."""
    size = path.stat().st_size if path.exists() else 0
    if size == 0:
        return
    with path.open("rb") as file:
        first = file.read(PAGE_BYTES)
    same = sum(a == b for a, b in zip(first, keys.salt, strict=False))
    if same < NEARLY_ALL:
        looks_ours = size % PAGE_BYTES == 0 and len(set(first)) >= LOOKS_RANDOM
        raise Refused("key_of_other_store" if looks_ours else "not_our_file", {"file": path.name})
    if size % PAGE_BYTES:
        raise Refused("store_cut_short", {"file": path.name, "bytes": size})
    if same < len(keys.salt):
        raise Refused("store_damaged", {"file": path.name})
