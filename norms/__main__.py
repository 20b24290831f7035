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
from itertools import pairwise
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from norms.cli.arguments import Run, UsageError, parser_of
from norms.cli.formatting import (
    change_lines,
    profile_lines,
    reliability_lines,
    series_lines,
    standing_lines,
    table_lines,
)
from norms.judge.change import Change, Occasion, change, classical_indices
from norms.judge.distance import ProfileDistance, profile_distance
from norms.judge.lookup import ByHand
from norms.judge.profile import Profile, profile
from norms.judge.series import Series, series
from norms.judge.standing import Standing, standing
from norms.table.folder import read_folder
from norms.table.reasons import Refusal, TableFaults, sentence
from norms.worth.reliability import Reliability, reliability
from norms.worth.repeats import read_repeats

if TYPE_CHECKING:
    from norms.build.provenance import ProvenanceSheet

DAYS_IN_A_YEAR = 365.25
Answer = Standing | Change | Series | Profile | ProfileDistance | Reliability | Refusal


def main(argv: Sequence[str] | None = None, prog: str = "norms",
         on_sheet: Callable[["ProvenanceSheet", Path], None] | None = None) -> int:
    """Run one command; returns the exit code. `on_sheet` draws the sheet of a built table into its folder."""
    try:
        asked = parser_of(prog, _RUNS).parse_args(argv)
        asked.on_sheet = on_sheet
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
    from norms.cli.worth import worth_lines
    table = read_folder(asked.folder)
    print("\n".join([*table_lines(table), *worth_lines(table)]))
    if asked.pictures:
        from norms.build.pictures import table_pictures
        _write({asked.pictures / name: picture for name, picture in table_pictures(table).items()})
    return 0


def _calibrate(asked: argparse.Namespace) -> int:
    from norms.cli.worth import calibrate_table
    return calibrate_table(asked, _today())


def _bridge(asked: argparse.Namespace) -> int:
    from norms.cli.worth import bridge_panels
    return bridge_panels(asked, _today())


def _today() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%d")


def _write(pictures: Mapping[Path, str]) -> None:
    for path, picture in pictures.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(picture, "utf-8")


def _build(asked: argparse.Namespace) -> int:
    from norms.cli.build import run
    return run(asked, datetime.now(UTC), _slow_work(), asked.on_sheet)


def _slow_work() -> Callable[[str, int, int], None]:
    """Tells how far long work is, at most once a second."""
    told = [datetime.now(UTC)]

    def tell(what: str, done: int, of: int) -> None:
        if (datetime.now(UTC) - told[0]).total_seconds() >= 1:
            told[0] = datetime.now(UTC)
            print(f"{what}: {done}" + (f" of {of}" if of else ""), file=sys.stderr)

    return tell


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


def _series(asked: argparse.Namespace) -> int:
    days = [day for day, _ in asked.visits]
    if any(later <= earlier for earlier, later in pairwise(days)):
        raise UsageError("norms series: argument --visits: days must rise from visit to visit")
    table = read_folder(asked.table)
    visits = [Occasion(value, ByHand(asked.age - (days[-1] - day) / DAYS_IN_A_YEAR, asked.sex,
                                     asked.device_class)) for day, value in asked.visits]
    found = series(table, asked.measure, visits, days, asked.earlier_visits)
    return _answer(asked, found, lambda: series_lines(table, found))


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
        from norms.build.pictures import agreement_picture
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
                            "bridge": _bridge, "compare": _compare, "change": _change, "series": _series,
                            "profile": _profile, "reliability": _reliability}

if __name__ == "__main__":
    sys.exit(main())
