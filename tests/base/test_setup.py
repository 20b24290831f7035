"""Set-up: what makes an environment ready, who may install, and that the locks say what they should."""

import fcntl
import io
import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path
from zipfile import ZipFile

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from kiosk.base import bootstrap
from kiosk.base import environment as environments
from kiosk.base.set_up_progress import Progress
from kiosk.i18n.fonts import FONT_FILES
from tests.lock import blocks
from tests.sources import ROOT

RUN, TESTS = ("kiosk",), ("kiosk", "tests")


def quiet() -> Progress:
    return Progress(io.StringIO())


class Recorded:
    """Stands for the shell: keeps the commands, makes what `venv` would make, can break at one."""

    def __init__(self, breaks_at: str = "nothing") -> None:
        self.commands: list[list[str]] = []
        self.breaks_at = breaks_at

    def __call__(self, commands: Sequence[Sequence[str]], hear: object = None, watch: object = None) -> None:
        for command in commands:
            self._run(list(command))

    def _run(self, command: list[str]) -> None:
        self.commands.append(command)
        if self.breaks_at in command:
            raise SystemExit("Set-up did not finish")
        if "venv" in command:
            python = environments.python_of(Path(command[-1]))
            python.parent.mkdir(parents=True)
            python.touch(mode=0o755)
            environments.packages_folder(Path(command[-1])).mkdir(parents=True)

    @property
    def kinds(self) -> list[str]:
        """One word for each command: venv, fetch, or the layer whose lock is installed."""
        return [_kind(command) for command in self.commands]


def _kind(command: list[str]) -> str:
    if "pip" in command:
        return "fetch" if "download" in command else Path(command[-1]).parent.name
    return "venv" if "venv" in command else command[-1].rpartition(".")[2]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    for layer in TESTS:
        (tmp_path / layer).mkdir()
        environments.lock_of(tmp_path, layer).write_text(f"{layer}==1\n")
    return tmp_path


@pytest.fixture
def environment(root: Path) -> Path:
    return root / ".venv"


def built(environment: Path, root: Path, layers: Sequence[str]) -> list[str]:
    recorded = Recorded()
    environments.set_up(environment, root, layers, recorded, quiet())
    return recorded.kinds


def test_a_first_set_up_makes_all_and_a_second_nothing(environment: Path, root: Path) -> None:
    assert not environments.is_ready(environment, root, RUN)
    assert built(environment, root, RUN) == ["venv", "fetch", "kiosk"]
    assert environments.is_ready(environment, root, RUN)
    assert built(environment, root, RUN) == []


def test_testing_adds_its_layer_to_a_ready_environment(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    assert not environments.is_ready(environment, root, TESTS)
    assert built(environment, root, TESTS) == ["fetch", "tests"]
    assert environments.is_ready(environment, root, TESTS)
    assert environments.is_ready(environment, root, RUN)


def test_wheels_are_installed_by_hash_and_nothing_is_built(environment: Path, root: Path) -> None:
    recorded = Recorded()
    environments.set_up(environment, root, TESTS, recorded, quiet())
    installs = [command for command in recorded.commands if "pip" in command]
    assert len(installs) == 4
    for command in installs:
        assert {"--require-hashes", "--no-deps", "--only-binary", ":all:"} <= set(command)
        assert command[0] == str(environments.python_of(environment))


def test_a_changed_lock_builds_anew(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    environments.lock_of(root, "kiosk").write_text("other==2\n")
    assert built(environment, root, RUN) == ["venv", "fetch", "kiosk"]


def test_a_changed_test_lock_builds_anew_for_testing_only(environment: Path, root: Path) -> None:
    built(environment, root, TESTS)
    environments.lock_of(root, "tests").write_text("other==2\n")
    assert environments.is_ready(environment, root, RUN)
    assert built(environment, root, TESTS) == ["venv", "fetch", "kiosk", "fetch", "tests"]


def test_the_stamp_names_python_and_place(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = environments.stamp(root, "kiosk")
    moved = root / "moved"
    shutil.copytree(root / "kiosk", moved / "kiosk")
    assert environments.stamp(moved, "kiosk") != here
    monkeypatch.setattr(sys, "version_info", (3, 99, 0, "final", 0))
    assert environments.stamp(root, "kiosk") != here


@pytest.mark.parametrize("breaks_at", ["venv", "pip"])
def test_a_half_built_environment_is_built_anew(environment: Path, root: Path, breaks_at: str) -> None:
    with pytest.raises(SystemExit):
        environments.set_up(environment, root, RUN, Recorded(breaks_at), quiet())
    assert not environments.is_ready(environment, root, RUN)
    (environment / "left_over").parent.mkdir(exist_ok=True)
    (environment / "left_over").touch()
    assert built(environment, root, RUN) == ["venv", "fetch", "kiosk"]
    assert not (environment / "left_over").exists()


def test_a_broken_test_layer_does_not_pass_as_ready_to_run(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    with pytest.raises(SystemExit):
        environments.set_up(environment, root, TESTS, Recorded("pip"), quiet())
    assert not environments.is_ready(environment, root, RUN)
    assert built(environment, root, RUN) == ["venv", "fetch", "kiosk"]


def test_an_environment_whose_python_is_gone_is_not_ready(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    environments.python_of(environment).unlink()
    assert not environments.is_ready(environment, root, RUN)


def test_an_environment_whose_python_this_user_may_not_run_is_not_ready(
    environment: Path, root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built(environment, root, RUN)
    monkeypatch.setattr(environments.os, "access", lambda path, mode: mode != os.X_OK)
    assert not environments.is_ready(environment, root, RUN)


def test_the_root_reaches_the_environment_by_its_path_file(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    (path_file,) = environment.rglob("pursuit-kiosk.pth")
    assert path_file.read_text().strip() == str(root)


def test_only_one_set_up_works_at_a_time(environment: Path) -> None:
    with environments.alone(environment, quiet()):
        second = os.open(environment.parent, os.O_RDONLY)
        with pytest.raises(BlockingIOError):
            fcntl.flock(second, fcntl.LOCK_EX | fcntl.LOCK_NB)
    fcntl.flock(second, fcntl.LOCK_EX | fcntl.LOCK_NB)
    os.close(second)


def test_a_tree_that_cannot_be_written_uses_the_cache_folder(
    root: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    assert environments.environment_folder(root, RUN) == root / ".venv"
    real = os.access
    monkeypatch.setattr(environments.os, "access", lambda path, mode: mode != os.W_OK and real(path, mode))
    chosen = environments.environment_folder(root, RUN)
    assert chosen.parent == cache / "pursuit-kiosk"
    assert chosen != environments.environment_folder(root.parent, RUN)
    built(root / ".venv", root, RUN)
    assert environments.environment_folder(root, RUN) == root / ".venv"


def test_an_installed_wheel_never_sets_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    monkeypatch.setattr(bootstrap, "become", lambda command: pytest.fail("left for an environment"))
    bootstrap.enter("kiosk", ["demo"], RUN)
    assert list(tmp_path.iterdir()) == []


# ── The locks ──────────────────────────────────────────────────────────────────────────────────────


def pins(layer: str) -> dict[str, set[str]]:
    """Name -> versions (several where they depend on Python's)."""
    found: dict[str, set[str]] = {}
    for block in blocks(environments.lock_of(ROOT, layer).read_text()):
        name, version = re.match(r"([a-z0-9.-]+)==([^ ;]+)", block).groups()  # type: ignore[union-attr]
        found.setdefault(name, set()).add(version)
    return found


def declared(*groups: str) -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    lists = [project["dependencies"], *(project["optional-dependencies"][group] for group in groups)]
    return {canonicalize_name(Requirement(told).name) for one in lists for told in one}


@pytest.mark.parametrize("layer", TESTS)
def test_every_pin_bears_hashes_and_no_host(layer: str) -> None:
    text = environments.lock_of(ROOT, layer).read_text()
    assert "://" not in text
    assert "--index" not in text
    assert all(re.search(r"--hash=sha256:[0-9a-f]{64}", block) for block in blocks(text))


def test_the_locks_hold_what_the_project_declares() -> None:
    assert declared() <= set(pins("kiosk"))
    assert declared("test") <= set(pins("kiosk")) | set(pins("tests"))
    assert pins("kiosk")["kivy"] == {"2.3.1"}


def test_testing_repeats_no_pin_of_running() -> None:
    assert set(pins("kiosk")) & set(pins("tests")) == set()


# ── The installed wheel ────────────────────────────────────────────────────────────────────────────


def test_the_wheel_carries_its_data_and_its_commands(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*build, "--wheel-dir", str(tmp_path), str(ROOT)], check=True)
    (wheel,) = tmp_path.glob("pursuit_kiosk-*.whl")
    carried = ZipFile(wheel).namelist()
    assert {f"kiosk/i18n/font_files/{path.name}" for path in FONT_FILES.iterdir()} <= set(carried)
    assert {f"kiosk/handbook/{path.name}" for path in ROOT.glob("kiosk/handbook/*.md")} <= set(carried)
    assert not [name for name in carried if name.startswith("kiosk/decisions")]
    installed = tmp_path / "environment"
    subprocess.run([sys.executable, "-m", "venv", str(installed)], check=True)
    python = str(environments.python_of(installed))
    subprocess.run([python, "-m", "pip", "install", "--quiet", "--no-deps", str(wheel)], check=True)
    inner = [path for path in sys.path if path.endswith("site-packages")]
    (packages,) = installed.glob("lib/python*/site-packages")
    (packages / "outer.pth").write_text("\n".join(inner))
    table = _inside(python, "demo_norms_folder", tmp_path)
    for name, *arguments in (["norms", "check", table], ["kiosk", "--help"]):
        done = subprocess.run([installed / "bin" / name, *arguments], cwd=tmp_path, capture_output=True)
        assert done.returncode == 0, done.stderr
    assert Path(_inside(python, "locales_folder", tmp_path), "en", "LC_MESSAGES", "kiosk.po").is_file()
    assert not (tmp_path / ".venv").exists()


def test_help_is_answered_before_anything_is_set_up(tmp_path: Path) -> None:
    for name in ("kiosk", "locales"):
        shutil.copytree(ROOT / name, tmp_path / name)
    (tmp_path / "pyproject.toml").touch()
    python = Path(sys.base_prefix) / "bin" / "python3"
    done = subprocess.run([python, tmp_path / "kiosk", "--help"], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "usage: kiosk" in done.stdout
    assert not (tmp_path / ".venv").exists()


def _inside(python: str, function: str, folder: Path) -> str:
    code = f"from kiosk.base import settings; print(settings.{function}())"
    done = subprocess.run([python, "-P", "-c", code], cwd=folder, capture_output=True, text=True, check=True)
    place = done.stdout.strip()
    assert "site-packages" in place
    return place
