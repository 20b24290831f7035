"""What the command line prints without --json: plain English lines, rounded here and nowhere before."""

from collections.abc import Iterable, Mapping

from norms.judge.change import Change
from norms.judge.labels import PrintedPercentile, printed_bound
from norms.judge.profile import Profile
from norms.judge.series import Comparison, Series
from norms.judge.standing import Standing, printed_percentile
from norms.table.grade import GRADE_WORDS, row_grade
from norms.table.reasons import WARNINGS, Refusal, sentence
from norms.table.table import Measure, Table

FURTHER_AHEAD = "further ahead than most"
RELIABLE = {"worse": "reliably poorer", "better": "reliably better", "none": "no reliable change",
            "further_ahead": "reliably further ahead"}

SIDES = {"below": "poorer than the limits", "inside": "inside the limits", "above": "better than the limits"}


def standing_lines(table: Table, found: Standing | Refusal) -> list[str]:
    """One standing."""
    if isinstance(found, Refusal):
        return []
    measure = table.measure_by_name[found.measure]
    low, high = (percentile_text(printed_bound(end)) for end in found.interval_95)
    label = FURTHER_AHEAD if found.further_ahead else found.label or "no label"
    return [f"{found.measure} {in_unit(measure, found.value)} at age {found.age_years:.1f}",
            f"percentile {percentile_text(printed_percentile(found))} (95 %, from the size of the "
            f"reference group only: {low} to {high}), {label} (standard score {found.standard_score})",
            f"usual (80 of 100): {between(measure, found.usual_range)}; row {found.row.age_from:g} to "
            f"{found.row.age_to:g} years, {found.row.sex} sex, n {found.n}",
            *_beside(found), *_warning_lines(found.warnings)]


def change_lines(table: Table, found: Change | Refusal,
                 classical: Mapping[str, float] | None = None) -> list[str]:
    """One change, with the classical indices where they are asked for."""
    if isinstance(found, Refusal):
        return []
    measure = table.measure_by_name[found.measure]
    return [f"{found.measure} {in_unit(measure, found.value_before)}, then "
            f"{in_unit(measure, found.value_after)} after {found.days:g} days: {RELIABLE[found.reliable]}",
            f"expected {in_unit(measure, found.expected_value)}; without reliable change "
            f"{between(measure, found.limits_value)}; retest study n {found.study.n}",
            *(f"{name.replace('_', ' ')}: {index:.2f}" for name, index in (classical or {}).items()),
            *_warning_lines(found.warnings)]


def series_lines(table: Table, found: Series | Refusal) -> list[str]:
    """Each visit of a series against those before it, and the slope from four on."""
    if isinstance(found, Refusal):
        return []
    measure, slope = table.measure_by_name[found.measure], found.slope
    told = [f"slope {slope.z_per_year:.2f} z a year (95 %: {slope.interval_95[0]:.2f} to "
            f"{slope.interval_95[1]:.2f}), below 0 = getting poorer"] if slope else []
    return [f"{found.measure}: limits widened for {found.n_comparisons} comparisons; they hold whether all "
            "visits correlate alike or, AR(1), less the further apart; retest study n "
            f"{found.study.n}", *(_comparison_line(measure, one) for one in found.comparisons), *told,
            *_warning_lines(found.warnings)]


def _comparison_line(measure: Measure, one: Comparison | Refusal) -> str:
    if isinstance(one, Refusal):
        return sentence(one)
    return (f"day {one.days:g}, against the mean of {one.n_before} before: {SIDES[one.side]} "
            f"({between(measure, one.limits_value)})")


def profile_lines(found: Profile | Refusal) -> list[str]:
    """Low scores together."""
    if isinstance(found, Refusal):
        return []
    at_least = max(found.n_low, 1)
    return [f"{found.n_low} of {found.n_scored} are low" + (f": {', '.join(found.low)}" if found.low else ""),
            f"About {found.chance_percent:.0f} in 100 people of the reference group have {at_least} or more "
            "this low.", *_warning_lines(found.warnings)]


def table_lines(table: Table) -> list[str]:
    """What a table holds."""
    heads = [f"{table.name} {table.version}: {table.title}",
             f"status {table.status}; battery {table.battery} version {table.battery_version}, scoring "
             f"{table.scoring_version}; input {table.input}; age rows: {table.age_method}",
             f"tested {table.tested_from} to {table.tested_to}; expires {table.expires or 'never'}; "
             f"population: {table.about.get('population')}"]
    untold = [name.replace("_", " ") for name in table.not_stated]
    heads += [f"not stated: {', '.join(untold)}"] if untold else []
    return [*heads, *(_measure_line(table, measure) for measure in table.measures),
            *_correlation_lines(table)]


def _measure_line(table: Table, measure: Measure) -> str:
    rows = table.rows_of_measure.get(measure.name, ())
    if not rows:
        return f"{measure.name}: no rows"
    people = [row.n_of_mean for row in rows]
    studies = [f"retest n {one.n}, r {one.r:.2f}, {one.days_min:g} to {one.days_max:g} days"
               for one in table.retest if one.measure == measure.name]
    youngest, oldest = min(row.age_from for row in rows), max(row.age_to for row in rows)
    classes = ", ".join(sorted({row.device_class for row in rows}))
    by = "percentile columns" if table.by_percentiles(measure.name) else measure.scale
    sexes = [sex for sex in ("female", "male") if any(row.sex == sex for row in rows)]
    lowest = min(row_grade(table, row) for row in rows)
    return (f"{measure.name} ({measure.unit}, {measure.better} is better, {by}): {classes}, ages "
            f"{youngest:g} to {oldest:g} in {len(rows)} rows{_with(sexes)}, n {min(people):.4g} to "
            f"{max(people):.4g}, sample size grade {lowest} of 4 ({GRADE_WORDS[lowest]}) at the thinnest; "
            f"{'; '.join(studies) or 'no retest study'}")


def _with(sexes: list[str]) -> str:
    return f" with own rows for {' and '.join(sexes)}" if sexes else ""


def _correlation_lines(table: Table) -> list[str]:
    return [f"correlations of {kind}: {len(of_kind)} pairs, n {min(one.n for one in of_kind)} to "
            f"{max(one.n for one in of_kind)}" for kind in ("visit", "change")
            if (of_kind := [one for one in table.correlations if one.kind == kind])]


def percentile_text(printed: PrintedPercentile) -> str:
    return f"{printed.sign}{printed.number:.{printed.decimals}f}"


def in_unit(measure: Measure, value: float) -> str:
    """A value with its unit; a lag says behind or ahead."""
    if measure.score in ("lag", "delay"):
        return f"{abs(value):.{measure.decimals}f} {measure.unit} {'ahead' if value < 0 else 'behind'}"
    return f"{value:.{measure.decimals}f} {measure.unit}"


def between(measure: Measure, ends: tuple[float, float]) -> str:
    return " to ".join(in_unit(measure, end) for end in ends)


def _beside(found: Standing) -> list[str]:
    return [f"The neighbouring row {one.age_from:g} to {one.age_to:g} years: percentile "
            f"{percentile_text(printed_percentile(one))}, {one.label} (standard score "
            f"{one.standard_score}), n {one.n}" for one in found.neighbours]


def _warning_lines(codes: Iterable[str]) -> list[str]:
    return [f"Note: {WARNINGS[code]}" for code in codes]
