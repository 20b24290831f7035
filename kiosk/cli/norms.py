"""`kiosk norms ...` is norms' own command line; a built table also gets its sheet as a page."""

import argparse
from pathlib import Path

from kiosk.i18n.language import Language, load_language
from norms.__main__ import main
from norms.build.provenance import ProvenanceSheet


def norms(chosen: argparse.Namespace, language: Language) -> int:
    """All that follows `norms`, as norms reads it."""
    return main(chosen.rest, on_sheet=draw_sheet)


def draw_sheet(sheet: ProvenanceSheet, folder: Path) -> None:
    """sheet.pdf beside the other checks of a table."""
    from kiosk.report.provenance import provenance_pdf

    (folder / "sheet.pdf").write_bytes(provenance_pdf(sheet, load_language("en")))
