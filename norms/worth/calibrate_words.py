"""The key figures of a calibrated table in plain English lines, rounded here and nowhere before."""

from norms.table.calibrate_figures import (
    FIRST_LOW,
    HEALTHY,
    LOW_Z,
    STABLE_LOW,
    Calibration,
    ChangeWorth,
    PeopleWorth,
    Share,
    StandingWorth,
    Worth,
)

PEOPLE_WORDS = {HEALTHY: "healthy people", FIRST_LOW: f"people whose first z is {LOW_Z:g}",
                STABLE_LOW: f"people who are stably at z {LOW_Z:g}"}


def calibration_lines(found: Calibration) -> list[str]:
    """What the table is worth, measure by measure."""
    head = (f"Calibrated {found.date} over {found.worlds} worlds (seed {found.seed}). Numbers are of 100 "
            "people: the mean, and in brackets the range of 95 of 100 worlds. A change is toward poorer, in "
            "SD of the reference group.")
    return [head, *(line for worth in found.rows for line in _worth_lines(worth, found.changes_sd))]


def not_calibrated() -> list[str]:
    return ["not calibrated: what the table is worth is not known (norms calibrate FOLDER)"]


def _worth_lines(worth: Worth, changes_sd: tuple[float, ...]) -> list[str]:
    head = f"{worth.measure} ({worth.sex} sex, {worth.device_class})"
    if not worth.rows_answering:
        return [f"{head}: none of {worth.rows} rows answers"]
    if not worth.standings:
        return [f"{head}: no better direction, so nothing is called low or poorer"]
    some = worth.rows_answering < worth.rows
    rows = f", {worth.rows_answering} of {worth.rows} rows answer" if some else ""
    return [f"{head}{rows}", *map(_standing_line, worth.standings),
            *(line for change in worth.changes for line in _change_lines(change, changes_sd)),
            *([] if worth.changes else ["  no retest study: no change is judged"])]


def _standing_line(one: StandingWorth) -> str:
    return (f"  {one.age_from:g} to {one.age_to:g} years, as good as n {one.n_mean:.0f}: healthy people "
            f"called low {_said(one.called_low)}; the 95 % interval holds the true place in "
            f"{_from_to(one.covered_from, one.covered_to)} of 100")


def _change_lines(change: ChangeWorth, changes_sd: tuple[float, ...]) -> list[str]:
    head = (f"  change, {change.earlier_visits} earlier visits, retest study n {change.n}, "
            f"r {change.r:.2f}")
    if not change.people:
        return [f"{head}: too small to judge by"]
    return [head, *(f"    {_people(one, changes_sd)}" for one in change.people)]


def _people(one: PeopleWorth, changes_sd: tuple[float, ...]) -> str:
    power = ", ".join(f"{change:g} SD {_said(seen)}"
                      for change, seen in zip(changes_sd, one.power, strict=True))
    return (f"{PEOPLE_WORDS[one.people]}: unchanged, called poorer {_said(one.poorer)}, better "
            f"{_said(one.better)}; changed, called poorer: {power}")


def _said(share: Share) -> str:
    return f"{share.mean:.1f} ({share.low:.1f} to {share.high:.1f})"


def _from_to(low: float, high: float) -> str:
    return f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"
