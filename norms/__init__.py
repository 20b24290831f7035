"""Reference tables and what they say about a number: standing, profile, change. Usable alone.

A table and a number go in, a judgement or a refusal with its reason comes out. Only numpy is loaded with
this package; scipy is loaded by the first comparison, the reader of folders by the first folder.
"""

from typing import TYPE_CHECKING

from norms.age import Age, age_on, age_years
from norms.change import Change, Occasion, change
from norms.labels import LABELS, PrintedPercentile, printed_bound
from norms.lookup import COMPARISON_VERSION, ByHand, Sitting, find_row
from norms.profile import ChangeProfile, Profile, change_profile, profile
from norms.reasons import REFUSALS, WARNINGS, Fault, Refusal, TableFaults, fault_sentence, sentence
from norms.standing import Neighbour, Standing, printed_percentile, standing
from norms.table import PRIMARY_MEASURES, Correlation, Measure, RetestRow, Row, Table

if TYPE_CHECKING:
    from norms.tablefile import pack_folder, read_folder, read_zip, write_folder

__all__ = [
    "COMPARISON_VERSION", "LABELS", "PRIMARY_MEASURES", "REFUSALS", "WARNINGS", "Age", "ByHand", "Change",
    "ChangeProfile", "Correlation", "Fault", "Measure", "Neighbour", "Occasion", "PrintedPercentile",
    "Profile", "Refusal", "RetestRow", "Row", "Sitting", "Standing", "Table", "TableFaults", "age_on",
    "age_years", "change", "change_profile", "fault_sentence", "find_row", "pack_folder",
    "printed_bound", "printed_percentile", "profile", "read_folder", "read_zip", "sentence", "standing",
    "write_folder",
]


def __getattr__(name: str) -> object:
    """Reading and writing of folders is loaded when it is first asked for."""
    if name in ("pack_folder", "read_folder", "read_zip", "write_folder"):
        from norms import tablefile
        return getattr(tablefile, name)
    raise AttributeError(f"module norms has no attribute {name}")
