"""Script -> font file: the static fonts that come with the program, one file for each weight.

The toolkit cannot choose a weight inside a variable font, and the page's writer merges weights that bear one
name, so each weight is a file of its own with its own name. The files, their licences and where they come
from lie in font_files/; developers make them anew with ``python -m tests.cut_fonts``.

The Chinese font holds the characters of GB 2312 (6763 Chinese ones), Latin letters and signs.

Decision languages-1.
"""

from functools import cache
from pathlib import Path

from kiosk.base.errors import Refused

WEIGHTS = (400, 500, 600)
PAGE_WEIGHTS = (400, 600)
WIDTHS = {"": 100, "-narrow": 75, "-narrowest": 62.5}  # in % of the usual; for a page that has much to say
FONT_FILES = Path(__file__).with_name("font_files")
_FAMILIES = {
    "latin": "noto-sans",
    "arabic": "noto-sans-arabic",
    "devanagari": "noto-sans-devanagari",
    "chinese": "noto-sans-sc",
}
SCRIPTS = tuple(_FAMILIES)
DEEP_SCRIPTS = ("arabic", "devanagari")  # their letters reach further down: lines stand further apart
NARROWED = tuple(script for script in SCRIPTS if script != "chinese")


def font_file(script: str, weight: int, folder: Path = FONT_FILES) -> Path:
    """The static font of a script ("latin", "latin-narrow") and weight."""
    path = folder / font_name(script, weight)
    if not path.is_file():
        raise Refused("font_missing", {"script": script, "weight": weight, "file": path.name})
    return path


def font_name(script: str, weight: int) -> str:
    """The name of a font's file; the narrow ones are for the page alone and have its two weights.

    >>> font_name("latin-narrow", 600)
    'noto-sans-narrow-600.ttf'
    """
    plain, _, narrow = script.partition("-")
    if plain not in SCRIPTS or (narrow and (plain not in NARROWED or f"-{narrow}" not in WIDTHS)):
        raise Refused("script_unknown", {"script": script, "known": SCRIPTS})
    weights = PAGE_WEIGHTS if narrow else WEIGHTS
    if weight not in weights:
        raise Refused("weight_unknown", {"weight": weight, "known": weights})
    return f"{_FAMILIES[plain]}{script.removeprefix(plain)}-{weight}.ttf"


@cache
def characters(script: str) -> frozenset[str]:
    """Every character that the font of a script can draw; the same in all its weights."""
    from uharfbuzz import Blob, Face

    face = Face(Blob.from_file_path(str(font_file(script, WEIGHTS[0]))))
    return frozenset(map(chr, face.unicodes))
