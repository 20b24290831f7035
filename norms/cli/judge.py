"""The commands that judge a number: `norms compare`, `change`, `series` and `profile`.

Each returns its exit code: 0 judged, 1 refused with the reason on standard error.
"""

import argparse
from itertools import pairwise

from norms.cli.arguments import UsageError
from norms.cli.formatting import change_lines, profile_lines, series_lines, standing_lines
from norms.cli.output import as_json, complain, print_answer
from norms.judge.change import Change, change, classical_indices
from norms.judge.comparability import Occasion
from norms.judge.lookup import ByHand
from norms.judge.profile import profile, profile_distance
from norms.judge.series import series
from norms.judge.standing import Standing, standing
from norms.table.folder import read_folder
from norms.table.reasons import Refusal, sentence

DAYS_IN_A_YEAR = 365.25


def run_compare(asked: argparse.Namespace) -> int:
    """Where one value falls."""
    table = read_folder(asked.table)
    found = standing(table, asked.measure, asked.value, _at_days_before(asked, 0))
    return print_answer(found, lambda: standing_lines(table, found), asked.json)


def run_change(asked: argparse.Namespace) -> int:
    """Whether a value has changed."""
    table = read_folder(asked.table)
    before = Occasion(asked.before, _at_days_before(asked, asked.days))
    after = Occasion(asked.after, _at_days_before(asked, 0))
    found = change(table, asked.measure, before, after, asked.days, asked.earlier_visits)
    indices = classical_indices(found) if asked.classical and isinstance(found, Change) else {}
    more = {"classical": indices} if asked.classical else {}
    return print_answer(found, lambda: change_lines(table, found, indices), asked.json, more)


def run_series(asked: argparse.Namespace) -> int:
    """Each of three or more visits against those before it."""
    days = [day for day, _ in asked.visits]
    if any(later <= earlier for earlier, later in pairwise(days)):
        raise UsageError("norms series: argument --visits: days must rise from visit to visit")
    table = read_folder(asked.table)
    visits = [Occasion(value, _at_days_before(asked, days[-1] - day)) for day, value in asked.visits]
    found = series(table, asked.measure, visits, days, asked.earlier_visits)
    return print_answer(found, lambda: series_lines(table, found), asked.json)


def run_profile(asked: argparse.Namespace) -> int:
    """How many of several values are low; every refusal is printed, the first one is the answer."""
    if len(dict(asked.values)) < len(asked.values):
        raise UsageError("norms profile: argument --values: each measure may stand once")
    table = read_folder(asked.table)
    found = [standing(table, name, value, _at_days_before(asked, 0)) for name, value in asked.values]
    refused = [one for one in found if isinstance(one, Refusal)]
    for one in refused[1:]:
        complain(sentence(one))
    if refused:
        return print_answer(refused[0], list, asked.json)
    placed = [one for one in found if isinstance(one, Standing)]
    together = profile(table, placed)
    more = {"distance": as_json(profile_distance(table, placed))} if asked.json else {}
    return print_answer(together, lambda: profile_lines(together), asked.json, more)


def _at_days_before(asked: argparse.Namespace, days: float) -> ByHand:
    """The person so many days before the age that was given."""
    return ByHand(asked.age - days / DAYS_IN_A_YEAR, asked.sex, asked.device_class)
