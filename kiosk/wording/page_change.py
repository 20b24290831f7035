"""Change since an earlier visit: what was, what is, what was to be expected, and one chart over the visits.

z on the chart is that of the table (below 0 = poorer); for the two visits compared it is the very z on which
the change was judged, so that figure, number and word cannot disagree. Decision page-3.
"""

from collections.abc import Iterable

from kiosk.i18n.language import Language
from kiosk.scoring.catalogue import PRIMARY, unit_of
from kiosk.visits.findings import Findings, HistoryPoint
from kiosk.wording.labels import change_reading
from kiosk.wording.measures import measure_name
from kiosk.wording.page_parts import ChangeChart, ChangeRow, ChangeSection, ChartPoint, Mark
from kiosk.wording.page_profile import decimals_of, ticks, value_words
from kiosk.wording.reasons import sentence
from kiosk.wording.units import between, in_table, span
from norms import Change, Refusal, Standing

CHART_TICKS_Z = (-3, -2, -1, 0, 1, 2)
VISITS_SHOWN = 6
S_IN_DAY = 86400.0
_MARKS: dict[str, Mark] = {"worse": "poorer", "better": "better", "further_ahead": "ahead"}


def change_section(findings: Findings, language: Language) -> ChangeSection | None:
    """The section, or None where there is no earlier visit to compare with.

    Where nothing is judged the headline says why, and the notes do not repeat it.
    """
    earlier = findings.compared_with
    if earlier is None:
        return None
    say = language.say
    heads = (
        say("measure"),
        say("then"),
        say("today"),
        say("expected"),
        say("limits of no\u00a0change"),
        say("reading"),
    )
    rows = tuple(_row(measure, findings, earlier, language) for measure in PRIMARY)
    title = say("Change since visit %(visit)d", visit=earlier.number)
    return ChangeSection(title, heads, rows, _chart(findings, language), _notes(findings, language))


def _mark_of(answer: object) -> Mark:
    """The mark of a reliable change, or none."""
    return _MARKS.get(answer.reliable, "") if isinstance(answer, Change) else ""


def _row(measure: str, findings: Findings, earlier: HistoryPoint, language: Language) -> ChangeRow:
    answer, name = findings.changes.get(measure), measure_name(measure, language)
    if not isinstance(answer, Change):
        then = earlier.values.get(measure)
        before = (
            language.say("not scored")
            if then is None
            else in_table(measure, then, unit_of(measure), language)
        )
        return ChangeRow(
            measure,
            name,
            before,
            value_words(findings, measure, language),
            "",
            "",
            language.say("not judged"),
            "",
        )
    values = (answer.value_before, answer.value_after, answer.expected_value)
    decimals = decimals_of(findings, measure)
    before, after, expected = (in_table(measure, one, answer.unit, language, decimals) for one in values)
    limits = span(measure, answer.limits_value, answer.unit, language, decimals)
    return ChangeRow(
        measure, name, before, after, expected, limits, change_reading(answer, language), _mark_of(answer)
    )


def _notes(findings: Findings, language: Language) -> tuple[str, ...]:
    judged = [one for one in findings.changes.values() if isinstance(one, Change)]
    if not judged:
        return ()
    chart = language.say("Chart: the measure furthest from expected.")
    warnings = _warnings(judged, language)
    return (f"{chart} {_study(judged, language)}", *_reasons(findings, language), *warnings)


def _study(judged: list[Change], language: Language) -> str:
    studies = [one.study for one in judged]
    n = _range((study.n for study in studies), language)
    days = between(
        language.number(min(one.days_min for one in studies)),
        language.number(max(one.days_max for one in studies)),
        language,
    )
    return language.say(
        "Retest study: n %(n)s, %(days)s days apart. Expected: with that study's practice. Limits of no "
        "change: 90 of 100 people who have not changed. Lag and delay: ms behind.",
        n=n,
        days=days,
    )


def _range(numbers: Iterable[int], language: Language) -> str:
    found = sorted(set(numbers))
    low, high = language.number(found[0]), language.number(found[-1])
    return low if low == high else between(low, high, language)


def _reasons(findings: Findings, language: Language) -> tuple[str, ...]:
    names: dict[str, list[str]] = {}
    for measure, answer in findings.changes.items():
        if isinstance(answer, Refusal):
            said = sentence(answer.code, answer.values, language)
            names.setdefault(said, []).append(measure_name(measure, language))
    return tuple(
        language.say("Not judged: %(names)s. %(why)s", names="; ".join(of), why=why)
        for why, of in names.items()
    )


def _warnings(judged: list[Change], language: Language) -> tuple[str, ...]:
    codes = dict.fromkeys(code for one in judged for code in one.warnings if code != "synthetic")
    return tuple(sentence(code, {}, language) for code in codes)


def _chart(findings: Findings, language: Language) -> ChangeChart | None:
    """The measure that strays furthest from its expectation; else the first with two standings."""
    judged = [one for one in findings.changes.values() if isinstance(one, Change)]
    shown = min(judged, key=lambda one: one.percent_more_extreme, default=None)
    measure = shown.measure if shown else _first_with_standings(findings)
    if measure is None:
        return None
    title = language.say("%(measure)s over the visits", measure=measure_name(measure, language))
    key = language.say("limits of no\u00a0change") if shown else ""
    return ChangeChart(
        title,
        ticks(CHART_TICKS_Z, language),
        _points(findings, measure, shown, language),
        shown.limits if shown else None,
        key,
    )


def _first_with_standings(findings: Findings) -> str | None:
    return next(
        (
            m
            for m in PRIMARY
            if isinstance(findings.standings.get(m), Standing)
            and sum(m in point.z for point in findings.history) > 1
        ),
        None,
    )


def _points(
    findings: Findings, measure: str, shown: Change | None, language: Language
) -> tuple[ChartPoint, ...]:
    judged = _judged_z(findings, shown)
    visits = [(point, judged.get(point.number, point.z.get(measure))) for point in findings.history]
    kept = [(point, z) for point, z in visits if z is not None][-VISITS_SHOWN:]
    return tuple(
        ChartPoint(
            (point.started_at - kept[0][0].started_at).total_seconds() / S_IN_DAY,
            z,
            language.date(point.started_at.date()),
        )
        for point, z in kept
    )


def _judged_z(findings: Findings, shown: Change | None) -> dict[int, float]:
    if shown is None or findings.compared_with is None:
        return {}
    return {findings.compared_with.number: shown.z_before, findings.visit_number: shown.z_after}
