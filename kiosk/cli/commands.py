"""The table of commands: name, help, arguments, and the function that runs each.

The parser (kiosk.cli.main), `--help` and the test of README and handbook all read this one table. To add a
command, add a row here and a function in the module of its family. This module imports only what `--help`
needs: the modules that do the work are named as text, "module:function", and imported when the command runs.
For the same reason a few sets of choices are repeated here; a test keeps them equal to those of the code.

Decision architecture-5.
"""

import argparse
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from kiosk.base.settings import locales_folder
from kiosk.i18n.message import N_, Message

Parser = argparse.ArgumentParser

PAPERS = ("A4", "Letter")
UPDATE_KEY = Path("/etc/pursuit-kiosk/update-key.pem")
ERASURE_REASONS = ("asked", "retention_over", "entered_in_error", "erased_elsewhere")
TRANSLATION_ROLES = ("forward-translator", "back-translator", "reviewer", "pilot", "approver")


def no_arguments(parser: Parser) -> None:
    """The arguments of a command that takes none."""


class Command(NamedTuple):
    """One row of the table. `run` is "module:function", called with the parsed arguments and the language.

    A command with `commands` below it runs nothing itself. `passes_on`: all that follows its name goes unread
    to the function that runs it (`chosen.rest`).
    """

    name: str
    help: Message | None = None
    arguments: Callable[[Parser], None] = no_arguments
    run: str = ""
    commands: tuple["Command", ...] = ()
    passes_on: bool = False


def positive(text: str) -> int:
    """A whole number of 1 or more."""
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"must be 1 or more, got {number}")
    return number


def number_in(low: float, high: float) -> Callable[[str], float]:
    """A number inside these bounds; others (nan and inf too) are wrong usage."""

    def number(text: str) -> float:
        value = float(text)
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"must be a number from {low:g} to {high:g}, got {text}")
        return value

    return number


latency = number_in(0.0, 1000.0)
px_per_mm = number_in(1.0, 100.0)


def date(text: str) -> object:
    """A day as YYYY-MM-DD."""
    from datetime import date

    return date.fromisoformat(text)


def _store(parser: Parser, *, required: bool = True) -> None:
    """Which store, and who opens it with which passphrase."""
    parser.add_argument("--store", type=Path, required=required, metavar="FILE")
    parser.add_argument("--name", default="site", metavar="NAME")
    parser.add_argument("--passphrase-file", type=Path, metavar="FILE")


def _start(parser: Parser) -> None:
    _store(parser, required=False)
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
    parser.add_argument("--settings", action=_SettingsFile, metavar="FILE")
    parser.add_argument("--unsupervised", action="store_true", help=argparse.SUPPRESS)


class _SettingsFile(argparse.Action):
    """The options that a settings file stands for, as if they stood in its place."""

    def __call__(self, parser: Parser, namespace: argparse.Namespace, values: object,
                 option_string: str | None = None) -> None:
        from kiosk.base.errors import Refused
        from kiosk.deployment.service_settings import options_of
        from kiosk.i18n.language import load_language
        from kiosk.wording.reasons import sentence

        try:
            options = options_of(Path(str(values)))
        except Refused as refusal:
            parser.error(sentence(refusal.code, refusal.values, load_language("en")).removesuffix("."))
        parser.parse_args(options, namespace)


def _check(parser: Parser) -> None:
    parser.add_argument("--site", action="store_true")
    parser.add_argument("--root", type=Path, default=Path("/"), metavar="FOLDER")
    changing = parser.add_mutually_exclusive_group()
    changing.add_argument("--fix", action="store_true")
    changing.add_argument("--undo", action="store_true")


def _bundle(parser: Parser) -> None:
    parser.add_argument("--out", type=Path, required=True, metavar="DIR")
    parser.add_argument("--signing-key", type=Path, metavar="FILE")


def _update(parser: Parser) -> None:
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE.update")
    parser.add_argument("--back", action="store_true")
    parser.add_argument("--new-key", type=Path, metavar="FILE")
    parser.add_argument("--key", type=Path, default=UPDATE_KEY, metavar="FILE.pub")
    parser.add_argument("--name", default="site", metavar="NAME")
    parser.add_argument("--passphrase-file", type=Path, metavar="FILE")


def _demo(parser: Parser) -> None:
    parser.add_argument("--out", type=Path, default=Path("demo-out"), metavar="DIR")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--visits", type=positive, default=2, metavar="K")
    parser.add_argument("--language", default="en", metavar="TAG")
    parser.add_argument("--page-language", default="en", metavar="TAG")
    parser.add_argument("--no-window", action="store_true")
    _store(parser, required=False)
    parser.add_argument("--norms", type=Path, metavar="FOLDER")


def _pictures(parser: Parser) -> None:
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--languages", default="en", metavar="TAG,TAG")
    parser.add_argument("--themes", default="dark,light", metavar="dark,light")
    parser.add_argument("--panels", default="A,B", metavar="A,B")


def _trial(parser: Parser, *, required: bool) -> None:
    parser.add_argument("--block", required=required, metavar="B")
    parser.add_argument("--hand", required=required, metavar="H")
    parser.add_argument("--trial", required=required, type=int, metavar="N")
    parser.add_argument("--form", choices=("A", "B"))
    parser.add_argument("--side", choices=("left", "right"))


def _target(parser: Parser) -> None:
    _trial(parser, required=True)
    parser.add_argument("--rate", type=positive, default=240, metavar="HZ")


def _score(parser: Parser) -> None:
    parser.add_argument("recording", type=Path, metavar="FILE.csv|FOLDER")
    _trial(parser, required=False)
    parser.add_argument("--latency-ms", type=latency, metavar="L")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--plot", type=Path, metavar="FILE.pdf|.png|.csv")


def _report(parser: Parser) -> None:
    parser.add_argument("visit", metavar="VISIT")
    _store(parser)
    parser.add_argument("--out", type=Path, metavar="FILE")
    parser.add_argument("--place", default="", metavar="NAME")
    parser.add_argument("--language", default="en", metavar="TAG")
    parser.add_argument("--paper", choices=PAPERS)


def _passport(parser: Parser) -> None:
    _store(parser)
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--touch", metavar="NAME")
    parser.add_argument("--language", default="en", metavar="TAG")
    parser.add_argument("--paper", default=PAPERS[0], choices=PAPERS)


def _leaflet(parser: Parser) -> None:
    parser.add_argument("visit", metavar="VISIT")
    parser.add_argument("--out", type=Path, metavar="FILE")
    parser.add_argument("--place", default="", metavar="NAME")
    parser.add_argument("--paper", default=PAPERS[0], choices=PAPERS)
    _store(parser)


def _export(parser: Parser) -> None:
    parser.add_argument("what", metavar="VISIT|all")
    parser.add_argument("--to", choices=("sample", "csv", "bids", "fhir"), required=True)
    parser.add_argument("--out", type=Path, required=True, metavar="FILE|FOLDER")
    parser.add_argument("--release", choices=("R4B", "R5"), default="R4B")
    parser.add_argument("--identified", action="store_true")
    _store(parser)


def _folder(parser: Parser) -> None:
    """The folder of message catalogues that every command below `languages` works in."""
    parser.add_argument("--folder", type=Path, default=locales_folder(), metavar="DIR")


def _one_language(parser: Parser) -> None:
    _folder(parser)
    parser.add_argument("tag", metavar="TAG")


def _any_language(parser: Parser) -> None:
    _folder(parser)
    parser.add_argument("tag", nargs="?", metavar="TAG")


def _check_language(parser: Parser) -> None:
    _any_language(parser)
    parser.add_argument("--words-only", action="store_true")


def _language_out(parser: Parser) -> None:
    _one_language(parser)
    parser.add_argument("--out", type=Path, required=True, metavar="FILE|DIR")


def _take_sheet(parser: Parser) -> None:
    _one_language(parser)
    parser.add_argument("sheet", type=Path, metavar="FILE.csv")


def _approve(parser: Parser) -> None:
    _one_language(parser)
    parser.add_argument("--role", required=True, choices=TRANSLATION_ROLES)
    parser.add_argument("--by", required=True, metavar="INITIALS")
    parser.add_argument("--date", required=True, type=date, metavar="YYYY-MM-DD")


def _close_account(parser: Parser) -> None:
    _store(parser)
    parser.add_argument("who", metavar="WHO")


def _new_passphrase(parser: Parser) -> None:
    _store(parser)
    parser.add_argument("--new-passphrase-file", type=Path, metavar="FILE")


def _add_account(parser: Parser) -> None:
    from kiosk.visits.staff import ROLES

    _close_account(parser)
    parser.add_argument("--new-passphrase-file", type=Path, metavar="FILE")
    parser.add_argument("--roles", required=True, metavar=",".join(ROLES))


def _recover(parser: Parser) -> None:
    _new_passphrase(parser)
    parser.add_argument("--code-file", type=Path, metavar="FILE")


def _verify(parser: Parser) -> None:
    parser.add_argument("--anchor", action="append", default=[], metavar="SEQ-VALUE")
    parser.add_argument("--backups", type=Path, metavar="FOLDER")
    _store(parser)


def _backup(parser: Parser) -> None:
    parser.add_argument("--to", type=Path, required=True, metavar="FOLDER")
    _store(parser)


def _restore(parser: Parser) -> None:
    parser.add_argument("backup", type=Path, metavar="BACKUP")
    parser.add_argument("--prove", action="store_true")
    _store(parser)


def _upgrade(parser: Parser) -> None:
    parser.add_argument("--backups", type=Path, required=True, metavar="FOLDER")
    _store(parser)


def _export_person(parser: Parser) -> None:
    parser.add_argument("person", metavar="CODE|ID")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    _store(parser)


def _erase_person(parser: Parser) -> None:
    parser.add_argument("person", metavar="CODE|ID")
    parser.add_argument("--reason", required=True, choices=ERASURE_REASONS)
    parser.add_argument("--server", type=Path, metavar="FILE")
    _signing_key(parser)
    _store(parser)


def _due(parser: Parser) -> None:
    parser.add_argument("--years", type=float, required=True, metavar="N")
    _store(parser)


def _sync(parser: Parser) -> None:
    parser.add_argument("--server", type=Path, required=True, metavar="FILE")
    parser.add_argument("--set-up", action="store_true")
    parser.add_argument("--sign-earlier", action="store_true")
    parser.add_argument("--erase-many", action="store_true")
    _store(parser)


def _clock(parser: Parser) -> None:
    parser.add_argument("--doubted", action="store_true")
    parser.add_argument("--confirm", metavar="VISIT|TAG")
    _store(parser)


def _signing_key(parser: Parser) -> None:
    parser.add_argument("--key", type=Path, metavar="FILE")
    parser.add_argument("--key-passphrase-file", type=Path, metavar="FILE")


def _sign_list(parser: Parser) -> None:
    _signing_key(parser)
    parser.add_argument("file", type=Path, metavar="LIST")
    parser.add_argument("--kiosk", nargs=2, action="append", default=[], metavar=("NAME", "KEY"))
    parser.add_argument("--eraser", action="append", default=[], metavar="KEY")
    parser.add_argument("--without", action="append", default=[], metavar="NAME|KEY")
    parser.add_argument("--most-erased", type=int, metavar="N")


def _load_list(parser: Parser) -> None:
    parser.add_argument("file", type=Path, metavar="LIST")
    parser.add_argument("--fingerprint", metavar="XXXX-XXXX-XXXX-XXXX-XXXX")
    _store(parser)


def _set_login(parser: Parser) -> None:
    parser.add_argument("login", metavar="LOGIN")
    parser.add_argument("--server", type=Path, required=True, metavar="FILE")
    parser.add_argument("--kiosk", metavar="NAME")
    parser.add_argument("--clinic", default="clinic", metavar="NAME")
    parser.add_argument("--password-out", type=Path, required=True, metavar="FILE")


def _server_only(parser: Parser) -> None:
    parser.add_argument("--server", type=Path, required=True, metavar="FILE")


def _site_pack(parser: Parser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--fingerprint", metavar="XXXX-XXXX-XXXX-XXXX-XXXX")
    _store(parser)


COMMANDS = (
    Command("start", N_("open the kiosk"), _start, "kiosk.cli.start:start"),
    Command("demo", N_("simulated visits from first touch to printed page"), _demo, "kiosk.cli.demo:demo"),
    Command("target", N_("where the disc is, as CSV"), _target, "kiosk.cli.recordings:target"),
    Command("score", N_("score a raw recording, or a folder of them"), _score, "kiosk.cli.recordings:score"),
    Command("report", N_("make a visit's page again from the store"), _report, "kiosk.cli.visits:report"),
    Command("check", N_("what is open on this machine"), _check, "kiosk.cli.deployment:check"),
    Command("bundle", N_("an installation for machines without a network"), _bundle,
            "kiosk.cli.deployment:bundle"),
    Command("update", N_("the version that runs: a later one, or back"), _update,
            "kiosk.cli.deployment:update"),
    Command("languages", N_("message catalogues of the languages"), commands=(
        Command("template", None, _folder, "kiosk.cli.languages:template"),
        Command("update", None, _any_language, "kiosk.cli.languages:update_catalogues"),
        Command("check", None, _check_language, "kiosk.cli.languages:check_catalogues"),
        Command("sheet", None, _language_out, "kiosk.cli.languages:sheet"),
        Command("take", None, _take_sheet, "kiosk.cli.languages:take"),
        Command("preview", None, _language_out, "kiosk.cli.languages:preview"),
        Command("speak", None, _one_language, "kiosk.cli.languages:speak_drafts"),
        Command("approve", None, _approve, "kiosk.cli.languages:approve"),
    )),
    Command("staff", N_("who may open the store, and with which passphrase"), commands=(
        Command("set-up", None, _store, "kiosk.cli.store:set_up_store"),
        Command("list", None, _store, "kiosk.cli.store:list_staff"),
        Command("add", None, _add_account, "kiosk.cli.store:add_staff"),
        Command("close", None, _close_account, "kiosk.cli.store:close_staff"),
        Command("passphrase", None, _new_passphrase, "kiosk.cli.store:change_passphrase"),
        Command("recover", None, _recover, "kiosk.cli.store:recover"),
    )),
    Command("audit", N_("check that no line of the audit was changed"), commands=(
        Command("verify", None, _verify, "kiosk.cli.store:verify_audit"),
    )),
    Command("clock", N_("the site lead's word that this kiosk's clock is right now"), _clock,
            "kiosk.cli.store:confirm_clock"),
    Command("backup", N_("an examined copy of the store"), _backup, "kiosk.cli.store:backup"),
    Command("restore", N_("a backup put in the store's place, or only proved"), _restore,
            "kiosk.cli.store:restore_backup"),
    Command("upgrade", N_("bring an older store to the newest layout"), _upgrade,
            "kiosk.cli.store:upgrade_store"),
    Command("export", N_("visits for research (sample, csv, bids, fhir), or one visit as a FHIR bundle"),
            _export, "kiosk.cli.export:export"),
    Command("leaflet", N_("the half page that a person takes home"), _leaflet, "kiosk.cli.visits:leaflet"),
    Command("passport", N_("what was measured of the tablet, as a page and a file"), _passport,
            "kiosk.cli.tablet:passport"),
    Command("person", N_("what is kept about one person: export, erase, due"), commands=(
        Command("export", None, _export_person, "kiosk.cli.person:export"),
        Command("erase", None, _erase_person, "kiosk.cli.person:erase"),
        Command("due", None, _due, "kiosk.cli.person:due"),
    )),
    Command("sync", N_("push to the clinic's server and pull from it"), _sync, "kiosk.cli.sync:sync_store"),
    Command("trust", N_("whose rows and erasure orders this kiosk believes"), commands=(
        Command("key", None, _signing_key, "kiosk.cli.trust:new_key"),
        Command("show", None, _store, "kiosk.cli.trust:show"),
        Command("sign", None, _sign_list, "kiosk.cli.trust:sign"),
        Command("load", None, _load_list, "kiosk.cli.trust:load"),
    )),
    Command("server", N_("the clinic's server: logins and passwords, what was erased"), commands=(
        Command("login", None, _set_login, "kiosk.cli.trust:server_login"),
        Command("clear", None, _server_only, "kiosk.cli.trust:server_clear"),
    )),
    Command("site-pack", N_("reference tables for the clinic's other kiosks"), commands=(
        Command("export", None, _site_pack, "kiosk.cli.sync:export_site_pack"),
        Command("load", None, _site_pack, "kiosk.cli.sync:load_site_pack"),
    )),
    Command("pictures", N_("every screen as a picture, with a contact sheet"), _pictures,
            "kiosk.cli.demo:pictures"),
    Command("norms", N_("reference tables: check, show, build, compare, change, profile"),
            run="kiosk.cli.norms:norms", passes_on=True),
)  # fmt: skip


def that_run(commands: tuple[Command, ...] = COMMANDS, before: str = "") -> Iterator[tuple[str, Command]]:
    """Every command that runs something, by the words that call it: "start", "staff add"."""
    for command in commands:
        words = f"{before}{command.name}"
        if command.run:
            yield words, command
        yield from that_run(command.commands, f"{words} ")
