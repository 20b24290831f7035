"""One visit as a FHIR bundle (R4B or R5): what a hospital's record system can file.

Patient, Device, QuestionnaireResponse (what was asked before), one Observation a trial (components: its
scores), one a primary measure (value, standing, reference range, derived from the trials), and a
DiagnosticReport that holds them together, with the page where it may leave. Codes are our own (a published
CodeSystem in kiosk/exchange/fhir_files), units are UCUM; no code of another system is invented. What was not
scored, or not compared, has a dataAbsentReason or a note with the reason's code.

De-identified unless an Identity is given: then the person's code, year of birth and the moment of the visit
stand there, and the page is attached. Ids are derived from the visit: the same visit gives the same bundle.
"""

import base64
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal
from uuid import UUID, uuid5

from kiosk.base.errors import Refused
from kiosk.exchange.new_folder import new_folder, write_json
from kiosk.exchange.research_rows import ResearchVisit, part_of
from kiosk.scoring.catalogue import KINDS, PRIMARY, kind_of
from kiosk.scoring.trial_scores import BlockScore, TrialScores
from kiosk.visits.archive import StoredTrial

Release = Literal["R4B", "R5"]
Resource = dict[str, Any]

BASE: Final = "https://pursuit-kiosk.example/fhir"  # nobody owns it: `example` is reserved (RFC 2606)
CODES: Final = f"{BASE}/CodeSystem/pursuit-scores"
PERSONS: Final = f"{BASE}/identifier/person"
QUESTIONS: Final = f"{BASE}/Questionnaire/before-the-visit"
UCUM: Final = "http://unitsofmeasure.org"
ABSENT: Final = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
ANSWERS: Final = ("posture", "last_dose", "pain_before")
UCUM_OF: Final = {"mm": "mm", "ms": "ms", "%": "%", "Hz": "Hz", "": "1"}
FILE: Final = Path(__file__).parent / "fhir_files" / "CodeSystem-pursuit-scores.json"
NAMESPACE: Final = UUID("6f0d8a5e-8a2b-4f7b-9d0c-2b7f3f1c9a10")
DISCLAIMER: Final = (
    "Describes how one person followed a moving disc on this tablet on this day. It does not diagnose or "
    "rule out anything, and must not be the only reason for a decision."
)
CODE_TEXTS: Final = {
    "trial": "One trial of following a moving disc with a fingertip",
    "report": "Visually guided hand movement, one visit",
    "z": "z in the reference group, below 0 is poorer",
    "percentile": "Percentage of the reference group below",
    "percentile-low": "Lower end of the percentile's 95 % interval",
    "percentile-high": "Upper end of the percentile's 95 % interval",
    "standard-score": "100 + 15 z*, rounded",
    "trials": "Valid trials behind the value",
}


@dataclass(frozen=True)
class Identity:
    """What may be told of who it was: code, year of birth, the visit's moment (ISO 8601), the page."""

    code: str
    birth_year: str
    moment: str
    page_pdf: bytes | None = None
    page_language: str = "en"


def visit_bundle(one: ResearchVisit, release: Release, identity: Identity | None = None) -> Resource:
    """The visit as a bundle of type `collection`."""
    resources = list(_resources(one, release, identity))
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [{"fullUrl": f"urn:uuid:{made['id']}", "resource": made} for made in resources],
    }


def write_bundles(visits: Iterable[ResearchVisit], folder: Path, release: Release) -> tuple[int, int]:
    """A de-identified bundle a visit (P00001-01.json), beside our code system; how many visits and people."""
    people: list[str] = []
    with new_folder(folder) as part:
        for one in visits:
            people.append(one.person)
            write_json(part / f"{one.id}.json", visit_bundle(one, release))
        if not people:
            raise Refused("nothing_for_research", {})
        write_json(part / FILE.name, code_system())
    return len(people), len(set(people))


def code_system() -> Resource:
    """Our own codes as a FHIR CodeSystem: scores, primary measures, and what stands beside them.

    It ships as a file in fhir_files/, made anew by `python -m kiosk.exchange.fhir`.
    """
    scores = [
        {
            "code": kind.id,
            "display": kind.id.replace("_", " "),
            "definition": f"Score of a trial or block, in {kind.unit or 'counts or ratios'}.",
        }
        for kind in KINDS.values()
    ]
    measures = [
        {
            "code": measure,
            "display": _display(measure),
            "definition": "Primary measure, as block, hand and score.",
        }
        for measure in PRIMARY
    ]
    beside = [{"code": code, "display": text} for code, text in CODE_TEXTS.items()]
    concepts = [*scores, *measures, *beside]
    return {
        "resourceType": "CodeSystem",
        "id": "pursuit-scores",
        "url": CODES,
        "version": "1.0.0",
        "name": "PursuitScores",
        "title": "Scores of visually guided hand movement",
        "status": "active",
        "experimental": False,
        "publisher": "pursuit kiosk",
        "caseSensitive": True,
        "content": "complete",
        "description": "Codes of the pursuit kiosk's own scores and measures.",
        "count": len(concepts),
        "concept": concepts,
    }


def _resources(one: ResearchVisit, release: Release, identity: Identity | None) -> Iterator[Resource]:
    trials = [_trial(one, trial, identity) for trial in one.trials if trial.record.plan.scored]
    measures = [_measure(one, measure, trials, identity) for measure in PRIMARY]
    yield _patient(one, identity)
    yield _device(one, release)
    yield _answers(one, identity)
    yield from trials
    yield from measures
    yield _report(one, measures, identity)


def _patient(one: ResearchVisit, identity: Identity | None) -> Resource:
    value = one.person if identity is None else identity.code
    born = {} if identity is None or not identity.birth_year else {"birthDate": identity.birth_year}
    gender = {"female": "female", "male": "male", "other": "other"}.get(one.sex, "unknown")
    return {
        "resourceType": "Patient",
        "id": _id(one, "patient"),
        "gender": gender,
        **born,
        "identifier": [{"system": PERSONS, "value": value}],
    }


def _device(one: ResearchVisit, release: Release) -> Resource:
    """The tablet: kind of panel and version of the software; no serial number."""
    version, name = one.visit.software.get("kiosk", "not known"), f"Tablet, panel class {one.device_class}"
    if release == "R5":
        return {
            "resourceType": "Device",
            "id": _id(one, "device"),
            "version": [{"value": version}],
            "name": [{"value": name, "type": "user-friendly-name"}],
        }
    return {
        "resourceType": "Device",
        "id": _id(one, "device"),
        "version": [{"value": version}],
        "deviceName": [{"name": name, "type": "user-friendly-name"}],
    }


def _answers(one: ResearchVisit, identity: Identity | None) -> Resource:
    visit = one.visit
    told = {name: visit.intake[name] for name in ANSWERS if name in visit.intake}
    asked = {
        "preferred_hand": visit.preferred_hand,
        "hands_today": visit.hands_today,
        "hands_reason": visit.hands_reason,
        "placement": visit.placement,
        "delivery": visit.delivery,
        "instruction_language": visit.language,
        **told,
    }
    items = [
        {"linkId": name, "text": name.replace("_", " "), "answer": [{"valueString": value}]}
        for name, value in asked.items()
        if value
    ]
    when = {} if identity is None else {"authored": identity.moment}
    return {
        "resourceType": "QuestionnaireResponse",
        "id": _id(one, "answers"),
        "questionnaire": QUESTIONS,
        "status": "completed",
        "subject": _reference(one, "patient"),
        **when,
        "item": items,
    }


def _trial(one: ResearchVisit, trial: StoredTrial, identity: Identity | None) -> Resource:
    """One trial; its scores are components, and why it is not fit to be scored stands in a note."""
    plan = trial.record.plan
    scores = None if one.scores is None else one.scores.trials.get(trial.id)
    text = f"{plan.block}, {plan.hand} hand ({plan.hand_side}), trial {plan.number}, attempt {plan.attempt}"
    made = _observation(one, f"trial-{trial.position}", "trial", text, identity)
    if scores is None or not scores.validity.valid:
        made["dataAbsentReason"] = _absent("error" if scores is not None else "not-performed")
        made["note"] = [{"text": f"Not fit to be scored: {reason.code}"} for reason in _reasons(scores)] or [
            {"text": "Not scored"}
        ]
        return made
    made["component"] = [
        {"code": _code(name), **_value(figure.value, kind_of(name).unit, figure.reason)}
        for name, figure in scores.values.items()
    ]
    return made


def _reasons(scores: TrialScores | None) -> tuple[Any, ...]:
    return () if scores is None else scores.validity.reasons


def _measure(one: ResearchVisit, measure: str, trials: list[Resource], identity: Identity | None) -> Resource:
    """One primary measure: value, where it stands, the reference range it was compared with."""
    made = _observation(one, measure, measure, _display(measure), identity)
    block = None if one.scores is None else one.scores.blocks.get(measure)
    unit = kind_of(measure).unit
    value, reason = (None, "block_not_run") if block is None else (block.value, block.reason)
    made |= _value(value, unit, reason)
    made["derivedFrom"] = [
        {"reference": f"urn:uuid:{trial['id']}"}
        for trial in trials
        if _of_block(measure, trial["code"]["text"])
    ] or None
    found = _found(one.judged, measure)
    standing = found if "z" in found else {}
    if standing:
        made["interpretation"] = [{"text": str(standing["label"])}]
        made["referenceRange"] = [_range(one, standing, unit)]
    elif "refused" in found:
        made["note"] = [{"text": f"Not compared with a reference table: {found['refused']}"}]
    made["component"] = [*_standing_components(standing), *_trials_component(block)]
    return {name: value for name, value in made.items() if value not in (None, [])}


def _of_block(measure: str, text: str) -> bool:
    """Whether a trial belongs to a measure's block; both circles do to `circles`."""
    block, hand, _ = measure.split(".")
    blocks = ("steady", "brisk") if block == "circles" else (block,)
    return text.startswith(tuple(f"{one}, {hand} hand" for one in blocks))


def _standing_components(standing: Mapping[str, Any]) -> Iterator[Resource]:
    if not standing:
        return
    low, high = standing["interval_95"]
    for code, value, unit in (
        ("z", standing["z"], "1"),
        ("percentile", standing["percentile"], "%"),
        ("percentile-low", low, "%"),
        ("percentile-high", high, "%"),
        ("standard-score", standing["standard_score"], "1"),
    ):
        yield {"code": _code(code), "valueQuantity": _quantity(value, unit)}


def _trials_component(block: BlockScore | None) -> Iterator[Resource]:
    if block is not None:
        yield {"code": _code("trials"), "valueInteger": block.n_trials}


def _range(one: ResearchVisit, standing: Mapping[str, Any], unit: str) -> Resource:
    """The range of 80 of 100 of the reference group, with its age and the table's name."""
    low, high = standing["usual_range"]
    row, table = standing["row"], part_of(one.judged, "table")
    name = f"{table.get('name')} {table.get('version')}"
    tested = f"tested {table.get('tested_from')} to {table.get('tested_to')}"
    text = f"Range of 80 of 100 people of the reference group; table {name}, n = {standing['n']}, {tested}"
    return {
        "low": _quantity(low, UCUM_OF[unit]),
        "high": _quantity(high, UCUM_OF[unit]),
        "appliesTo": [{"text": str(table.get("title"))}],
        "text": text,
        "age": {"low": _quantity(row["age_from"], "a"), "high": _quantity(row["age_to"], "a")},
    }


def _report(one: ResearchVisit, measures: list[Resource], identity: Identity | None) -> Resource:
    made: Resource = {
        "resourceType": "DiagnosticReport",
        "id": _id(one, "report"),
        "status": "final",
        "code": _code("report"),
        "subject": _reference(one, "patient"),
        "conclusion": DISCLAIMER,
        "result": [{"reference": f"urn:uuid:{measure['id']}"} for measure in measures],
    }
    if identity is None:
        return made
    made["effectiveDateTime"] = identity.moment
    if identity.page_pdf is not None:
        made["presentedForm"] = [
            {
                "contentType": "application/pdf",
                "language": identity.page_language,
                "title": "One-page summary",
                "data": base64.b64encode(identity.page_pdf).decode("ascii"),
            }
        ]
    return made


def _observation(one: ResearchVisit, name: str, code: str, text: str, identity: Identity | None) -> Resource:
    when = {} if identity is None else {"effectiveDateTime": identity.moment}
    return {
        "resourceType": "Observation",
        "id": _id(one, name),
        "status": "final",
        "code": _code(code, text),
        "subject": _reference(one, "patient"),
        "device": _reference(one, "device"),
        **when,
    }


def _code(code: str, text: str = "") -> Resource:
    coding = {"system": CODES, "code": code}
    return {"coding": [coding], "text": text or CODE_TEXTS.get(code, code.replace("_", " "))}


def _value(value: float | None, unit: str, reason: str | None) -> Resource:
    """A value with its UCUM unit; where there is none, why."""
    if value is not None:
        return {"valueQuantity": _quantity(value, UCUM_OF[unit])}
    absent = _absent("not-performed" if reason == "block_not_run" else "error")
    return {"dataAbsentReason": absent | {"text": reason or "not known"}}


def _quantity(value: float, unit: str) -> Resource:
    return {"value": value, "unit": unit, "system": UCUM, "code": unit}


def _absent(code: str) -> Resource:
    return {"coding": [{"system": ABSENT, "code": code}]}


def _reference(one: ResearchVisit, name: str) -> Resource:
    return {"reference": f"urn:uuid:{_id(one, name)}"}


def _id(one: ResearchVisit, name: str) -> str:
    return str(uuid5(NAMESPACE, f"{one.id} {name}"))


def _found(judged: Mapping[str, object], measure: str) -> Mapping[str, Any]:
    return _mapping(part_of(judged, "standings").get(measure))


def _mapping(part: object) -> Mapping[str, Any]:
    return part if isinstance(part, Mapping) else {}


def _display(measure: str) -> str:
    block, hand, score = measure.split(".")
    return f"{score}, {block}, {hand} hand"


if __name__ == "__main__":
    write_json(FILE, code_system())
