"""Set-up: what makes an environment ready, who may install, and that the locks say what they should."""

import fcntl
import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest

from kiosk.base import bootstrap
from tests.lock import blocks
from tests.sources import ROOT

RUN, TESTS = ("kiosk",), ("kiosk", "tests")


class Recorded:
    """Stands for the shell: keeps the commands, makes what `venv` would make, can break at one."""

    def __init__(self, breaks_at: str = "nothing") -> None:
        self.commands: list[list[str]] = []
        self.breaks_at = breaks_at

    def __call__(self, command: Sequence[str]) -> None:
        self.commands.append(list(command))
        if self.breaks_at in command:
            raise SystemExit("Set-up did not finish")
        if "venv" in command:
            python = bootstrap.python_of(Path(command[-1]))
            python.parent.mkdir(parents=True)
            python.touch(mode=0o755)
            packages = Path(command[-1]) / "lib" / f"python{sys.version_info[0]}.{sys.version_info[1]}"
            (packages / "site-packages").mkdir(parents=True)

    @property
    def kinds(self) -> list[str]:
        """One word for each command: venv, fonts, or the layer whose lock is installed."""
        return [_kind(command) for command in self.commands]


def _kind(command: list[str]) -> str:
    if "pip" in command:
        return Path(command[-1]).parent.name
    return "venv" if "venv" in command else command[-1].rpartition(".")[2]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    for layer in TESTS:
        (tmp_path / layer).mkdir()
        bootstrap.lock_of(tmp_path, layer).write_text(f"{layer}==1\n")
    (tmp_path / "kiosk" / "i18n").mkdir()
    (tmp_path / "kiosk" / "i18n" / "fonts.py").write_text("recipe = 1\n")
    return tmp_path


@pytest.fixture
def environment(root: Path) -> Path:
    return root / ".venv"


def built(environment: Path, root: Path, layers: Sequence[str]) -> list[str]:
    recorded = Recorded()
    bootstrap.set_up(environment, root, layers, recorded)
    return recorded.kinds


def test_a_first_set_up_makes_all_and_a_second_nothing(environment: Path, root: Path) -> None:
    assert not bootstrap.is_ready(environment, root, RUN)
    assert built(environment, root, RUN) == ["venv", "kiosk", "fonts"]
    assert bootstrap.is_ready(environment, root, RUN)
    assert built(environment, root, RUN) == []


def test_testing_adds_its_layer_to_a_ready_environment(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    assert not bootstrap.is_ready(environment, root, TESTS)
    assert built(environment, root, TESTS) == ["tests"]
    assert bootstrap.is_ready(environment, root, TESTS)
    assert bootstrap.is_ready(environment, root, RUN)


def test_wheels_are_installed_by_hash_and_nothing_is_built(environment: Path, root: Path) -> None:
    recorded = Recorded()
    bootstrap.set_up(environment, root, TESTS, recorded)
    installs = [command for command in recorded.commands if "pip" in command]
    assert len(installs) == 2
    for command in installs:
        assert {"--require-hashes", "--no-deps", "--only-binary", ":all:"} <= set(command)
        assert command[0] == str(bootstrap.python_of(environment))


@pytest.mark.parametrize("changed", ["kiosk/requirements.txt", "kiosk/i18n/fonts.py"])
def test_a_changed_lock_or_font_recipe_builds_anew(environment: Path, root: Path, changed: str) -> None:
    built(environment, root, RUN)
    (root / changed).write_text("other==2\n")
    assert built(environment, root, RUN) == ["venv", "kiosk", "fonts"]


def test_a_changed_test_lock_builds_anew_for_testing_only(environment: Path, root: Path) -> None:
    built(environment, root, TESTS)
    bootstrap.lock_of(root, "tests").write_text("other==2\n")
    assert bootstrap.is_ready(environment, root, RUN)
    assert built(environment, root, TESTS) == ["venv", "kiosk", "tests", "fonts"]


def test_the_stamp_names_python_and_place(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = bootstrap.stamp(root, "kiosk")
    moved = root / "moved"
    shutil.copytree(root / "kiosk", moved / "kiosk")
    assert bootstrap.stamp(moved, "kiosk") != here
    monkeypatch.setattr(sys, "version_info", (3, 99, 0, "final", 0))
    assert bootstrap.stamp(root, "kiosk") != here


@pytest.mark.parametrize("breaks_at", ["venv", "pip", "kiosk.i18n.fonts"])
def test_a_half_built_environment_is_built_anew(environment: Path, root: Path, breaks_at: str) -> None:
    with pytest.raises(SystemExit):
        bootstrap.set_up(environment, root, RUN, Recorded(breaks_at))
    assert not bootstrap.is_ready(environment, root, RUN)
    (environment / "left_over").parent.mkdir(exist_ok=True)
    (environment / "left_over").touch()
    assert built(environment, root, RUN) == ["venv", "kiosk", "fonts"]
    assert not (environment / "left_over").exists()


def test_a_broken_test_layer_does_not_pass_as_ready_to_run(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    with pytest.raises(SystemExit):
        bootstrap.set_up(environment, root, TESTS, Recorded("pip"))
    assert not bootstrap.is_ready(environment, root, RUN)
    assert built(environment, root, RUN) == ["venv", "kiosk", "fonts"]


def test_an_environment_whose_python_is_gone_is_not_ready(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    bootstrap.python_of(environment).unlink()
    assert not bootstrap.is_ready(environment, root, RUN)


def test_an_environment_whose_python_this_user_may_not_run_is_not_ready(
    environment: Path, root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built(environment, root, RUN)
    monkeypatch.setattr(bootstrap.os, "access", lambda path, mode: mode != os.X_OK)
    assert not bootstrap.is_ready(environment, root, RUN)


def test_the_root_reaches_the_environment_by_its_path_file(environment: Path, root: Path) -> None:
    built(environment, root, RUN)
    (path_file,) = environment.rglob("pursuit-kiosk.pth")
    assert path_file.read_text().strip() == str(root)


def prepared(
    arguments: list[str], administrator: bool = False, **missing: list[str]
) -> tuple[list[str], Recorded]:
    recorded = Recorded()
    needed, graphics = missing.get("needed", []), missing.get("graphics", [])
    told = bootstrap.prepared("kiosk", arguments, needed, lambda: graphics, administrator, recorded)
    return told, recorded


def test_with_nothing_missing_the_arguments_go_on_unchanged() -> None:
    assert prepared(["demo", "--seed", "7"])[0] == ["demo", "--seed", "7"]


@pytest.mark.parametrize("arguments", [["start"], [], ["demo"]])
def test_a_missing_package_ends_with_3_and_one_line_to_run(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        prepared(arguments, needed=["python3-venv"], graphics=["libgl1"])
    assert ended.value.code == 3
    told = capsys.readouterr().err.strip()
    assert told.endswith("apt-get install -y --no-install-recommends python3-venv libgl1")
    assert "\n" not in told


def test_start_needs_graphics_and_the_demo_goes_on_without_a_window() -> None:
    with pytest.raises(SystemExit) as ended:
        prepared(["start"], graphics=["libgl1", "libegl1"])
    assert ended.value.code == 3
    assert prepared(["demo", "--seed", "7"], graphics=["libgl1"])[0] == ["demo", "--seed", "7", "--no-window"]
    assert prepared(["demo", "--no-window"], graphics=["libgl1"])[0] == ["demo", "--no-window"]


def test_a_command_that_draws_nothing_does_not_ask_for_graphics() -> None:
    def unasked() -> list[str]:
        raise AssertionError("graphics were looked for")

    arguments = ["norms", "check", "demo_norms"]
    assert bootstrap.prepared("kiosk", arguments, [], unasked, False, Recorded()) == arguments


@pytest.mark.skipif(sys.platform != "linux", reason="graphics packages are looked for on Linux only")
def test_graphics_are_found_by_loading_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bootstrap, "GRAPHICS", {"there": "libc.so.6", "not-there": "libnosuchthing.so.1"})
    assert bootstrap.missing_graphics() == ["not-there"]


def test_an_administrator_gets_the_packages_installed() -> None:
    missing = {"needed": ["python3-venv"], "graphics": ["libegl1"]}
    arguments, recorded = prepared(["demo"], administrator=True, **missing)
    assert arguments == ["demo"]
    assert [command[-2:] for command in recorded.commands] == [["-qq", "update"], ["python3-venv", "libegl1"]]


def test_a_command_that_breaks_ends_the_set_up_with_its_last_words() -> None:
    with pytest.raises(SystemExit, match="Set-up did not finish: no such wheel"):
        bootstrap.run([sys.executable, "-c", "import sys; sys.exit('no such wheel')"])


def test_only_one_set_up_works_at_a_time(environment: Path) -> None:
    with bootstrap.alone(environment):
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
    assert bootstrap.environment_folder(root, RUN) == root / ".venv"
    real = os.access
    monkeypatch.setattr(bootstrap.os, "access", lambda path, mode: mode != os.W_OK and real(path, mode))
    chosen = bootstrap.environment_folder(root, RUN)
    assert chosen.parent == cache / "pursuit-kiosk"
    assert chosen != bootstrap.environment_folder(root.parent, RUN)
    built(root / ".venv", root, RUN)
    assert bootstrap.environment_folder(root, RUN) == root / ".venv"


def test_a_python_too_old_ends_with_3(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 14, "final", 0))
    with pytest.raises(SystemExit) as ended:
        bootstrap.enter("kiosk", [], RUN)
    assert ended.value.code == 3


def test_an_installed_wheel_never_sets_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    monkeypatch.setattr(bootstrap, "_become", lambda command: pytest.fail("left for an environment"))
    bootstrap.enter("kiosk", ["demo"], RUN)
    assert list(tmp_path.iterdir()) == []


# ── The locks ──────────────────────────────────────────────────────────────────────────────────────


def pins(layer: str) -> dict[str, set[str]]:
    """Name -> versions (several where they depend on Python's)."""
    found: dict[str, set[str]] = {}
    for block in blocks(bootstrap.lock_of(ROOT, layer).read_text()):
        name, version = re.match(r"([a-z0-9.-]+)==([^ ;]+)", block).groups()  # type: ignore[union-attr]
        found.setdefault(name, set()).add(version)
    return found


def declared(*groups: str) -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    lists = [project["dependencies"], *(project["optional-dependencies"][group] for group in groups)]
    return {re.split(r"[=<>~! ;\[]", name)[0].lower().replace("_", "-") for one in lists for name in one}


@pytest.mark.parametrize("layer", TESTS)
def test_every_pin_bears_hashes_and_no_host(layer: str) -> None:
    text = bootstrap.lock_of(ROOT, layer).read_text()
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
    installed = tmp_path / "environment"
    subprocess.run([sys.executable, "-m", "venv", str(installed)], check=True)
    python = str(bootstrap.python_of(installed))
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


def _inside(python: str, function: str, folder: Path) -> str:
    code = f"from kiosk import settings; print(settings.{function}())"
    done = subprocess.run([python, "-P", "-c", code], cwd=folder, capture_output=True, text=True, check=True)
    place = done.stdout.strip()
    assert "site-packages" in place
    return place
