"""Reference tables and what they say about a number: standing, profile, change, series, reliability.

A table and a number go in, a judgement or a refusal with its reason comes out. Each name below is loaded
when it is first asked for, so `import norms` loads nothing but this file; numpy comes with the first name
that needs it, scipy with the first comparison.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from norms.build.build import Built, build_table
    from norms.build.sample import Sample, read_sample
    from norms.build.template import Template, read_template, template
    from norms.judge.change import Change, change, classical_indices
    from norms.judge.comparability import Occasion
    from norms.judge.joint_rule import Limits, Study, joint_limits, minimal_detectable_change, sem
    from norms.judge.labels import (
        LABEL_EDGES_Z,
        LABEL_ROWS,
        LABELS,
        LOW_STANDARD_SCORE,
        PrintedPercentile,
        printed_bound,
    )
    from norms.judge.lookup import COMPARISON_VERSION, ByHand, Sitting, find_row, visits_bridged
    from norms.judge.measurement_error import MeasurementError, VisitInterval, measurement_error
    from norms.judge.profile import (
        ChangeProfile,
        Profile,
        ProfileDistance,
        change_profile,
        profile,
        profile_distance,
    )
    from norms.judge.series import Comparison, Series, Slope, series
    from norms.judge.single_case import howell_t, percentile_of, t_score, z_interval, z_star_of
    from norms.judge.standing import Neighbour, Standing, printed_percentile, standing
    from norms.table.age import Age, age_on, age_years
    from norms.table.folder import pack_folder, read_folder, read_zip, write_folder
    from norms.table.grade import GRADE_WORDS, grade
    from norms.table.reasons import REFUSALS, WARNINGS, Fault, Refusal, TableFaults, fault_sentence, sentence
    from norms.table.table import PRIMARY_MEASURES, Correlation, Measure, RetestRow, Row, Table
    from norms.worth.reliability import Reliability, reliability

__all__ = [
    "COMPARISON_VERSION", "GRADE_WORDS", "LABELS", "LABEL_EDGES_Z", "LABEL_ROWS", "LOW_STANDARD_SCORE",
    "PRIMARY_MEASURES", "REFUSALS", "WARNINGS", "Age", "Built", "ByHand", "Change", "ChangeProfile",
    "Comparison", "Correlation", "Fault", "Limits", "Measure", "MeasurementError", "Neighbour", "Occasion",
    "PrintedPercentile", "Profile", "ProfileDistance", "Refusal", "Reliability", "RetestRow", "Row",
    "Sample", "Series", "Sitting", "Slope", "Standing", "Study", "Table", "TableFaults", "Template",
    "VisitInterval", "age_on", "age_years", "build_table", "change", "change_profile", "classical_indices",
    "fault_sentence", "find_row", "grade", "howell_t", "joint_limits", "measurement_error",
    "minimal_detectable_change", "pack_folder", "percentile_of", "printed_bound", "printed_percentile",
    "profile", "profile_distance", "read_folder", "read_sample", "read_template", "read_zip", "reliability",
    "sem", "sentence", "series", "standing", "t_score", "template", "visits_bridged", "write_folder",
    "z_interval", "z_star_of",
]

_MODULES = {
    "norms.build.build": ("Built", "build_table"),
    "norms.build.sample": ("Sample", "read_sample"),
    "norms.build.template": ("Template", "read_template", "template"),
    "norms.judge.change": ("Change", "change", "classical_indices"),
    "norms.judge.comparability": ("Occasion",),
    "norms.judge.joint_rule": ("Limits", "Study", "joint_limits", "minimal_detectable_change", "sem"),
    "norms.judge.labels": (
        "LABEL_EDGES_Z", "LABEL_ROWS", "LABELS", "LOW_STANDARD_SCORE", "PrintedPercentile", "printed_bound",
    ),
    "norms.judge.lookup": ("COMPARISON_VERSION", "ByHand", "Sitting", "find_row", "visits_bridged"),
    "norms.judge.measurement_error": ("MeasurementError", "VisitInterval", "measurement_error"),
    "norms.judge.profile": (
        "ChangeProfile", "Profile", "ProfileDistance", "change_profile", "profile", "profile_distance",
    ),
    "norms.judge.series": ("Comparison", "Series", "Slope", "series"),
    "norms.judge.single_case": ("howell_t", "percentile_of", "t_score", "z_interval", "z_star_of"),
    "norms.judge.standing": ("Neighbour", "Standing", "printed_percentile", "standing"),
    "norms.table.age": ("Age", "age_on", "age_years"),
    "norms.table.folder": ("pack_folder", "read_folder", "read_zip", "write_folder"),
    "norms.table.grade": ("GRADE_WORDS", "grade"),
    "norms.table.reasons": (
        "REFUSALS", "WARNINGS", "Fault", "Refusal", "TableFaults", "fault_sentence", "sentence",
    ),
    "norms.table.table": ("PRIMARY_MEASURES", "Correlation", "Measure", "RetestRow", "Row", "Table"),
    "norms.worth.reliability": ("Reliability", "reliability"),
}
_MODULE_OF = {name: module for module, names in _MODULES.items() for name in names}


def __getattr__(name: str) -> object:
    """The name, from the module that holds it."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module norms has no attribute {name}")
    found: object = getattr(import_module(_MODULE_OF[name]), name)
    globals()[name] = found
    return found
