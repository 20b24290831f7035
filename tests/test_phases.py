"""The two phases of `python3 tests`, and what a busy machine leaves out, told by name and by no failure."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests import calm_machine, phases
from tests.sources import ROOT

BESIDE = "import os\ndef test_beside(): assert os.environ.get('PYTEST_XDIST_WORKER')\n"
ALONE = ("import os, pytest\n@pytest.mark.real_time\n"
         "def test_alone(): assert not os.environ.get('PYTEST_XDIST_WORKER')\n")  # fmt: skip


@pytest.fixture
def busy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(calm_machine, "LONGEST_WAIT_S", 0.0)
    monkeypatch.setattr(calm_machine, "too_busy", [])
    monkeypatch.setattr(calm_machine, "busy_share", lambda: 0.97)


def test_on_a_busy_machine_a_test_in_real_time_is_left_out_by_name(busy: None) -> None:
    with pytest.raises(pytest.skip.Exception, match="too busy: 97% of the processor time"):
        calm_machine.wait_until_calm()
    assert calm_machine.too_busy == [
        "tests/test_phases.py::test_on_a_busy_machine_a_test_in_real_time_is_left_out_by_name"
    ]


def test_it_goes_on_as_soon_as_it_is_calm(monkeypatch: pytest.MonkeyPatch) -> None:
    shares = iter((0.9, 0.8, 0.2))
    monkeypatch.setattr(calm_machine, "busy_share", lambda: next(shares))
    calm_machine.wait_until_calm()
    assert next(shares, None) is None


def test_processor_time_used_by_this_process_is_seen() -> None:
    idle, total = calm_machine._processor_time()
    sum(range(20_000_000))
    idle_after, total_after = calm_machine._processor_time()
    assert idle_after - idle < total_after - total


@pytest.mark.parametrize(("alone", "code"), [(ALONE, 0), (ALONE.replace("not os", "os"), 1)])
def test_each_test_runs_in_its_phase_and_a_failure_of_either_is_one_of_the_run(
    alone: str, code: int, tmp_path: Path
) -> None:
    (tmp_path / "test_beside.py").write_text(BESIDE)
    (tmp_path / "test_alone.py").write_text(alone)
    run = ("import sys; from tests import calm_machine, phases; calm_machine.busy_share = float; "
           "raise SystemExit(phases.main(sys.argv[1:]))")  # fmt: skip
    options = ["-q", "-c", str(ROOT / "pyproject.toml"), "--rootdir", str(tmp_path), "-p", "no:cacheprovider",
               "-p", "tests.conftest", "--override-ini", "testpaths=."]  # fmt: skip
    command = [sys.executable, "-P", "-c", run, *options]
    done = subprocess.run(command, cwd=tmp_path, env=_with_this_tree(), capture_output=True, text=True)
    assert done.returncode == code, done.stdout + done.stderr
    assert done.stdout.count("1 passed") == 2 - code


def test_with_a_path_it_is_one_plain_run(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[list[str]] = []
    monkeypatch.setattr(phases.pytest, "main", lambda arguments: asked.append(arguments) or 0)
    monkeypatch.chdir(ROOT)
    assert phases.main(["tests/test_rooms.py::test_the_top_level_is_exact", "-x"]) == 0
    assert asked == [["tests/test_rooms.py::test_the_top_level_is_exact", "-x"]]


def _with_this_tree() -> dict[str, str]:
    import os

    own = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    return own | {"PYTHONPATH": str(ROOT)}
