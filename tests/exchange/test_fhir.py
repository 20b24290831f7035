"""A FHIR bundle that both releases of a general library accept, and what that library does not check.

fhir.resources validates structure, types and cardinalities of R4B and R5; it does not check value sets,
references or invariants (measured), so those are checked here, each with its name in the specification.
"""

import base64
import json
from collections import Counter
from dataclasses import replace
from importlib.resources import files

import pytest
from fhir.resources.bundle import Bundle as BundleR5
from fhir.resources.codesystem import CodeSystem as CodeSystemR5
from fhir.resources.R4B.bundle import Bundle as BundleR4B
from fhir.resources.R4B.codesystem import CodeSystem as CodeSystemR4B

from kiosk.app.research_export import visits_to_export
from kiosk.exchange.fhir import CODES, UCUM, Identity, code_system, visit_bundle
from kiosk.scoring.catalogue import KINDS, PRIMARY
from kiosk.scoring.trial_scores import Reason, Validity
from tests.exchange.demo_archive import NOTE, demo_archive

READERS = {"R4B": BundleR4B, "R5": BundleR5}
STATUS = {"Observation": {"registered", "preliminary", "final", "amended"},  # observation-status
          "DiagnosticReport": {"registered", "partial", "preliminary", "final", "amended"},
          "QuestionnaireResponse": {"in-progress", "completed", "amended"}}
GENDERS = {"male", "female", "other", "unknown"}  # administrative-gender
ABSENT = {"unknown", "asked-unknown", "not-asked", "masked", "not-applicable", "unsupported", "error",
          "not-a-number", "not-performed", "not-permitted"}  # data-absent-reason
UCUM_UNITS = {"mm", "ms", "%", "Hz", "1", "a"}
IDENTITY = Identity("K-0101-X", "1954", "2026-07-11T09:00:00+00:00", b"%PDF-1.4 page")


@pytest.fixture(scope="module")
def visits():
    archive = demo_archive()
    person = archive.people()[0]
    return list(visits_to_export(archive, archive.visits_of(person.id), Counter()))


def resources(bundle, kind):
    return [one["resource"] for one in bundle["entry"] if one["resource"]["resourceType"] == kind]


def everywhere(thing):
    """Every object inside a resource."""
    if isinstance(thing, dict):
        yield thing
        for one in thing.values():
            yield from everywhere(one)
    elif isinstance(thing, list):
        for one in thing:
            yield from everywhere(one)


@pytest.mark.parametrize("release", ["R4B", "R5"])
@pytest.mark.parametrize("identity", [None, IDENTITY], ids=["de-identified", "identified"])
def test_a_general_library_reads_the_bundle_of_either_release(visits, release, identity):
    for one in visits:
        bundle = json.loads(json.dumps(visit_bundle(one, release, identity)))
        read = READERS[release].model_validate(bundle)
        assert len(read.entry) == len(bundle["entry"]) > 18


@pytest.mark.parametrize("release", ["R4B", "R5"])
def test_that_library_refuses_a_bundle_with_a_field_of_no_release(visits, release):
    bundle = visit_bundle(visits[0], release)
    bundle["entry"][0]["resource"]["elegance"] = "much"
    with pytest.raises(ValueError, match="elegance"):
        READERS[release].model_validate(bundle)


@pytest.mark.parametrize("release", ["R4B", "R5"])
def test_value_sets_references_and_invariants_hold(visits, release):
    for one in visits:
        bundle = visit_bundle(one, release, IDENTITY)
        there = {entry["fullUrl"] for entry in bundle["entry"]}
        assert len(there) == len(bundle["entry"])  # bdl-7: fullUrl is unique
        for resource in (entry["resource"] for entry in bundle["entry"]):
            kind = resource["resourceType"]
            assert resource.get("status", "final") in STATUS.get(kind, {"final"})
            for thing in everywhere(resource):
                if "reference" in thing:
                    assert thing["reference"] in there
                if thing.get("system") == UCUM:
                    assert thing["code"] in UCUM_UNITS
            if kind == "Observation":
                assert not ("dataAbsentReason" in resource and "valueQuantity" in resource)       # obs-6
                codes = [c["code"]["coding"][0]["code"] for c in resource.get("component", [])]
                own = resource["code"]["coding"][0]["code"]
                assert own not in codes or "valueQuantity" not in resource                        # obs-7
                ranges = resource.get("referenceRange", [])
                assert all({"low", "high", "text"} & set(one) for one in ranges)                  # obs-3
                assert all(c["code"] in ABSENT for a in everywhere(resource) if "dataAbsentReason" in a
                           for c in a["dataAbsentReason"]["coding"])
        assert resources(bundle, "Patient")[0]["gender"] in GENDERS


def test_each_primary_measure_tells_its_value_its_place_and_the_group_it_was_compared_with(visits):
    one = visits[1]
    made_of = resources(visit_bundle(one, "R4B"), "Observation")
    found = {made["code"]["coding"][0]["code"]: made for made in made_of}
    assert set(PRIMARY) <= set(found)
    for measure in PRIMARY:
        made, judged = found[measure], one.judged["standings"][measure]
        assert made["valueQuantity"]["value"] == one.scores.blocks[measure].value
        assert made["valueQuantity"]["code"] == KINDS[measure.rpartition(".")[2]].unit
        parts = {part["code"]["coding"][0]["code"]: part for part in made["component"]}
        assert parts["percentile"]["valueQuantity"]["value"] == judged["percentile"]
        assert made["interpretation"][0]["text"] == judged["label"]
        row = made["referenceRange"][0]
        assert [row["low"]["value"], row["high"]["value"]] == judged["usual_range"]
        assert (row["age"]["low"]["value"], row["age"]["high"]["code"]) == (judged["row"]["age_from"], "a")
        assert "n = 720" in row["text"] and "Simulated" in row["appliesTo"][0]["text"]
        assert made["derivedFrom"]


def test_what_was_not_scored_and_not_compared_says_so(visits):
    refused = {"standings": {PRIMARY[0]: {"refused": "expired", "values": {}}}}
    one = replace(visits[0], scores=None, judged=refused)
    for made in resources(visit_bundle(one, "R5"), "Observation"):
        assert made["dataAbsentReason"] and "valueQuantity" not in made and "referenceRange" not in made
    notes = [note["text"] for made in resources(visit_bundle(one, "R5"), "Observation")
             for note in made.get("note", [])]
    assert "Not compared with a reference table: expired" in notes and "Not scored" in notes


def test_an_invalid_trial_bears_its_reasons_and_no_scores(visits):
    one = visits[0]
    trial = one.trials[3]
    kept = one.scores.trials[trial.id]
    spoilt = replace(kept, validity=Validity(False, (Reason("frame_gap", {"gap_ms": 300.0}),)))
    scores = replace(one.scores, trials={**one.scores.trials, trial.id: spoilt})
    made = resources(visit_bundle(replace(one, scores=scores), "R4B"), "Observation")[2]
    assert made["dataAbsentReason"]["coding"][0]["code"] == "error" and "component" not in made
    assert made["note"] == [{"text": "Not fit to be scored: frame_gap"}]


def test_without_an_identity_nothing_tells_who_or_when(visits):
    one = visits[1]
    text = json.dumps(visit_bundle(one, "R4B"))
    visit = one.visit
    for planted in (str(visit.id), str(visit.person_id), visit.started_at.date().isoformat(), "birthDate",
                    "effectiveDateTime", "authored", "presentedForm", NOTE, "Harbour"):
        assert planted not in text.replace("harbour-street-simulated", "")
    assert '"value": "P00001"' in text


def test_with_an_identity_the_code_the_year_the_moment_and_the_page_stand_there(visits):
    bundle = visit_bundle(visits[1], "R5", IDENTITY)
    patient, report = resources(bundle, "Patient")[0], resources(bundle, "DiagnosticReport")[0]
    assert patient["identifier"][0]["value"] == "K-0101-X" and patient["birthDate"] == "1954"
    assert report["effectiveDateTime"] == IDENTITY.moment
    assert base64.b64decode(report["presentedForm"][0]["data"]) == IDENTITY.page_pdf
    assert "does not diagnose" in report["conclusion"]


def test_the_same_visit_gives_the_same_bundle(visits):
    assert visit_bundle(visits[0], "R5") == visit_bundle(visits[0], "R5")


@pytest.mark.parametrize("reader", [CodeSystemR4B, CodeSystemR5])
def test_our_code_system_ships_as_a_file_and_holds_every_code_that_is_used(visits, reader):
    path = files("kiosk.exchange").joinpath("fhir_files/CodeSystem-pursuit-scores.json")
    shipped = json.loads(path.read_text("utf-8"))
    assert shipped == code_system(), "made anew by: python -m kiosk.exchange.fhir"
    reader.model_validate(shipped)
    known = {concept["code"] for concept in shipped["concept"]}
    assert len(known) == len(shipped["concept"]) == shipped["count"]
    used = {thing["code"] for one in visits for thing in everywhere(visit_bundle(one, "R4B", IDENTITY))
            if thing.get("system") == CODES}
    assert used <= known
