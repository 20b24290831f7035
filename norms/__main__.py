"""The command line of norms: `python3 -m norms COMMAND`, or `norms COMMAND`.

Exit codes: 0 done, 1 refused with a reason, 2 wrong usage. Every fault is one plain sentence on standard
error; --json prints one object, unrounded: the fields of Standing, Change or Profile, or
{"refused": CODE, "values": {...}}.
"""

import argparse
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from math import isfinite
from pathlib import Path
from typing import Any

from norms.arguments import Run, UsageError, age_edges, parser_of
from norms.change import Change, Occasion, change, classical_indices
from norms.distance import ProfileDistance, profile_distance
from norms.inwords import change_lines, profile_lines, reliability_lines, standing_lines, table_lines
from norms.lookup import ByHand
from norms.profile import Profile, profile
from norms.reasons import Fault, Refusal, TableFaults, sentence
from norms.reliability import Reliability, reliability
from norms.repeats import read_repeats
from norms.standing import Standing, standing
from norms.table import Table
from norms.tablefile import read_folder, write_folder

DAYS_IN_A_YEAR = 365.25
Answer = Standing | Change | Profile | ProfileDistance | Reliability | Refusal


def main(argv: Sequence[str] | None = None, prog: str = "norms") -> int:
    """Run one command; returns the exit code."""
    try:
        asked = parser_of(prog, _RUNS).parse_args(argv)
        return int(asked.run(asked))
    except UsageError as error:
        return _complain(str(error), 2)
    except TableFaults as error:
        return _complain(str(error), 1)
    except OSError as error:
        place = Path(error.filename).name if isinstance(error.filename, str) else "the file"
        return _complain(f"{place} could not be read or written: {error.strerror or error}.", 1)
    except SystemExit as done:
        return int(done.code or 0)


def _complain(text: str, code: int) -> int:
    print(text if text.endswith(".") else text + ".", file=sys.stderr)
    return code


def _check(asked: argparse.Namespace) -> int:
    table = read_folder(asked.folder)
    print(f"{table.name}: no fault found in {len(table.measures)} measures and {len(table.rows)} rows.")
    return 0


def _show(asked: argparse.Namespace) -> int:
    table = read_folder(asked.folder)
    print("\n".join([*table_lines(table), *_worth_lines(table)]))
    if asked.pictures:
        from norms.pictures import table_pictures
        _write({asked.pictures / name: picture for name, picture in table_pictures(table).items()})
    return 0


def _worth_lines(table: Table) -> list[str]:
    from norms.calibrate_folder import calibration_of
    from norms.calibrate_words import calibration_lines, not_calibrated
    found = calibration_of(table)
    return not_calibrated() if found is None else calibration_lines(found)


def _calibrate(asked: argparse.Namespace) -> int:
    from norms.calibrate import SEED, WORLDS
    from norms.calibrate_figures import as_json
    from norms.calibrate_folder import calibrate_folder
    from norms.calibrate_words import calibration_lines
    seed = SEED if asked.seed is None else asked.seed
    found = calibrate_folder(asked.folder, datetime.now(UTC).strftime("%Y-%m-%d"), seed,
                             asked.worlds or WORLDS, _tell)
    print(json.dumps(as_json(found), allow_nan=False) if asked.json else "\n".join(calibration_lines(found)))
    return 0


def _tell(done: int, of: int) -> None:
    print(f"calibrated {done} of {of}", file=sys.stderr)


def _write(pictures: Mapping[Path, str]) -> None:
    for path, picture in pictures.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(picture, "utf-8")


def _build(asked: argparse.Namespace) -> int:
    from norms.build import build
    from norms.sample import read_sample
    from norms.template import read_template, template
    said = read_template(asked.template.read_bytes()) if asked.template else {}
    said |= {"name": asked.name} if asked.name else {}
    said |= {"bands": age_edges(asked.bands)} if asked.bands else {}
    if asked.status:
        reference = said.get("reference_table", {})
        said["reference_table"] = {**(reference if isinstance(reference, dict) else {}),
                                   "status": asked.status}
    sample = read_sample(asked.sample.name, asked.sample.read_bytes())
    files = build(sample, template(said, datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")))
    if asked.out.exists() and not asked.out.is_dir():
        raise TableFaults([Fault(asked.out.name, None, None, "must be a folder")])
    write_folder(asked.out, files)
    for reason, lines in sample.left_out.items():
        print(f"Left out: {lines} lines, {reason}.")
    print("\n".join(table_lines(read_folder(asked.out))))
    return 0


def _compare(asked: argparse.Namespace) -> int:
    table = read_folder(asked.table)
    found = standing(table, asked.measure, asked.value, _asker(asked))
    return _answer(asked, found, lambda: standing_lines(table, found))


def _change(asked: argparse.Namespace) -> int:
    table = read_folder(asked.table)
    before = ByHand(asked.age - asked.days / DAYS_IN_A_YEAR, asked.sex, asked.device_class)
    found = change(table, asked.measure, Occasion(asked.before, before), Occasion(asked.after, _asker(asked)),
                   asked.days, asked.earlier_visits)
    more = classical_indices(found) if asked.classical and isinstance(found, Change) else {}
    return _answer(asked, found, lambda: change_lines(table, found, more),
                   {"classical": more} if asked.classical else {})


def _profile(asked: argparse.Namespace) -> int:
    if len(dict(asked.values)) < len(asked.values):
        raise UsageError("norms profile: argument --values: each measure may stand once")
    table = read_folder(asked.table)
    found = [standing(table, name, value, _asker(asked)) for name, value in asked.values]
    refused = [one for one in found if isinstance(one, Refusal)]
    for one in refused[1:]:
        _complain(sentence(one), 1)
    if refused:
        return _answer(asked, refused[0], list)
    placed = [one for one in found if isinstance(one, Standing)]
    together = profile(table, placed)
    return _answer(asked, together, lambda: profile_lines(together),
                   {"distance": _plain(profile_distance(table, placed))} if asked.json else {})


def _reliability(asked: argparse.Namespace) -> int:
    pairs = read_repeats(asked.pairs.name, asked.pairs.read_bytes())
    found = reliability(*pairs)
    if asked.picture:
        from norms.pictures import agreement_picture
        _write({asked.picture: agreement_picture(pairs, found)})
    print(json.dumps(_plain(found), allow_nan=False) if asked.json else "\n".join(reliability_lines(found)))
    return 0


def _asker(asked: argparse.Namespace) -> ByHand:
    return ByHand(asked.age, asked.sex, asked.device_class)


def _answer(asked: argparse.Namespace, found: Answer, lines: Callable[[], list[str]],
            more: Mapping[str, object] | None = None) -> int:
    if asked.json:
        added = {} if isinstance(found, Refusal) else more or {}
        print(json.dumps({**_plain(found), **added}, ensure_ascii=False, allow_nan=False))
    if isinstance(found, Refusal):
        return _complain(sentence(found), 1)
    if not asked.json:
        print("\n".join(lines()))
    return 0


def _plain(found: Answer) -> dict[str, Any]:
    if isinstance(found, Refusal):
        return {"refused": found.code, "values": dict(found.values)}
    return {key: _known(value) for key, value in asdict(found).items()}


def _known(value: Any) -> Any:
    """A number too large to be one is not known: null in JSON."""
    if isinstance(value, float) and not isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _known(one) for key, one in value.items()}
    return [_known(one) for one in value] if isinstance(value, (tuple, list)) else value


_RUNS: Mapping[str, Run] = {"check": _check, "show": _show, "build": _build, "calibrate": _calibrate,
                            "compare": _compare, "change": _change, "profile": _profile,
                            "reliability": _reliability}

if __name__ == "__main__":
    sys.exit(main())
