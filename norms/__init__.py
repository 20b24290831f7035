"""Reference tables and what they say about a number: standing, profile, change, series, reliability.

A table and a number go in, a judgement or a refusal with its reason comes out. Each name below is loaded
when it is first asked for, so `import norms` loads nothing but this file; numpy comes with the first name
that needs it, scipy with the first comparison.
"""

import sys
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from norms.age import Age, age_on, age_years
    from norms.carried import visits_bridged
    from norms.change import Change, Occasion, change, classical_indices
    from norms.distance import ProfileDistance, profile_distance
    from norms.grade import GRADE_WORDS, grade
    from norms.labels import LABELS, PrintedPercentile, printed_bound
    from norms.lookup import COMPARISON_VERSION, ByHand, Sitting, find_row
    from norms.profile import ChangeProfile, Profile, change_profile, profile
    from norms.reasons import REFUSALS, WARNINGS, Fault, Refusal, TableFaults, fault_sentence, sentence
    from norms.reliability import Reliability, reliability
    from norms.series import Comparison, Series, Slope, series
    from norms.standing import Neighbour, Standing, printed_percentile, standing
    from norms.table import PRIMARY_MEASURES, Correlation, Measure, RetestRow, Row, Table
    from norms.tablefile import pack_folder, read_folder, read_zip, write_folder

__all__ = [
    "COMPARISON_VERSION", "GRADE_WORDS", "LABELS", "PRIMARY_MEASURES", "REFUSALS", "WARNINGS", "Age",
    "ByHand", "Change", "ChangeProfile", "Comparison", "Correlation", "Fault", "Measure", "Neighbour",
    "Occasion", "PrintedPercentile", "Profile", "ProfileDistance", "Refusal", "Reliability", "RetestRow",
    "Row", "Series", "Sitting", "Slope", "Standing", "Table", "TableFaults", "age_on", "age_years",
    "change", "change_profile", "classical_indices", "fault_sentence", "find_row", "grade", "pack_folder",
    "printed_bound",
    "printed_percentile", "profile", "profile_distance", "read_folder", "read_zip", "reliability", "sentence",
    "series", "standing", "visits_bridged", "write_folder",
]

_ROOMS = {
    "age": ("Age", "age_on", "age_years"),
    "carried": ("visits_bridged",),
    "change": ("Change", "Occasion", "change", "classical_indices"),
    "distance": ("ProfileDistance", "profile_distance"),
    "grade": ("GRADE_WORDS", "grade"),
    "labels": ("LABELS", "PrintedPercentile", "printed_bound"),
    "lookup": ("COMPARISON_VERSION", "ByHand", "Sitting", "find_row"),
    "profile": ("ChangeProfile", "Profile", "change_profile", "profile"),
    "reasons": ("REFUSALS", "WARNINGS", "Fault", "Refusal", "TableFaults", "fault_sentence", "sentence"),
    "reliability": ("Reliability", "reliability"),
    "series": ("Comparison", "Series", "Slope", "series"),
    "standing": ("Neighbour", "Standing", "printed_percentile", "standing"),
    "table": ("PRIMARY_MEASURES", "Correlation", "Measure", "RetestRow", "Row", "Table"),
    "tablefile": ("pack_folder", "read_folder", "read_zip", "write_folder"),
}
_ROOM_OF = {name: room for room, names in _ROOMS.items() for name in names}


class _Package(ModuleType):
    """A function of the package keeps its name though the module that holds it is called the same."""

    def __setattr__(self, name: str, value: object) -> None:
        if not (isinstance(value, ModuleType) and name in _ROOM_OF):
            super().__setattr__(name, value)


def __getattr__(name: str) -> object:
    """The name, from the module that holds it."""
    if name not in _ROOM_OF:
        raise AttributeError(f"module norms has no attribute {name}")
    found: object = getattr(_room(_ROOM_OF[name]), name)
    globals()[name] = found
    return found


def _room(room: str) -> ModuleType:
    if room == "age":
        from norms.age import __name__ as module
    elif room == "carried":
        from norms.carried import __name__ as module
    elif room == "change":
        from norms.change import __name__ as module
    elif room == "distance":
        from norms.distance import __name__ as module
    elif room == "grade":
        from norms.grade import __name__ as module
    elif room == "labels":
        from norms.labels import __name__ as module
    elif room == "lookup":
        from norms.lookup import __name__ as module
    elif room == "profile":
        from norms.profile import __name__ as module
    elif room == "reasons":
        from norms.reasons import __name__ as module
    elif room == "reliability":
        from norms.reliability import __name__ as module
    elif room == "series":
        from norms.series import __name__ as module
    elif room == "standing":
        from norms.standing import __name__ as module
    elif room == "table":
        from norms.table import __name__ as module
    elif room == "tablefile":
        from norms.tablefile import __name__ as module
    return sys.modules[module]


sys.modules[__name__].__class__ = _Package
