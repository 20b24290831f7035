"""The command line of norms: `python3 -m norms COMMAND`, or `norms COMMAND`.

Exit codes: 0 done, 1 refused with a reason, 2 wrong usage. Every fault is one plain sentence on standard
error; --json prints one object, unrounded: the fields of Standing, Change or Profile, or
{"refused": CODE, "values": {...}}.
"""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from math import isfinite
from pathlib import Path
from typing import Any, NoReturn

from norms.change import Change, Occasion, change
from norms.inwords import change_lines, profile_lines, standing_lines, table_lines
from norms.lookup import ByHand
from norms.profile import Profile, profile
from norms.reasons import Fault, Refusal, TableFaults, sentence
from norms.standing import Standing, standing
from norms.tablefile import read_folder, write_folder

DAYS_IN_A_YEAR = 365.25
Answer = Standing | Change | Profile | Refusal


class UsageError(Exception):
    """Wrong usage, in one sentence."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{self.prog}: {message}")


def main(argv: Sequence[str] | None = None, prog: str = "norms") -> int:
    """Run one command; returns the exit code."""
    try:
        asked = _parser(prog).parse_args(argv)
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


def _parser(prog: str) -> argparse.ArgumentParser:
    parser = _Parser(prog=prog, description="Reference tables and what they say about a number.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _folder_command(commands, "check", _check, "list every fault of a table folder")
    _folder_command(commands, "show", _show, "say what a table folder holds")
    build = commands.add_parser("build", help="make a table folder from a sample of people")
    build.add_argument("sample", metavar="SAMPLE.csv", type=Path)
    build.add_argument("--out", metavar="FOLDER", type=Path, required=True)
    build.add_argument("--template", metavar="FILE.json", type=Path)
    build.add_argument("--bands", metavar="AGES", help="edges of the age bands, e.g. 18,30,40,91")
    build.add_argument("--status", choices=("synthetic", "local", "published"))
    build.add_argument("--name")
    build.set_defaults(run=_build)
    compare = _judging_command(commands, "compare", _compare, "where one value falls")
    compare.add_argument("--measure", required=True)
    compare.add_argument("--value", type=_number, required=True)
    changed = _judging_command(commands, "change", _change, "whether a value has changed")
    changed.add_argument("--measure", required=True)
    changed.add_argument("--before", type=_number, required=True)
    changed.add_argument("--after", type=_number, required=True)
    changed.add_argument("--days", type=_number, required=True, help="days between the two visits")
    changed.add_argument("--earlier-visits", type=_count, default=0, metavar="K",
                         help="visits before the first of the two")
    together = _judging_command(commands, "profile", _profile, "how many of several values are low")
    together.add_argument("--values", nargs="+", type=_named_value, required=True, metavar="M=V")
    return parser


def _folder_command(commands: Any, name: str, run: Callable[[argparse.Namespace], int], what: str) -> None:
    command = commands.add_parser(name, help=what)
    command.add_argument("folder", metavar="FOLDER", type=Path)
    command.set_defaults(run=run)


def _judging_command(commands: Any, name: str, run: Callable[[argparse.Namespace], int],
                     what: str) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(name, help=what)
    command.add_argument("--table", metavar="FOLDER", type=Path, required=True)
    command.add_argument("--age", type=_number, required=True, help="years with decimals, at the later visit")
    command.add_argument("--sex", choices=("female", "male", "other", "not_asked"), default="not_asked")
    command.add_argument("--device-class")
    command.add_argument("--json", action="store_true")
    command.set_defaults(run=run)
    return command


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise argparse.ArgumentTypeError(f'must be a finite number, found "{text}"')
    return value


def _count(text: str) -> int:
    if not text.isdecimal() or len(text) > 6:
        raise argparse.ArgumentTypeError(f'must be a whole number of 0 or more, found "{text}"')
    return int(text)


def _named_value(text: str) -> tuple[str, float]:
    name, equals, value = text.partition("=")
    if not (name and equals):
        raise argparse.ArgumentTypeError(f'must be MEASURE=VALUE, found "{text}"')
    return name, _number(value)


def _check(asked: argparse.Namespace) -> int:
    table = read_folder(asked.folder)
    print(f"{table.name}: no fault found in {len(table.measures)} measures and {len(table.rows)} rows.")
    return 0


def _show(asked: argparse.Namespace) -> int:
    print("\n".join(table_lines(read_folder(asked.folder))))
    return 0


def _build(asked: argparse.Namespace) -> int:
    from norms.build import build
    from norms.sample import read_sample
    from norms.template import read_template, template
    said = read_template(asked.template.read_bytes()) if asked.template else {}
    said |= {"name": asked.name} if asked.name else {}
    said |= {"bands": [_number_of_band(part) for part in asked.bands.split(",")]} if asked.bands else {}
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


def _number_of_band(text: str) -> float:
    try:
        return _number(text)
    except argparse.ArgumentTypeError as error:
        raise UsageError(f"norms build: argument --bands: {error}") from None


def _compare(asked: argparse.Namespace) -> int:
    table = read_folder(asked.table)
    found = standing(table, asked.measure, asked.value, _asker(asked))
    return _answer(asked, found, lambda: standing_lines(table, found))


def _change(asked: argparse.Namespace) -> int:
    table = read_folder(asked.table)
    before = ByHand(asked.age - asked.days / DAYS_IN_A_YEAR, asked.sex, asked.device_class)
    found = change(table, asked.measure, Occasion(asked.before, before), Occasion(asked.after, _asker(asked)),
                   asked.days, asked.earlier_visits)
    return _answer(asked, found, lambda: change_lines(table, found))


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
    together = profile(table, [one for one in found if isinstance(one, Standing)])
    return _answer(asked, together, lambda: profile_lines(together))


def _asker(asked: argparse.Namespace) -> ByHand:
    return ByHand(asked.age, asked.sex, asked.device_class)


def _answer(asked: argparse.Namespace, found: Answer, lines: Callable[[], list[str]]) -> int:
    if asked.json:
        print(json.dumps(_plain(found), ensure_ascii=False, allow_nan=False))
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
    return type(value)(map(_known, value)) if isinstance(value, (tuple, list)) else value


if __name__ == "__main__":
    sys.exit(main())
