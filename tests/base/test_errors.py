"""Refusals are codes with values, and a faulty file tells all its faults at once."""

import pytest

from kiosk.base.errors import Fault, FaultyFile, KioskError, MissingSystemPackages, Refused, WrongUsage


@pytest.mark.parametrize(
    ("error", "exit_code"),
    [
        (Refused("expired"), 1),
        (FaultyFile([Fault("a.csv", None, None, "is_empty")]), 1),
        (WrongUsage("unknown_block", {"block": "x"}), 2),
        (MissingSystemPackages(["libgl1"]), 3),
    ],
)
def test_each_kind_has_its_exit_code(error: KioskError, exit_code: int) -> None:
    assert isinstance(error, KioskError)
    assert error.exit_code == exit_code


def test_a_refusal_keeps_its_values_and_they_cannot_be_changed() -> None:
    given = {"age_years": 97.2}
    refused = Refused("age_outside", given)
    given["age_years"] = 40.0
    assert refused.values["age_years"] == 97.2
    with pytest.raises(TypeError):
        refused.values["age_years"] = 40.0  # type: ignore[index]
    assert str(refused) == "age_outside (age_years=97.2)"


def test_all_faults_of_a_file_are_told_together() -> None:
    faults = [
        Fault("folder/a.csv", 2, "x_mm", "must_be_finite", "nan"),
        Fault("folder/a.csv", 5, "t_s", "must_not_run_backwards", "0.1"),
    ]
    refused = FaultyFile(faults)
    assert refused.faults == tuple(faults)
    assert dict(refused.values) == {"file": "a.csv", "count": 2}
    assert str(refused).count("folder/a.csv") == 2


def test_a_faulty_file_has_at_least_one_fault() -> None:
    with pytest.raises(ValueError, match="at least one"):
        FaultyFile([])
