"""`start`: the supervisor, and the kiosk it runs."""

import os
from argparse import Namespace
from pathlib import Path
from typing import Final

from kiosk.app.startup import Wanted
from kiosk.app.supervisor import CRASHED
from kiosk.base.crash_report import report, say_and_leave_nothing
from kiosk.base.errors import KioskError, Refused, WrongUsage
from kiosk.base.settings import data_folder
from kiosk.cli.composition import run_kiosk, supervise
from kiosk.cli.opening import say_recovery_code, signed_in
from kiosk.i18n.language import Language
from kiosk.screens.window import has_display

STORE_NAME: Final = "kiosk.store"
STDIN: Final = "/dev/stdin"


def start(chosen: Namespace, language: Language) -> int:
    """The supervisor, or the kiosk itself where it was started by one."""
    if chosen.touch_ranges and "/" not in chosen.touch:
        raise WrongUsage("touch_wanted", {})
    if not has_display(os.environ):
        raise Refused("no_display")
    store = None if chosen.memory else chosen.store or data_folder() / STORE_NAME
    if not chosen.unsupervised:
        by_file = store is not None and chosen.passphrase_file
        passphrase = signed_in(chosen, language).passphrase if by_file else None
        return supervise(_for_the_child(chosen, store), passphrase)
    return _unsupervised(chosen, store, language)


def _for_the_child(chosen: Namespace, store: Path | None) -> list[str]:
    """The same kiosk's arguments; a passphrase given by a file comes through its standard input.

    Without such a file only the person at the screen knows it: a kiosk that was started again is locked.
    """
    given = ["--memory"] if store is None else ["--store", str(store), "--name", chosen.name]
    given += ["--passphrase-file", STDIN] if store is not None and chosen.passphrase_file else []
    for option in ("touch", "device_class", "pages", "tables", "backups", "language", "place", "paper"):
        value = getattr(chosen, option)
        given += [f"--{option.replace('_', '-')}", str(value)] if value else []
    for option in ("px_per_mm", "touch_ranges"):
        values = getattr(chosen, option)
        given += [f"--{option.replace('_', '-')}", *map(str, values)] if values else []
    return [*given, "--tones"] if chosen.tones else given


def _unsupervised(chosen: Namespace, store: Path | None, language: Language) -> int:
    """The kiosk itself. An error of ours is told by kind and place only: it may hold a person's data."""
    wanted = Wanted(chosen.touch, None if chosen.px_per_mm is None else tuple(chosen.px_per_mm),
                    chosen.device_class, chosen.pages, chosen.tables, chosen.language,
                    None if chosen.touch_ranges is None else tuple(chosen.touch_ranges), chosen.place,
                    chosen.tones, chosen.paper)
    signed = signed_in(chosen, language) if store is not None and chosen.passphrase_file else None
    say_and_leave_nothing()
    try:
        return run_kiosk(wanted, store, chosen.backups, signed,
                         lambda code: say_recovery_code(code, language))
    except KioskError:
        raise
    except Exception as error:
        report(type(error), error.__traceback__)
        return CRASHED
