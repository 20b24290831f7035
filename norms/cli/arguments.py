"""The arguments of the command line of norms: commands, options, and the numbers they take."""

import argparse
from collections.abc import Callable, Mapping
from math import isfinite
from pathlib import Path
from typing import NoReturn

from norms.table.datapackage import AGE_METHODS, INPUTS
from norms.table.signed_statement import ROLES

Arguments = argparse.ArgumentParser
Run = Callable[[argparse.Namespace], int]
SEXES = ("female", "male", "other", "not_asked")


class UsageError(Exception):
    """Wrong usage, in one sentence."""


class Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{self.prog}: {message}")


def parser_of(prog: str, runs: Mapping[str, Run]) -> Parser:
    """The parser; each command sets `run` to what does it."""
    parser = Parser(prog=prog, description="Reference tables and what they say about a number.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for name, (what, add) in _COMMANDS.items():
        command = commands.add_parser(name, help=what)
        add(command)
        command.set_defaults(run=runs[name])
    return parser


def _check(command: Arguments) -> None:
    command.add_argument("folder", metavar="FOLDER", type=Path)


def _show(command: Arguments) -> None:
    _check(command)
    command.add_argument("--pictures", metavar="DIR", type=Path, help="write centiles and people as SVG")


def _build(command: Arguments) -> None:
    command.add_argument("sample", metavar="SAMPLE.csv", type=Path)
    command.add_argument("--out", metavar="FOLDER", type=Path, required=True)
    command.add_argument("--template", metavar="FILE.json", type=Path, help="what a sample cannot say")
    command.add_argument("--questions", metavar="FILE.json", type=Path, help="write such a template and stop")
    command.add_argument("--method", choices=AGE_METHODS, help="how rows come from people (continuous)")
    command.add_argument("--bands", metavar="AGES", help="edges of the age bands, e.g. 18,30,40,91")
    command.add_argument("--device-class", metavar="CLASS", help="the panel, where the sample holds several")
    command.add_argument("--status", choices=("synthetic", "local", "published"))
    command.add_argument("--seed", type=_count, default=2026, metavar="N", help="of the refits")
    command.add_argument("--name")


def _calibrate(command: Arguments) -> None:
    _check(command)
    command.add_argument("--seed", type=_count, metavar="N")
    command.add_argument("--worlds", type=_simulations, metavar="N", help="how many truths are drawn (2000)")
    command.add_argument("--json", action="store_true")


def _bridge(command: Arguments) -> None:
    command.add_argument("pairs", metavar="PAIRS.csv", type=Path,
                         help="columns person, measure, age_years, sex, first_on, table_value, other_value")
    command.add_argument("--table", metavar="FOLDER", type=Path, required=True)
    command.add_argument("--device-class", required=True, help="the other panel")
    command.add_argument("--input", choices=INPUTS, help="the other input (default: the table's)")
    command.add_argument("--from-class", help="the table's panel, where it holds several")
    command.add_argument("--sign", metavar="ROLE", choices=ROLES,
                         help="write the statement into the folder; site_lead or researcher")
    command.add_argument("--json", action="store_true")
    command.add_argument("--pictures", metavar="DIR", type=Path, help="write the pictures of agreement")


def _verify(command: Arguments) -> None:
    command.add_argument("sample", metavar="SAMPLE.csv", type=Path,
                         help="twenty or more local healthy people, purpose reference")
    command.add_argument("--table", metavar="FOLDER", type=Path, required=True)
    command.add_argument("--device-class", help="the panel, where the table holds several")
    command.add_argument("--sign", metavar="ROLE", choices=ROLES,
                         help="write the statement into the folder; site_lead or researcher")
    command.add_argument("--json", action="store_true")


def _plan(command: Arguments) -> None:
    command.add_argument("--people", type=_people, required=True, metavar="N", help="reference volunteers")
    command.add_argument("--ages", default="18,90", metavar="FROM,TO", help="youngest and oldest (18,90)")
    command.add_argument("--pairs", type=_people, default=50, metavar="N", help="retest pairs (50)")
    command.add_argument("--r", type=_correlation, default=0.8, help="retest correlation to expect (.8)")
    command.add_argument("--bridge-people", type=_people, default=60, metavar="N",
                         help="people on two panels (60)")
    command.add_argument("--bridge-r", type=_correlation, default=0.9, help="correlation to expect (.9)")
    command.add_argument("--picture", metavar="FILE.svg", type=Path, help="write the precision over age")
    command.add_argument("--json", action="store_true")


def _asking(command: Arguments) -> None:
    command.add_argument("--table", metavar="FOLDER", type=Path, required=True)
    command.add_argument("--age", type=_number, required=True, help="years with decimals, at the later visit")
    command.add_argument("--sex", choices=SEXES, default="not_asked")
    command.add_argument("--device-class")
    command.add_argument("--json", action="store_true")


def _compare(command: Arguments) -> None:
    _asking(command)
    command.add_argument("--measure", required=True)
    command.add_argument("--value", type=_number, required=True)


def _change(command: Arguments) -> None:
    _asking(command)
    command.add_argument("--measure", required=True)
    command.add_argument("--before", type=_number, required=True)
    command.add_argument("--after", type=_number, required=True)
    command.add_argument("--days", type=_number, required=True, help="days between the two visits")
    command.add_argument("--earlier-visits", type=_count, default=0, metavar="K",
                         help="visits before the first of the two")
    command.add_argument("--classical", action="store_true", help="add the classical indices by name")


def _series(command: Arguments) -> None:
    _asking(command)
    command.add_argument("--measure", required=True)
    command.add_argument("--visits", nargs="+", type=_visit, required=True, metavar="DAY=VALUE",
                         help="days since the first visit, rising, with the value of each; --age at the last")
    command.add_argument("--earlier-visits", type=_count, default=0, metavar="K",
                         help="visits before the first of them")


def _profile(command: Arguments) -> None:
    _asking(command)
    command.add_argument("--values", nargs="+", type=_named_value, required=True, metavar="M=V")


def _reliability(command: Arguments) -> None:
    command.add_argument("pairs", metavar="PAIRS.csv", type=Path, help="columns person, first, second")
    command.add_argument("--json", action="store_true")
    command.add_argument("--picture", metavar="FILE.svg", type=Path, help="write the picture of agreement")


_COMMANDS: Mapping[str, tuple[str, Callable[[Arguments], None]]] = {
    "check": ("list every fault of a table folder", _check),
    "show": ("say what a table folder holds", _show),
    "plan": ("how many people and retest pairs give which precision and power", _plan),
    "build": ("make a table folder from a sample of people", _build),
    "calibrate": ("work out and store false alarms, coverage and power of a table", _calibrate),
    "bridge": ("whether a table and earlier visits may be carried over to another panel or input", _bridge),
    "verify": ("whether a table from elsewhere may be used here, by local healthy people", _verify),
    "compare": ("where one value falls", _compare),
    "change": ("whether a value has changed", _change),
    "series": ("whether a value strays over three visits or more", _series),
    "profile": ("how many of several values are low", _profile),
    "reliability": ("how well a measurement repeats itself", _reliability),
}


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


def _people(text: str) -> int:
    if not text.isdecimal() or not 20 <= int(text[:7]) <= 100_000:
        raise argparse.ArgumentTypeError(f'must be a whole number from 20 to 100000, found "{text}"')
    return int(text)


def _correlation(text: str) -> float:
    value = _number(text)
    if not 0 < value < 1:
        raise argparse.ArgumentTypeError(f'must be between 0 and 1, found "{text}"')
    return value


def _simulations(text: str) -> int:
    if not text.isdecimal() or not 100 <= int(text[:7]) <= 100_000:
        raise argparse.ArgumentTypeError(f'must be a whole number from 100 to 100000, found "{text}"')
    return int(text)


def _named_value(text: str) -> tuple[str, float]:
    name, equals, value = text.partition("=")
    if not (name and equals):
        raise argparse.ArgumentTypeError(f'must be MEASURE=VALUE, found "{text}"')
    return name, _number(value)


def _visit(text: str) -> tuple[float, float]:
    day, value = _named_value(text)
    return _number(day), value


def age_edges(text: str, argument: str = "norms build: argument --bands") -> list[float]:
    """Ages with commas between them; UsageError names the argument."""
    try:
        return [_number(part) for part in text.split(",")]
    except argparse.ArgumentTypeError as error:
        raise UsageError(f"{argument}: {error}") from None
