"""`check --fix` and `--undo`: small changes to the operating system's configuration, each recorded.

A fix makes a file or a link of its own, or adds a marked block at the end of a file that must be one file.
A file that is there already is left as it is. Before a change is made it is recorded, so that a run that was
cut off can be undone; undoing takes away only what still is as it was written. Decision packaging-6.
"""

import json
import os
import shutil
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Any, Final

from kiosk.base.errors import Refused
from kiosk.deployment.machine_check import UNIT, Machine, State, site_findings

RECORD: Final = "var/lib/pursuit-kiosk-machine/changes.json"
MARK: Final = "# Written by `kiosk check --fix`; `kiosk check --undo` takes it away.\n"
SERVER_FLAGS: Final = 'Section "ServerFlags"\n{options}EndSection\n'
UNITS: Final = "etc/systemd/system"
X_SERVER: Final = "etc/X11/xorg.conf.d"


class Kind(Enum):
    """What a change is: a file of our own, a link, or a block added to a file that others wrote."""

    FILE = "file"
    LINK = "link"
    BLOCK = "block"


@dataclass(frozen=True)
class Change:
    """One change. path: below the root; content: the text, or where a link leads.

    folders: those that were made for it, outermost first.
    """

    item: str
    kind: Kind
    path: str
    content: str
    folders: tuple[str, ...] = ()


class Outcome(Enum):
    """What came of one change."""

    MADE = "made"
    UNDONE = "undone"
    LEFT = "left"  # something that we did not write stands there


@dataclass(frozen=True)
class Done:
    """A change and what came of it."""

    change: Change
    outcome: Outcome


def _server_options(*pairs: tuple[str, str]) -> str:
    options = "".join(f'    Option "{name}" "{value}"\n' for name, value in pairs)
    return MARK + SERVER_FLAGS.format(options=options)


FIXES: Final[tuple[Change, ...]] = (
    Change("virtual_terminals", Kind.FILE, f"{X_SERVER}/90-pursuit-kiosk-terminals.conf",
           _server_options(("DontVTSwitch", "true"))),
    Change("server_kill_key", Kind.FILE, f"{X_SERVER}/90-pursuit-kiosk-kill-key.conf",
           _server_options(("DontZap", "true"))),
    Change("screen_blanking", Kind.FILE, f"{X_SERVER}/90-pursuit-kiosk-blanking.conf",
           _server_options(("BlankTime", "0"), ("StandbyTime", "0"), ("SuspendTime", "0"), ("OffTime", "0"))),
    Change("consoles", Kind.FILE, "etc/systemd/logind.conf.d/90-pursuit-kiosk.conf",
           f"{MARK}[Login]\nNAutoVTs=0\nReserveVT=0\n"),
    Change("consoles", Kind.LINK, f"{UNITS}/getty@tty1.service", os.devnull),
    Change("magic_keys", Kind.FILE, "etc/sysctl.d/99-zz-pursuit-kiosk.conf", f"{MARK}kernel.sysrq = 0\n"),
    Change("autologin", Kind.LINK, f"{UNITS}/multi-user.target.wants/{UNIT}",
           f"/usr/lib/systemd/system/{UNIT}"),
    Change("spool_kept", Kind.BLOCK, "etc/cups/cupsd.conf", f"\n{MARK}PreserveJobFiles No\n"),
    Change("usb_storage", Kind.FILE, "etc/modprobe.d/pursuit-kiosk-usb-storage.conf",
           f"{MARK}blacklist usb_storage\ninstall usb_storage /bin/false\ninstall uas /bin/false\n"),
)


def fix(machine: Machine, fixes: Iterable[Change] = FIXES) -> list[Done]:
    """Make the changes of every item that stands open; Refused needs_root, cannot_write."""
    _check_rights(machine)
    open_now = {one.code for one in site_findings(machine) if one.state is State.OPEN}
    return [_made(machine, one) for one in fixes if one.item in open_now and _helps(machine, one)]


def undo(machine: Machine) -> list[Done]:
    """Take every recorded change away again, the last one first; Refused as `fix`."""
    _check_rights(machine)
    done = [_undone(machine, one) for one in reversed(recorded(machine))]
    with suppress(OSError):
        (machine.root / RECORD).unlink()
        (machine.root / RECORD).parent.rmdir()
    return done


def recorded(machine: Machine) -> tuple[Change, ...]:
    """The changes made so far; Refused record_unreadable."""
    file = machine.root / RECORD
    if not file.exists():
        return ()
    try:
        return tuple(_change(one) for one in json.loads(file.read_text("utf-8")))
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise Refused("record_unreadable", {"file": f"/{RECORD}"}) from fault


def _check_rights(machine: Machine) -> None:
    if machine.root == Path("/") and os.geteuid() != 0:
        raise Refused("needs_root", {})


def _helps(machine: Machine, change: Change) -> bool:
    """A unit that is not there cannot be started; the print server's file cannot be made here."""
    return machine.unit_is_there() if change.item == "autologin" else True


def _made(machine: Machine, change: Change) -> Done:
    place = machine.root / change.path
    if change.kind is not Kind.BLOCK and (place.exists() or place.is_symlink()):
        return Done(change, Outcome.LEFT)
    change = replace(change, folders=_missing_folders(machine.root, change.path))
    earlier = [one for one in recorded(machine) if one.path != change.path]
    try:
        _record(machine, [*earlier, change])
        _write(place, change)
    except OSError as fault:
        why = fault.strerror or "no access"
        raise Refused("cannot_write", {"file": f"/{change.path}", "why": why}) from fault
    return Done(change, Outcome.MADE)


def _missing_folders(root: Path, path: str) -> tuple[str, ...]:
    return tuple(str(one) for one in reversed(Path(path).parents) if not (root / one).exists())


def _write(place: Path, change: Change) -> None:
    place.parent.mkdir(parents=True, exist_ok=True)
    if change.kind is Kind.LINK:
        place.symlink_to(change.content)
    elif change.kind is Kind.BLOCK:
        with place.open("a", encoding="utf-8") as file:
            file.write(change.content)
    else:
        place.write_text(change.content, "utf-8")


def _undone(machine: Machine, change: Change) -> Done:
    try:
        taken = _take_away(machine.root / change.path, change)
    except OSError as fault:
        why = fault.strerror or "no access"
        raise Refused("cannot_write", {"file": f"/{change.path}", "why": why}) from fault
    for folder in reversed(change.folders):
        with suppress(OSError):  # something else stands in it by now
            (machine.root / folder).rmdir()
    return Done(change, Outcome.UNDONE if taken else Outcome.LEFT)


def _take_away(place: Path, change: Change) -> bool:
    """Whether nothing of the change is left; False where it is no longer as it was written."""
    if not place.exists() and not place.is_symlink():
        return True
    if change.kind is Kind.LINK:
        ours = place.is_symlink() and os.readlink(place) == change.content
    elif change.kind is Kind.FILE:
        ours = place.is_file() and place.read_text("utf-8", "replace") == change.content
    else:
        text = place.read_text("utf-8", "surrogateescape")
        ours = change.content in text
        if ours:
            _replace(place, text.replace(change.content, "").encode("utf-8", "surrogateescape"))
        return ours
    if ours:
        place.unlink()
    return ours


def _record(machine: Machine, changes: list[Change]) -> None:
    file = machine.root / RECORD
    file.parent.mkdir(parents=True, exist_ok=True)
    listed = [{**asdict(one), "kind": one.kind.value} for one in changes]
    _replace(file, (json.dumps(listed, indent=1) + "\n").encode())


def _change(read: Mapping[str, Any]) -> Change:
    return Change(str(read["item"]), Kind(read["kind"]), str(read["path"]), str(read["content"]),
                  tuple(map(str, read["folders"])))


def _replace(file: Path, content: bytes) -> None:
    """The new content or the old, never half of it; with the rights the file had."""
    beside = file.with_name(f".{file.name}.new")
    with beside.open("wb") as new:
        new.write(content)
        new.flush()
        os.fsync(new.fileno())
    if file.exists():
        shutil.copystat(file, beside)
        shutil.chown(beside, file.stat().st_uid, file.stat().st_gid)
    beside.replace(file)
