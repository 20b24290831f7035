"""Commands on what a table is worth: `norms calibrate`, `norms bridge`, and their part of `norms show`."""

import argparse
import json
import sys

from norms.cli.arguments import UsageError
from norms.table.calibrate_figures import as_json
from norms.table.folder import read_folder
from norms.table.table import Table
from norms.worth.bridging_folder import Bridging, Panels, bridging, sign
from norms.worth.bridging_words import bridging_json, bridging_lines, statement_lines
from norms.worth.calibrate import SEED, WORLDS
from norms.worth.calibrate_folder import calibrate_folder, calibration_of
from norms.worth.calibrate_words import calibration_lines, not_calibrated
from norms.worth.repeats import Repeats


def worth_lines(table: Table) -> list[str]:
    """Statements and key figures stored with a table."""
    found = calibration_of(table)
    return [*(line for one in table.carried_over for line in statement_lines(one)),
            *(not_calibrated() if found is None else calibration_lines(found))]


def calibrate_table(asked: argparse.Namespace, today: str) -> int:
    """Work the figures out, store and print them; `today` is a day YYYY-MM-DD."""
    seed = SEED if asked.seed is None else asked.seed
    found = calibrate_folder(asked.folder, today, seed, asked.worlds or WORLDS, _tell)
    print(json.dumps(as_json(found), allow_nan=False) if asked.json else "\n".join(calibration_lines(found)))
    return 0


def bridge_panels(asked: argparse.Namespace, today: str) -> int:
    """Judge a bridging study and, where asked, sign what it carries over; `today` is a day YYYY-MM-DD."""
    table = read_folder(asked.table)
    known = sorted({row.device_class for row in table.rows})
    if asked.from_class is None and len(known) > 1:
        raise UsageError(f"norms bridge: argument --from-class: name one of {', '.join(known)}")
    panels = Panels(asked.from_class or known[0], asked.device_class, asked.input or table.input)
    found = bridging(table, panels, asked.pairs.name, asked.pairs.read_bytes())
    _draw(asked, found)
    plain = asked.json
    print(json.dumps(bridging_json(found), allow_nan=False) if plain else "\n".join(bridging_lines(found)))
    if not found.carries:
        signed = ", so nothing is signed" if asked.sign else ""
        print(f"Nothing may be carried over{signed}.", file=sys.stderr)
        return 1
    if asked.sign:
        sign(asked.table, found, asked.sign, today)
    return 0


def _draw(asked: argparse.Namespace, found: Bridging) -> None:
    if asked.pictures is None:
        return
    from norms.build.pictures import agreement_picture
    asked.pictures.mkdir(parents=True, exist_ok=True)
    for measure, agreement, pairs in found.by_measure():
        picture = agreement_picture(Repeats(pairs.table_z, pairs.other_z), agreement)
        (asked.pictures / f"{measure}.svg").write_text(picture, "utf-8")


def _tell(done: int, of: int) -> None:
    print(f"calibrated {done} of {of}", file=sys.stderr)
