"""`kiosk norms ...` is norms' own command line; a built table also gets its sheet as a page."""

from collections.abc import Sequence
from pathlib import Path

from kiosk.i18n.language import load_language
from norms.__main__ import main
from norms.build.provenance import ProvenanceSheet


def run(arguments: Sequence[str]) -> int:
    """Run it; the exit code."""
    return main(arguments, on_sheet=draw_sheet)


def draw_sheet(sheet: ProvenanceSheet, folder: Path) -> None:
    """sheet.pdf beside the other checks of a table."""
    from kiosk.report.provenance import provenance_pdf

    (folder / "sheet.pdf").write_bytes(provenance_pdf(sheet, load_language("en")))
