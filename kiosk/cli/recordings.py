"""Recordings without a visit: `kiosk target` (where the disc is), `kiosk score` (of one file or a folder).

One recording is scored in lines or as JSON, a folder as one tidy CSV or as JSON by file name.
"""

import argparse
import json
import sys
from collections.abc import Iterable, Iterator

from kiosk.app.recordings import ScoredRecording, jobs_of, score_file, score_jobs
from kiosk.base.errors import KioskError, WrongUsage
from kiosk.cli.refusals import print_refusal
from kiosk.exchange.score_csv import write_header, write_rows
from kiosk.exchange.trial_csv import write_target
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery, load_battery
from kiosk.pursuit.trial import TrialPlan
from kiosk.wording.recording_words import recording_lines

Found = ScoredRecording | KioskError


def target(chosen: argparse.Namespace, language: Language) -> int:
    write_target(_plan(chosen), chosen.rate, sys.stdout)
    return 0


def score(chosen: argparse.Namespace, language: Language) -> int:
    if not chosen.recording.is_dir():
        score_one(chosen, _plan(chosen), language)
        return 0
    refused = score_folder(chosen, load_battery(), language)
    for refusal in refused:
        print_refusal(refusal, language)
    return 1 if refused else 0


def _plan(chosen: argparse.Namespace) -> TrialPlan:
    for name in ("block", "hand", "trial"):
        if getattr(chosen, name) is None:
            raise WrongUsage("trial_not_named", {"option": f"--{name}"})
    return load_battery().plan(
        chosen.block, chosen.hand, chosen.trial, form=chosen.form or "A", side=chosen.side
    )


def score_one(chosen: argparse.Namespace, plan: TrialPlan, language: Language) -> None:
    """The scores of one recording in lines, or as JSON; its plot where one is asked for."""
    _check_plot(chosen, folder=False)
    scored = score_file(chosen.recording, plan, chosen.latency_ms)
    if chosen.plot is not None:
        from kiosk.app.exploration import plot_file

        plot_file(chosen.recording, plan, chosen.latency_ms, chosen.plot, language)
    if chosen.json:
        print(json.dumps(scored.as_dict(), sort_keys=True, allow_nan=False))
        return
    for line in recording_lines(scored.scores, scored.plan, language):
        print(line)


def score_folder(chosen: argparse.Namespace, battery: Battery, language: Language) -> list[KioskError]:
    """A tidy CSV, or JSON by file name; the refusals of the files that could not be scored."""
    _check_plot(chosen, folder=True)
    jobs = jobs_of(chosen.recording, form=chosen.form, side=chosen.side, latency_ms=chosen.latency_ms)
    if chosen.plot is not None:
        from kiosk.app.exploration import plot_folder

        plot_folder(jobs, battery, chosen.plot, language)
    found = _counted(score_jobs(jobs), len(jobs), language)
    return _print_json(found) if chosen.json else _print_csv(found)


def _check_plot(chosen: argparse.Namespace, folder: bool) -> None:
    """Wrong usage is told before anything is scored."""
    if chosen.plot is not None:
        from kiosk.app.exploration import check_plot

        check_plot(chosen.plot, folder)


def _counted(found: Iterable[Found], total: int, language: Language) -> Iterator[Found]:
    """The same, with a running count where standard error is a terminal."""
    shown = sys.stderr.isatty()
    for number, one in enumerate(found, start=1):
        if shown:
            told = language.say("%(n)s of %(m)s", n=number, m=total)
            print(f"\r{told}", end="\n" if number == total else "", file=sys.stderr, flush=True)
        yield one


def _print_json(found: Iterable[Found]) -> list[KioskError]:
    scored, refused = {}, []
    for one in found:
        if isinstance(one, KioskError):
            refused.append(one)
        else:
            scored[one.file] = one.as_dict()
    print(json.dumps(scored, sort_keys=True, allow_nan=False))
    return refused


def _print_csv(found: Iterable[Found]) -> list[KioskError]:
    refused = []
    write_header(sys.stdout)
    for one in found:
        if isinstance(one, KioskError):
            refused.append(one)
        else:
            write_rows(one.rows(), sys.stdout)
    return refused
