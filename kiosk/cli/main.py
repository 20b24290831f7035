"""The command line: what each command takes, and how its answer and its refusals are printed.

Exit codes: 0 done, 1 refused with a reason, 2 wrong usage, 3 system packages missing. Errors are one plain
sentence per fault on standard error.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from kiosk.base.crash_report import say_and_leave_nothing
from kiosk.base.errors import FaultyFile, KioskError, WrongUsage
from kiosk.cli.argument_values import PAPERS, latency, positive, px_per_mm
from kiosk.cli.languages import languages_options
from kiosk.cli.pictures import picture_options
from kiosk.i18n.language import Language, load_language
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.trial import TrialPlan
from kiosk.wording.reasons import fault_sentence, sentence
from kiosk.wording.store_words import store_commands

if TYPE_CHECKING:
    from kiosk.app.store_opening import SignIn


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise WrongUsage("wrong_usage", {"command": self.prog, "message": message})


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    language = load_language("en")
    try:
        if arguments[:1] == ["norms"]:
            return _norms(arguments[1:])
        chosen = _parser(language, "".join(arguments[:1])).parse_args(arguments or ["start"])
        if argv is None and hasattr(chosen, "store"):
            say_and_leave_nothing()
        return int(chosen.run(chosen, language))
    except KioskError as refusal:
        _complain(refusal, language)
        return refusal.exit_code
    except BrokenPipeError:
        return 1


def _complain(refusal: KioskError, language: Language) -> None:
    faults = [fault_sentence(f, language) for f in refusal.faults] if isinstance(refusal, FaultyFile) else []
    for line in faults or [sentence(refusal.code, refusal.values, language)]:
        print(line, file=sys.stderr)


def _norms(arguments: list[str]) -> int:
    from kiosk.cli.norms import run

    return run(arguments)


def _parser(language: Language, first: str) -> argparse.ArgumentParser:
    say = language.say
    parser = _Parser(
        prog="kiosk", description=say("Follow a moving disc with a finger: record, score, compare.")
    )
    commands = parser.add_subparsers(metavar=say("COMMAND"), parser_class=_Parser)
    _start_options(commands.add_parser("start", help=say("open the kiosk")))
    _demo_options(commands.add_parser("demo", help=say("simulated visits from first touch to printed page")))
    _target_options(commands.add_parser("target", help=say("where the disc is, as CSV")))
    _score_options(commands.add_parser("score", help=say("score a raw recording, or a folder of them")))
    _report_options(commands.add_parser("report", help=say("make a visit's page again from the store")))
    _check_options(commands.add_parser("check", help=say("what is open on this machine")))
    languages_options(commands.add_parser("languages", help=say("message catalogues of the languages")))
    for name, told in store_commands(language).items():
        command = commands.add_parser(name, help=told)
        if name == first:
            _options_of(name, command)
    told = say("every screen as a picture, with a contact sheet")
    picture_options(commands.add_parser("pictures", help=told))
    commands.add_parser("norms", help=say("reference tables: check, show, build, compare, change, profile"))
    return parser


def _options_of(name: str, parser: argparse.ArgumentParser) -> None:
    """Only now, as the store's libraries take their time to load."""
    from kiosk.cli.sharing import add_options

    add_options(name, parser)


def _start_options(parser: argparse.ArgumentParser) -> None:
    _store_options(parser, required=False)
    parser.add_argument("--memory", action="store_true")
    parser.add_argument("--touch", default="", metavar="NAME|PATH")
    parser.add_argument("--touch-ranges", type=float, nargs=4, metavar=("LEFT", "RIGHT", "BOTTOM", "TOP"))
    parser.add_argument("--place", default="", metavar="NAME")
    parser.add_argument("--px-per-mm", type=px_per_mm, nargs=2, metavar=("X", "Y"))
    parser.add_argument("--device-class", default="not named", metavar="CLASS")
    parser.add_argument("--pages", type=Path, metavar="FOLDER")
    parser.add_argument("--tables", type=Path, metavar="FOLDER")
    parser.add_argument("--backups", type=Path, metavar="FOLDER")
    parser.add_argument("--language", default="en", metavar="TAG")
    parser.add_argument("--tones", action="store_true")
    parser.add_argument("--paper", default=PAPERS[0], choices=PAPERS)
    parser.add_argument("--unsupervised", action="store_true", help=argparse.SUPPRESS)
    parser.set_defaults(run=_start)


def _check_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--site", action="store_true")
    parser.set_defaults(run=_check)


def _demo_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, default=Path("demo-out"), metavar="DIR")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--visits", type=positive, default=2, metavar="K")
    parser.add_argument("--language", default="en", metavar="TAG")
    parser.add_argument("--page-language", default="en", metavar="TAG")
    parser.add_argument("--no-window", action="store_true")
    _store_options(parser, required=False)
    parser.add_argument("--norms", type=Path, metavar="FOLDER")
    parser.add_argument("--pictures", type=Path, metavar="FOLDER")
    parser.set_defaults(run=_demo)


def _trial_options(parser: argparse.ArgumentParser, required: bool) -> None:
    parser.add_argument("--block", required=required, metavar="B")
    parser.add_argument("--hand", required=required, metavar="H")
    parser.add_argument("--trial", required=required, type=int, metavar="N")
    parser.add_argument("--form", choices=("A", "B"))
    parser.add_argument("--side", choices=("left", "right"))


def _target_options(parser: argparse.ArgumentParser) -> None:
    _trial_options(parser, required=True)
    parser.add_argument("--rate", type=positive, default=240, metavar="HZ")
    parser.set_defaults(run=_target)


def _score_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("recording", type=Path, metavar="FILE.csv|FOLDER")
    _trial_options(parser, required=False)
    parser.add_argument("--latency-ms", type=latency, metavar="L")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--plot", type=Path, metavar="FILE.pdf|.png|.csv")
    parser.set_defaults(run=_score)


def _report_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("visit", metavar="VISIT")
    _store_options(parser, required=True)
    parser.add_argument("--out", type=Path, metavar="FILE")
    parser.add_argument("--place", default="", metavar="NAME")
    parser.add_argument("--language", default="en", metavar="TAG")
    parser.add_argument("--paper", choices=PAPERS)
    parser.set_defaults(run=_report)


def _store_options(parser: argparse.ArgumentParser, required: bool) -> None:
    parser.add_argument("--store", type=Path, required=required, metavar="FILE")
    parser.add_argument("--name", default="site", metavar="NAME")
    parser.add_argument("--passphrase-file", type=Path, metavar="FILE")


def _plan(chosen: argparse.Namespace) -> TrialPlan:
    for name in ("block", "hand", "trial"):
        if getattr(chosen, name) is None:
            raise WrongUsage("trial_not_named", {"option": f"--{name}"})
    return load_battery().plan(
        chosen.block, chosen.hand, chosen.trial, form=chosen.form or "A", side=chosen.side
    )


def _target(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.exchange.trial_csv import write_target

    write_target(_plan(chosen), chosen.rate, sys.stdout)
    return 0


def _score(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.cli.score import score_folder, score_one

    if not chosen.recording.is_dir():
        score_one(chosen, _plan(chosen), language)
        return 0
    refused = score_folder(chosen, load_battery(), language)
    for refusal in refused:
        _complain(refusal, language)
    return 1 if refused else 0


def _demo(chosen: argparse.Namespace, language: Language) -> int:
    if chosen.norms is not None:
        from kiosk.demo.reference_sample import write_demo_norms

        write_demo_norms(chosen.norms, chosen.seed, load_battery())
        return 0
    from kiosk.cli.composition import run_demo

    store = None if chosen.store is None else (chosen.store, _sign_in(chosen, language))
    run_demo(chosen.out, seed=chosen.seed, visits=chosen.visits, language_tag=chosen.language,
             page_tag=chosen.page_language, window=not chosen.no_window, store=store,
             tell_code=lambda code: print(language.say("Recovery code, told this once: %(code)s", code=code)))
    print(language.say("Page, findings and trials are in %(folder)s.", folder=chosen.out))
    return 0


def _sign_in(chosen: argparse.Namespace, language: Language) -> "SignIn":
    from kiosk.app.store_opening import SignIn, asked_passphrase

    return SignIn(asked_passphrase(chosen.passphrase_file, language.say("Passphrase: ")), chosen.name)


def _start(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.cli.start import start

    return start(chosen, language, lambda: _sign_in(chosen, language))


def _check(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.cli.start import check

    return check(language)


def _report(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.cli.composition import remake_report

    out = remake_report(chosen.visit, chosen.store, _sign_in(chosen, language), chosen.out,
                        load_language(chosen.language), chosen.place, chosen.paper)
    print(language.say("Page saved: %(file)s", file=out))
    return 0
