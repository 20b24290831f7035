"""What a table says about itself beyond its sample, from a small JSON file with a default for everything.

Keys, all optional: those of a Data Package (name, id, title, description, version, created, licenses,
sources, contributors), `reference_table` with any of its properties, `method` (continuous, smoothed_bands,
bands), `bands` (edges of the age bands in years, rising), `lms` and `sex_rows` (auto or never) and `scores`
{score: [unit, better, scale, decimals]} for scores not known here, each with its lowest and highest possible
value after that where its unit alone does not tell. `QUESTIONS` is what a clinic is asked.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from norms.judge.lookup import COMPARISON_VERSION
from norms.table.csv_reading import decode
from norms.table.datapackage import AGE_METHODS, FORMAT, is_count, is_number
from norms.table.reasons import Fault, TableFaults
from norms.table.scale import LARGEST
from norms.table.table import NOT_STATED, STATED_OF_RETEST, Measure

DEFAULT_METHOD = "continuous"
AUTO = ("auto", "never")
DEFAULT_BANDS = (18.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 91.0)
Score = tuple[str, str, str, int]
SCORES: Mapping[str, Score] = {
    "scatter": ("mm", "lower", "log", 1), "along_sd": ("mm", "lower", "log", 1),
    "across_sd": ("mm", "lower", "log", 1), "error_rms": ("mm", "lower", "log", 1),
    "lag": ("ms", "lower", "identity", 0), "delay": ("ms", "lower", "identity", 0),
    "prediction": ("ms", "higher", "identity", 0), "time_on_target": ("%", "higher", "logit", 0),
    "follow": ("%", "higher", "logit", 0),
}
Domain = tuple[float, float]
# Lowest and highest possible value. mm: the longer side of the battery's field, and for error_rms the
# distance at which each instant is cut; ms: half a turn of the slowest circle, for prediction twice that.
DOMAINS: Mapping[str, Domain] = {
    "error_rms": (0.0, 40.0), "lag": (-4_000.0, 4_000.0), "delay": (-4_000.0, 4_000.0),
    "prediction": (-8_000.0, 8_000.0),
}
DOMAIN_OF_UNIT: Mapping[str, Domain] = {
    "mm": (-150.0, 150.0), "%": (0.0, 100.0), "ms": (-20_000.0, 20_000.0), "Hz": (0.0, 120.0),
    "ratio": (0.0, 1_000.0), "log ratio": (-10.0, 10.0),
}
WINDOW_S = {"steady": 16, "brisk": 16, "wander": 20}
QUESTIONS: Mapping[str, object] = {
    "name": "our-clinic-1", "title": "Reference table of our clinic", "version": "1.0.0",
    "contributors": [{"title": "who made it", "roles": ["author"]}],
    "reference_table": {
        "population": NOT_STATED, "country": NOT_STATED, "setting": NOT_STATED, "sampling": NOT_STATED,
        "exclusions": NOT_STATED, "tested_from": "YYYY-MM-DD", "tested_to": "YYYY-MM-DD", "expires": None,
        "languages": ["en"], "stakes": "low",
        "retest_design": dict.fromkeys(STATED_OF_RETEST, NOT_STATED)},
}
_PACKAGE = ("name", "id", "title", "description", "version", "created", "licenses", "sources", "contributors")


@dataclass(frozen=True)
class Template:
    """`package` and `reference` go into the descriptor; `scores` says what a score is."""

    package: Mapping[str, object]
    reference: Mapping[str, object]
    bands: Sequence[float]
    scores: Mapping[str, Score]
    method: str = DEFAULT_METHOD
    lms: bool = True
    sex_rows: bool = True
    domains: Mapping[str, Domain] = field(default_factory=dict)

    def domain_of(self, measure: Measure) -> Domain:
        """Lowest and highest value that a measure can have, in its unit."""
        known = {**DOMAINS, **self.domains}
        return known.get(measure.score) or DOMAIN_OF_UNIT.get(measure.unit, (-LARGEST, LARGEST))

    @property
    def window_s(self) -> Mapping[str, float]:
        """Length of each block's window in s, as far as the template gives it."""
        said = self.reference["window_s"]
        given = said.items() if isinstance(said, dict) else ()
        return {block: length for block, length in given if is_number(length) and length > 0}

    @property
    def floor_n(self) -> int:
        return int(str(self.reference["floor_n"]))

    @property
    def warn_n(self) -> int:
        return int(str(self.reference["warn_n"]))


def template(said: Mapping[str, object], created: str) -> Template:
    """A template with every default filled in; `created` is an instant YYYY-MM-DDTHH:MM:SSZ."""
    faults: list[Fault] = []
    known = (*_PACKAGE, "reference_table", "bands", "scores", "method", "lms", "sex_rows")
    faults += [Fault("template", None, key, "is not known") for key in said if key not in known]
    bands, (scores, domains) = _bands(said.get("bands"), faults), _scores(said.get("scores"), faults)
    method = _one_of(said, "method", AGE_METHODS, DEFAULT_METHOD, faults)
    lms, sex_rows = (_one_of(said, key, AUTO, AUTO[0], faults) == AUTO[0] for key in ("lms", "sex_rows"))
    reference = said.get("reference_table", {})
    if not isinstance(reference, dict):
        faults.append(Fault("template", None, "reference_table", "must be an object", reference))
    else:
        faults += [Fault("template", None, f"reference_table.{key}", "must be a whole number of 1 or more",
                         reference[key]) for key in ("floor_n", "warn_n")
                   if key in reference and not is_count(reference[key])]
    if faults:
        raise TableFaults(faults)
    package = _package_defaults(said, created) | {key: said[key] for key in _PACKAGE if key in said}
    day = str(package["created"])[:10]
    about = {**_reference_defaults(day), **dict(reference), "age_method": method}  # type: ignore[call-overload]
    return Template(package, about, bands, scores, method, lms, sex_rows, domains)


def read_template(data: bytes) -> dict[str, object]:
    """The JSON object of a template file."""
    faults: list[Fault] = []
    text = decode("template", data, faults)
    said: object = None
    try:
        said = json.loads(text) if text is not None else None
    except (ValueError, RecursionError) as error:
        faults.append(Fault("template", None, None, f"must be JSON ({error})"))
    if not faults and not isinstance(said, dict):
        faults.append(Fault("template", None, None, "must be a JSON object"))
    if faults or not isinstance(said, dict):
        raise TableFaults(faults)
    return said


def _package_defaults(said: Mapping[str, object], created: str) -> dict[str, object]:
    name = said.get("name", "reference-table")
    return {"name": name, "id": str(name), "title": f"Reference table {name}", "version": "1.0.0",
            "created": created, "licenses": [{"name": "CC0-1.0", "title": "CC0 1.0"}],
            "sources": [{"title": "sample file"}], "contributors": [{"title": "not named"}]}


def _reference_defaults(day: str) -> dict[str, object]:
    return {"format": FORMAT, "status": "local", "comparison_version": COMPARISON_VERSION,
            "window_s": WINDOW_S, "population": NOT_STATED, "country": NOT_STATED,
            "setting": NOT_STATED, "sampling": NOT_STATED, "exclusions": NOT_STATED,
            "tested_from": day, "tested_to": day, "expires": None, "languages": ["en"],
            "whole_n": None, "floor_n": 30, "warn_n": 50, "stakes": "low",
            "measures_use": {}, "calibration": None, "carried_over": []}


def _one_of(said: Mapping[str, object], key: str, known: Sequence[str], default: str,
            faults: list[Fault]) -> str:
    value = said.get(key, default)
    if value not in known:
        faults.append(Fault("template", None, key, "must be one of " + ", ".join(known), value))
    return str(value)


def _bands(said: object, faults: list[Fault]) -> tuple[float, ...]:
    if said is None:
        return DEFAULT_BANDS
    edges = said if isinstance(said, (list, tuple)) else []
    plain = all(isinstance(edge, (int, float)) and not isinstance(edge, bool) and 0 <= edge <= 120
                for edge in edges)
    if len(edges) < 2 or not plain or any(low >= high for low, high in pairwise(edges)):
        faults.append(Fault("template", None, "bands", "must be two or more rising ages from 0 to 120", said))
        return DEFAULT_BANDS
    return tuple(map(float, edges))


def _scores(said: object, faults: list[Fault]) -> tuple[dict[str, Score], dict[str, Domain]]:
    given = said if isinstance(said, dict) else {}
    scores: dict[str, Score] = dict(SCORES)
    domains: dict[str, Domain] = {}
    for score, facts in given.items():
        if not _is_score(facts) or re.fullmatch("[a-z][a-z0-9_]*", score) is None:
            faults.append(Fault("template", None, f"scores.{score}",
                                "must be [unit, better, scale, decimals] or the same with lowest, highest",
                                facts))
            continue
        scores[score] = (str(facts[0]), str(facts[1]), str(facts[2]), facts[3])
        if len(facts) == 6:
            domains[score] = float(facts[4]), float(facts[5])
    return scores, domains


def _is_score(facts: object) -> bool:
    if not isinstance(facts, list) or len(facts) not in (4, 6) or type(facts[3]) is not int:
        return False
    return all(map(is_number, facts[4:])) and (len(facts) == 4 or facts[4] < facts[5])
