"""The tablet's passport as one page and one file: `kiosk passport`."""

import argparse
from pathlib import Path

from kiosk.app.machine_facts import panel_identity
from kiosk.base.canonical_json import canonical_json
from kiosk.base.errors import Refused
from kiosk.cli.opening import opened
from kiosk.i18n.language import Language, load_language
from kiosk.report.plain_sheet import plain_sheet
from kiosk.touch.input_device import TouchDevice, find_touch_device
from kiosk.visits.findings_json import as_json
from kiosk.visits.passport import make_passport
from kiosk.wording.passport_words import passport_lines


def passport(chosen: argparse.Namespace, language: Language) -> int:
    """Of the tablet kept last, with the touch panel of this machine."""
    archive, page_language = opened(chosen, language, read_only=True).store, load_language(chosen.language)
    device = archive.newest_device()
    if device is None:
        raise Refused("tablet_not_calibrated")
    made = make_passport(device, panel_identity(_panel(chosen.touch)), archive.measurements_of(device.id))
    title = page_language.say("Passport of the tablet")
    page = plain_sheet(title, made.proposed_class, passport_lines(made, page_language), page_language,
                       chosen.paper)
    for name, data in (("passport.json", canonical_json(as_json(made)).encode()), ("passport.pdf", page)):
        try:
            chosen.out.mkdir(parents=True, exist_ok=True)
            (chosen.out / name).write_bytes(data)
        except OSError as fault:
            raise Refused("cannot_write", {"file": name, "why": fault.strerror or "no access"}) from fault
    print(language.say("Passport saved: %(folder)s", folder=Path(chosen.out)))
    return 0


def _panel(name: str | None) -> TouchDevice | None:
    """The panel of this machine; None where none is named and there is not just one."""
    try:
        return find_touch_device(name)
    except Refused:
        if name is not None:
            raise
        return None
