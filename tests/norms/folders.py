"""Folders that the tests of norms read: an example table, open data, the demo table."""

from pathlib import Path

from tests.sources import ROOT

EXAMPLE = Path(__file__).parent / "example_table"
OPEN_DATA = Path(__file__).parent / "open_data"
DEMO_NORMS = ROOT / "demo_norms"
