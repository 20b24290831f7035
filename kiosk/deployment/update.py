"""An update from file to the version that runs, and the way back by hand.

In this order: the signature, whether it fits, unpacked beside the version that runs, a demo visit by the
kiosk's own user, the store brought to its layout on a copy, the switch. Whatever is refused on the way leaves
the version that runs, and its store, as they were. What happens after the switch is decided by
installed_versions, which no version can break.
"""

import json
import os
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, Protocol

from kiosk.base.errors import Refused
from kiosk.deployment.installed_versions import BESIDE_STORE, VERSIONS, Installation, move_store
from kiosk.deployment.signed_update import (
    Target,
    came_by_update,
    check_fits,
    read_update,
    unpack_update,
)
from kiosk.deployment.version_folder import PYTHON, SYSTEM_PYTHON
from kiosk.storage.key_file import keys_beside
from kiosk.storage.tables import SCHEMA_REVISION

UNIT: Final = "pursuit-kiosk.service"
USER: Final = "pursuit-kiosk"
LONGEST_S: Final = 900.0
PROOF: Final = ("demo", "--visits", "1", "--seed", "7", "--out")
PAGE, FINDINGS = "report.pdf", "findings.json"


@dataclass(frozen=True)
class Opener:
    """Who opens the store while its layout is changed."""

    name: str
    passphrase: str


class Service(Protocol):
    """The machine's side: the kiosk's unit, and programs run as the kiosk's user."""

    def stop(self) -> None:
        """End the kiosk that runs."""

    def start(self) -> None:
        """Start it again."""

    def run(self, command: Sequence[str], home: Path, given: str) -> int:
        """Run a version's program as the kiosk's user with its standard input; its exit code."""

    def give(self, place: Path) -> None:
        """Make the kiosk's user the owner of a file or folder."""


class SystemService:
    """systemd where it runs; elsewhere there is no unit to stop or start."""

    def stop(self) -> None:
        """End the kiosk that runs."""
        self._systemctl("stop")

    def start(self) -> None:
        self._systemctl("start", "--no-block")

    def run(self, command: Sequence[str], home: Path, given: str) -> int:
        """As the kiosk's user, with nothing of this environment but the path to programs."""
        environment = {"PATH": "/usr/bin:/bin", "LANG": "C.UTF-8", "HOME": str(home)}
        try:
            done = subprocess.run(command, cwd=home, env=environment, input=given, encoding="utf-8",
                                  user=USER, group=USER, extra_groups=(), stdout=subprocess.DEVNULL,
                                  stderr=subprocess.DEVNULL, timeout=LONGEST_S)
        except (OSError, subprocess.TimeoutExpired):
            return -1
        return done.returncode

    def give(self, place: Path) -> None:
        """Make the kiosk's user the owner of a file or folder."""
        shutil.chown(place, USER, USER)

    def _systemctl(self, *command: str) -> None:
        if Path("/run/systemd/system").is_dir():
            subprocess.run(["systemctl", *command, UNIT], stdout=subprocess.DEVNULL,
                           stderr=subprocess.DEVNULL)


def install_update(file: Path, public: Path, here: Installation, machine: Target, service: Service,
                   opener: Opener | None) -> str:
    """The version that runs from now on, on trial.

    Refused: as read_update, check_fits and unpack_update; update_changes_store, update_proves_nothing,
    update_store_not_changed.
    """
    update = read_update(file, public)
    check_fits(update.manifest, machine)
    version, folder = update.manifest.version, here.folder(update.manifest.version)
    changes = update.manifest.store_layout != SCHEMA_REVISION and here.store().exists()
    if changes and opener is None:
        raise Refused("update_changes_store", {"version": version})
    unpack_update(update, folder)
    try:
        _prove(folder, service)
        service.stop()
        here.switch(version, _changed_store(here, folder, service, opener) if changes and opener else "")
    except Refused:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    finally:
        service.start()
    _remove_older(here)
    return version


def go_back(here: Installation, service: Service) -> str:
    """The version before, running again; Refused no_version_before."""
    if not here.can_go_back():
        raise Refused("no_version_before")
    service.stop()
    try:
        return here.go_back("asked")
    finally:
        service.start()


def _prove(folder: Path, service: Service) -> None:
    """The new version's first start: a simulated visit from first touch to printed page."""
    subprocess.run([SYSTEM_PYTHON, "-m", "compileall", "-q", str(folder / "lib")], stdout=subprocess.DEVNULL,
                   stderr=subprocess.DEVNULL)
    with _home(service) as home:
        out = Path(home) / "proof"
        code = service.run([str(folder / PYTHON), "-P", "-m", "kiosk", *PROOF, str(out)], Path(home), "")
        if code or not _is_a_visit(out):
            raise Refused("update_proves_nothing", {"version": folder.name, "code": code})


def _is_a_visit(out: Path) -> bool:
    """Whether a page and findings were made, whole."""
    try:
        page, findings = (out / PAGE).read_bytes(), json.loads((out / FINDINGS).read_text("utf-8"))
    except (OSError, ValueError):
        return False
    return page.startswith(b"%PDF-") and b"%%EOF" in page[-64:] and isinstance(findings, Mapping)


def _changed_store(here: Installation, folder: Path, service: Service, opener: Opener) -> str:
    """Bring a copy of the store to the new layout; then it takes the store's place, which is kept beside.

    Its path below the root; the new version itself changes the copy and checks the audit.
    """
    store = here.store()
    copy, kept = (store.with_name(f"{store.name}.{word}-{folder.name}") for word in ("changing", "before"))
    try:
        _copy(store, copy, service)
        with _home(service) as home:
            words = ("--store", str(copy), "--name", opener.name, "--passphrase-file", "/dev/stdin")
            for command in (("upgrade", *words, "--backups", home), ("audit", "verify", *words)):
                program = [str(folder / PYTHON), "-P", "-m", "kiosk", *command]
                if service.run(program, Path(home), f"{opener.passphrase}\n"):
                    raise Refused("update_store_not_changed", {"version": folder.name})
        move_store(store, kept)
        move_store(copy, store)
    except OSError as fault:
        raise Refused("cannot_write", {"file": str(copy), "why": fault.strerror or "no access"}) from fault
    finally:
        for one in (*(copy.with_name(copy.name + ending) for ending in BESIDE_STORE), keys_beside(copy)):
            one.unlink(missing_ok=True)
    return str(kept.relative_to(here.root))


def _copy(store: Path, copy: Path, service: Service) -> None:
    pairs = [(store.with_name(store.name + ending), copy.with_name(copy.name + ending))
             for ending in BESIDE_STORE]
    for source, target in (*pairs, (keys_beside(store), keys_beside(copy))):
        if source.exists():
            shutil.copyfile(source, target)
            target.chmod(0o600)
            service.give(target)


def _home(service: Service) -> "TemporaryDirectory[str]":
    """A folder for one program of the kiosk's user, gone afterwards."""
    home = TemporaryDirectory(prefix="pursuit-kiosk-", ignore_cleanup_errors=True)
    service.give(Path(home.name))
    return home


def _remove_older(here: Installation) -> None:
    """Updates before the last one; what the Debian package brought is the package's."""
    wanted = {here.current(), here.remembered().previous}
    for folder in (here.root / VERSIONS).iterdir():
        if folder.name not in wanted and came_by_update(folder):
            with suppress(OSError):
                shutil.rmtree(folder)


def is_administrator() -> bool:
    """Whether versions and units may be changed."""
    return hasattr(os, "geteuid") and os.geteuid() == 0
