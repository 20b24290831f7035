"""What a built table's sheet says: the verdict, who was tested, how it was made, and every measure's checks.

Plain English lines and one grid, rounded here and nowhere before: the same for the screen, for sheet.txt and
for whoever draws the sheet on paper.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from norms.build.fit_checks import LEVELS, AgeGroup, Check
from norms.build.recruiting import RecruitmentNeed, total
from norms.build.sample import Sample
from norms.build.verdict import Verdict
from norms.table.grade import GRADE_WORDS, row_grade
from norms.table.table import NOT_STATED, PRIMARY_MEASURES, STATED, STATED_OF_RETEST, Table

SHARES = "below " + "/".join(str(level) for level in LEVELS)
HEAD = (
    "measure",
    "scale",
    "people",
    "as good as",
    "5th may be",
    "retest n, r",
    "z mean",
    "SD",
    "skew",
    SHARES,
)
THIRDS_HEAD = ("measure", "ages", "people", "z mean", "SD", "skew", SHARES, "beside what fits")
NOTE = (
    "As good as: the fewest and the most people that the curve is worth over the ages. 5th may be: what the "
    "table calls percentile 5 lies between these percentiles where it is worth least (95 %). z is of the "
    "people behind the table; below 5/10/90/95: percent of them below these percentiles. A table built here "
    "describes the people tested, nobody else."
)


@dataclass(frozen=True)
class ProvenanceSheet:
    """Title, verdict, blocks of lines under a heading, grids of measures and of thirds by age, a note.

    The first row of a grid holds its heads; the thirds are those of the primary profile.
    """

    title: str
    verdict: str
    blocks: tuple[tuple[str, tuple[str, ...]], ...]
    grid: tuple[tuple[str, ...], ...]
    thirds: tuple[tuple[str, ...], ...]
    note: str


def sheet_of(verdict: Verdict, sample: Sample, table: Table, made: Sequence[str]) -> ProvenanceSheet:
    """The sheet of a table that was built; `made` says how."""
    blocks = (
        ("Why", (*map(_sentence, verdict.reasons), *more_lines(verdict.more, table.warn_n))),
        ("Who was tested", _tested(sample, table, verdict)),
        ("Left out of the sample", left_out_lines(verdict.left_out) or ("nothing",)),
        ("How it was made", (*made, f"sha256 of datapackage.json: {table.sha256}")),
    )
    grid = (HEAD, *(_grid_row(check, table) for check in verdict.checks))
    thirds = (THIRDS_HEAD, *(row for check in verdict.checks for row in _third_rows(check)))
    title = f"Reference table {table.name} {table.version}"
    return ProvenanceSheet(title, verdict.word, blocks, grid, thirds, NOTE)


def verdict_lines(verdict: Verdict, wanted_n: int) -> list[str]:
    """The verdict for the screen."""
    return [
        f"Verdict: {verdict.word}.",
        *map(_sentence, verdict.reasons),
        *more_lines(verdict.more, wanted_n),
        *left_out_lines(verdict.left_out),
    ]


def more_lines(more: Sequence[RecruitmentNeed], wanted_n: int) -> tuple[str, ...]:
    """How many more people of what age."""
    if not total(more):
        return ()
    parts = ", ".join(
        f"{one.people} of {one.age_from:.0f} to {one.age_to:.0f} years" for one in more if one.people
    )
    return (f"About {total(more)} more people make every age as good as {wanted_n}: {parts}.",)


def left_out_lines(left_out: Mapping[str, int]) -> tuple[str, ...]:
    return tuple(f"Left out: {lines} lines, {reason}." for reason, lines in left_out.items())


def sheet_text(sheet: ProvenanceSheet) -> str:
    """The sheet as plain text, its grids in columns."""
    lines = [sheet.title, f"Verdict: {sheet.verdict}", ""]
    for heading, said in sheet.blocks:
        lines += [heading, *(f"  {line}" for line in said), ""]
    return "\n".join([*lines, *_in_columns(sheet.grid), "", *_in_columns(sheet.thirds), "", sheet.note, ""])


def primary_rows(sheet: ProvenanceSheet) -> tuple[tuple[str, ...], ...]:
    """The grid's rows of the primary profile."""
    return tuple(row for row in sheet.grid if row[0] in PRIMARY_MEASURES)


def _in_columns(grid: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*grid, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in grid
    ]


def _sentence(reason: str) -> str:
    return reason[0].upper() + reason[1:] + "."


def _tested(sample: Sample, table: Table, verdict: Verdict) -> tuple[str, ...]:
    ages = sample.age_years[~sample.again]
    common = sample.common
    return (
        *(f"{name}: {table.about.get(name)}" for name in STATED),
        f"{verdict.people} people of {ages.min():.1f} to {ages.max():.1f} years, tested "
        f"{table.tested_from} to {table.tested_to}; instructions in {', '.join(table.languages)}; "
        f"status {table.status}",
        f"battery {common['battery']} version {common['battery_version']}, scoring "
        f"{common['scoring_version']}; input {common['input']}, device class {common['device_class']}",
        *_retest_lines(table),
        _grade_line(table),
    )


def _retest_lines(table: Table) -> list[str]:
    """How the retest study was made, where it was made with people."""
    if not table.retest or table.status == "synthetic":
        return []
    design = table.about.get("retest_design")
    said = design if isinstance(design, dict) else {}
    parts = "; ".join(f"{name} {said.get(name, NOT_STATED)}" for name in STATED_OF_RETEST)
    return [f"retest study: {parts}"]


def _grade_line(table: Table) -> str:
    grade = min(row_grade(table, row) for row in table.rows)
    stakes = table.about.get("stakes")
    return f"size of the sample: EFPA grade {grade} of 4 ({GRADE_WORDS[grade]}), {stakes} stakes"


def _grid_row(check: Check, table: Table) -> tuple[str, ...]:
    studies = [one for one in table.retest if one.measure == check.measure]
    retest = f"{studies[0].n}, {studies[0].r:.2f}" if studies else "none"
    low, high = check.fifth_worst
    worth = f"{check.n_mean[0]:.0f} to {check.n_mean[1]:.0f}"
    return (
        check.measure,
        check.scale,
        str(check.people),
        worth,
        f"{low:.1f} to {high:.1f}",
        retest,
        *_figures(check.parts[0]),
    )


def _third_rows(check: Check) -> list[tuple[str, ...]]:
    if check.measure not in PRIMARY_MEASURES:
        return []
    return [
        (
            check.measure,
            f"{part.age_from:.0f} to {part.age_to:.0f}",
            str(part.n),
            *_figures(part),
            ", ".join(part.odd),
        )
        for part in check.parts[1:]
    ]


def _figures(part: AgeGroup) -> tuple[str, ...]:
    shares = "/".join(f"{share:.0f}" for share in part.below)
    return f"{part.mean:+.2f}", f"{part.sd:.2f}", f"{part.skew:+.1f}", shares
