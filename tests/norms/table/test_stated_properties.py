"""Figures and statements stored with a table, damaged in any way: faults or an answer, never a traceback."""

import json
import random
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from norms import Standing, TableFaults, fault_sentence, standing
from norms.cli.worth import worth_lines
from norms.table.folder import folder_bytes, read_files, write_folder
from norms.worth.calibration import calibrate_folder
from tests.norms.folders import EXAMPLE
from tests.norms.table.test_bridging_statement import MEASURE, pairs_of, resigned, run, visit, write_pairs

VALUES: list[object] = [
    None, True, False, 0, -1, 1, 2**70, 10**400, 0.5, -0.0, 5e-324, 1e308, "", "0", "text", "2026-13-40",
    [], [[]], [None], {}, {"a": 1}, "sha256:0", "\u0661", "simulated", "finger", "panel_c",
]  # fmt: skip
QUICK = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))


@lru_cache(maxsize=1)
def worthy() -> dict[str, bytes]:
    """The files of the example table, bridged and calibrated."""
    with TemporaryDirectory() as place:
        folder = Path(place) / "table"
        write_folder(folder, folder_bytes(EXAMPLE))
        pairs = write_pairs(Path(place) / "pairs.csv", pairs_of(read_files(folder_bytes(EXAMPLE)), MEASURE))
        assert run(folder, pairs, "--sign", "site_lead") == 0
        calibrate_folder(folder, "2026-11-25", 7, 100)
        return folder_bytes(folder)


def places(inside: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) of a JSON value."""
    keys = (
        list(inside) if isinstance(inside, dict) else range(len(inside)) if isinstance(inside, list) else []
    )
    return [pair for key in keys for pair in ((inside, key), *places(inside[key]))]


def damaged(chance: random.Random, sign_again: bool) -> dict[str, bytes]:
    package = json.loads(worthy()["datapackage.json"])
    reference = package["reference_table"]
    for _ in range(chance.choice([1, 1, 2])):
        container, key = chance.choice(
            places({name: reference[name] for name in ("calibration", "carried_over")})
        )
        if chance.random() < 0.2 and isinstance(container, dict):
            del container[key]
        else:
            container[key] = deepcopy(chance.choice(VALUES))
    listed = reference.get("carried_over")
    if sign_again and isinstance(listed, list):
        reference["carried_over"] = [resigned(one) if isinstance(one, dict) else one for one in listed]
    return {**worthy(), "datapackage.json": json.dumps(package).encode()}


def answers_or_faults(files: dict[str, bytes]) -> bool:
    """True where the folder was refused; where it was not, everything it says can be said."""
    try:
        table = read_files(files)
    except TableFaults as refused:
        assert refused.faults and all(fault_sentence(one) for one in refused.faults)
        return True
    assert worth_lines(table)
    there, here = (standing(table, MEASURE, 6.0, visit(panel)) for panel in ("panel_b", "simulated"))
    assert isinstance(here, Standing)
    assert not isinstance(there, Standing) or there.percentile == here.percentile
    return False


@pytest.mark.parametrize("sign_again", [False, True])
def test_a_retest_sd_of_zero_is_a_fault(sign_again: bool) -> None:
    package = json.loads(worthy()["datapackage.json"])
    listed = package["reference_table"]["carried_over"]
    listed[0]["measures"][0]["study"]["retest_sd"] = 0
    package["reference_table"]["carried_over"] = [resigned(one) for one in listed] if sign_again else listed
    assert answers_or_faults({**worthy(), "datapackage.json": json.dumps(package).encode()})


@QUICK
@given(st.randoms(use_true_random=False), st.booleans())
def test_no_damage_to_figures_or_statements_gives_a_traceback(
    chance: random.Random, sign_again: bool
) -> None:
    answers_or_faults(damaged(chance, sign_again))


@pytest.mark.long
@settings(QUICK, max_examples=5_000)
@given(st.randoms(use_true_random=False), st.booleans())
def test_no_damage_of_thousands_gives_a_traceback(chance: random.Random, sign_again: bool) -> None:
    answers_or_faults(damaged(chance, sign_again))


def test_most_damage_is_refused() -> None:
    assert not answers_or_faults(worthy())
    refused = [answers_or_faults(damaged(random.Random(seed), sign_again=False)) for seed in range(200)]
    assert sum(refused) > 120  # the rest touched a figure that is any number
