"""Set-up, with the standard library only: a virtual environment from hash-locked wheels, then into it.

A layer is a folder with a requirements.txt: "kiosk" to run, "tests" to test on top of it. A layer is
ready when its stamp in the environment names these locks, this Python, this place and this text. The
environment stands at the root, or in the user's cache folder where the root cannot be written. On
Windows (not tried) two set-ups at once are not kept apart.

These few sentences are English only: the catalogues can be read no earlier than the environment is.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OLDEST_PYTHON = (3, 11)
GRAPHICS = {"libgl1": "libGL.so.1", "libegl1": "libEGL.so.1"}
PIP_INSTALL = ("-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check")
LOCKED = ("--require-hashes", "--no-deps", "--only-binary", ":all:", "-r")
LEFT_BEHIND = ("PYTHONPATH", "PYTHONHOME", "PIP_USER", "PIP_TARGET", "PIP_PREFIX")
BUILDING = "building"
DRAWING = ("start", "demo")

Run = Callable[[Sequence[str]], None]


def enter(module: str, arguments: Sequence[str], layers: Sequence[str]) -> None:
    """Become `python -P -m module arguments` in a ready environment; return at once in a wheel."""
    if not (ROOT / "pyproject.toml").is_file():
        return
    _check_python()
    environment = environment_folder(ROOT, layers)
    ready = is_ready(environment, ROOT, layers)
    needed = [] if ready else missing_venv()
    arguments = prepared(module, arguments, needed, missing_graphics, is_administrator(), run)
    if not ready:
        with alone(environment):
            set_up(environment, ROOT, layers, run)
    _become([str(python_of(environment)), "-P", "-m", module, *arguments])


def environment_folder(root: Path, layers: Sequence[str]) -> Path:
    """A ready environment at the root; else the root if it can be written; else the user's cache."""
    beside = root / ".venv"
    writable = os.access(beside if beside.exists() else root, os.W_OK)
    if writable or is_ready(beside, root, layers):
        return beside
    given = Path(os.environ.get("XDG_CACHE_HOME", ""))
    cache = given if given.is_absolute() else Path.home() / ".cache"
    return cache / "pursuit-kiosk" / f"venv-{hashlib.sha256(bytes(root)).hexdigest()[:12]}"


def is_ready(environment: Path, root: Path, layers: Sequence[str]) -> bool:
    """Whether every layer was finished from these very locks."""
    if (environment / BUILDING).exists() or not _runs(environment):
        return False
    return all(_read(_stamp_file(environment, layer)) == stamp(root, layer) for layer in layers)


def stamp(root: Path, layer: str) -> str:
    """A hash of all that an environment's layer is made from."""
    parts = (
        lock_of(root, layer).read_bytes(),
        b"%d.%d" % sys.version_info[:2],
        sys.implementation.name.encode(),
        bytes(root),
        Path(__file__).read_bytes(),
        (root / "kiosk" / "i18n" / "fonts.py").read_bytes(),
    )
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def set_up(environment: Path, root: Path, layers: Sequence[str], run: Run) -> None:
    """Finish every layer that is not ready; anything stale or half-built is built from nothing."""
    if is_ready(environment, root, layers):
        return
    print("Setting up: this is done once and takes about a minute.", file=sys.stderr, flush=True)
    python = str(python_of(environment))
    if not _can_be_added_to(environment, root, layers):
        shutil.rmtree(environment, ignore_errors=True)
        run([sys.executable, "-I", "-m", "venv", str(environment)])
    (environment / BUILDING).touch()
    waiting = [layer for layer in layers if not is_stamped(environment, root, layer)]
    for layer in waiting:
        run([python, *PIP_INSTALL, *LOCKED, str(lock_of(root, layer))])
    if "kiosk" in waiting:
        _packages_folder(environment).joinpath("pursuit-kiosk.pth").write_text(f"{root}\n", "utf-8")
        run([python, "-P", "-m", "kiosk.i18n.fonts"])
    for layer in waiting:
        _stamp_file(environment, layer).write_text(stamp(root, layer), "utf-8")
    (environment / BUILDING).unlink()


def is_stamped(environment: Path, root: Path, layer: str) -> bool:
    """Whether one layer was finished from its lock."""
    return _read(_stamp_file(environment, layer)) == stamp(root, layer)


def missing_venv() -> list[str]:
    """The Debian package without which no environment can be made."""
    from importlib.util import find_spec

    return [] if find_spec("ensurepip") and find_spec("venv") else ["python3-venv"]


def missing_graphics() -> list[str]:
    """The packages without which no window, seen or unseen, can be drawn."""
    import ctypes

    def loads(library: str) -> bool:
        try:
            return bool(ctypes.CDLL(library))
        except OSError:
            return False

    wanted = GRAPHICS if sys.platform == "linux" else {}
    return [package for package, library in wanted.items() if not loads(library)]


def prepared(
    module: str,
    arguments: Sequence[str],
    needed: Sequence[str],
    graphics: Callable[[], Sequence[str]],
    administrator: bool,
    run: Run,
) -> list[str]:
    """The arguments to go on with, once the system's packages are there.

    An administrator's call installs what is missing. Anyone else is told the one line to run, exit 3;
    only a demo that lacks nothing but graphics goes on, without a window.
    """
    command = arguments[0] if module == "kiosk" and arguments else "start"
    missing = [*needed, *(graphics() if command in DRAWING else ())]
    if missing and administrator:
        install(missing, run)
    elif needed or (missing and command != "demo"):
        line = " ".join(apt_install(missing))
        print(f"System packages are missing. Run once: sudo {line}", file=sys.stderr)
        raise SystemExit(3)
    elif missing and "--no-window" not in arguments:
        return [*arguments, "--no-window"]
    return list(arguments)


def install(packages: Sequence[str], run: Run) -> None:
    """Install packages of the system, asking nothing."""
    os.environ["DEBIAN_FRONTEND"] = "noninteractive"
    run(["apt-get", "-qq", "update"])
    run(apt_install(packages))


def apt_install(packages: Sequence[str]) -> list[str]:
    """The command that installs packages on Debian."""
    return ["apt-get", "install", "-y", "--no-install-recommends", *packages]


def is_administrator() -> bool:
    """Whether packages of the system may be installed."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def run(command: Sequence[str]) -> None:
    """Run quietly; on failure end with its last words."""
    kept = {name: value for name, value in os.environ.items() if name not in LEFT_BEHIND}
    done = subprocess.run(command, env=kept, capture_output=True, text=True, errors="replace")
    if done.returncode:
        told = (done.stderr.strip() or done.stdout.strip() or "no message").splitlines()
        raise SystemExit("Set-up did not finish: " + "\n".join(told[-5:]))


@contextmanager
def alone(environment: Path) -> Iterator[None]:
    """Hold the folder the environment stands in, so that a second set-up waits for the first."""
    try:
        environment.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise SystemExit(f"Set-up needs a folder it can write: set XDG_CACHE_HOME ({fault})") from None
    if os.name == "nt":
        yield
        return
    import fcntl

    folder = os.open(environment.parent, os.O_RDONLY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder)


def lock_of(root: Path, layer: str) -> Path:
    """The hash-locked list of a layer's wheels."""
    return root / layer / "requirements.txt"


def python_of(environment: Path) -> Path:
    """The interpreter inside an environment."""
    return environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _check_python() -> None:
    if sys.version_info[:2] < OLDEST_PYTHON:
        print("Python 3.11 or newer is needed.", file=sys.stderr)
        raise SystemExit(3)


def _runs(environment: Path) -> bool:
    return os.access(python_of(environment), os.X_OK)


def _can_be_added_to(environment: Path, root: Path, layers: Sequence[str]) -> bool:
    whole = not (environment / BUILDING).exists() and _runs(environment)
    later_are_new = not any(_stamp_file(environment, layer).exists() for layer in layers[1:])
    return whole and later_are_new and is_stamped(environment, root, layers[0])


def _become(command: list[str]) -> None:
    sys.stdout.flush()
    if os.name == "nt":
        raise SystemExit(subprocess.run(command).returncode)
    os.execv(command[0], command)


def _packages_folder(environment: Path) -> Path:
    import sysconfig

    place = {"base": str(environment), "platbase": str(environment)}
    return Path(sysconfig.get_path("purelib", scheme="venv", vars=place))


def _stamp_file(environment: Path, layer: str) -> Path:
    return environment / f"{layer}.stamp"


def _read(path: Path) -> str | None:
    return path.read_text("utf-8") if path.is_file() else None
