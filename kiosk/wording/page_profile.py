"""The primary measures beside their reference group: one row a measure, keys, notes and the group's name."""

from collections.abc import Iterable, Sequence

from kiosk.i18n.language import Language
from kiosk.scoring.catalogue import PRIMARY, unit_of
from kiosk.visits.findings import Findings
from kiosk.wording.circumstances import hand_words, token_words
from kiosk.wording.labels import standing_label
from kiosk.wording.measures import measure_name
from kiosk.wording.page_parts import Labelled, MeasureRow, Profile, ScaleWords, Tick
from kiosk.wording.reasons import sentence
from kiosk.wording.units import between, decimals_that_tell, measured, percentile, span, usual_decimals
from norms import (
    LABEL_ROWS,
    LOW_STANDARD_SCORE,
    Change,
    Refusal,
    Standing,
    printed_bound,
    printed_percentile,
)

TICKS_Z = (-3, -2, -1, 0, 1, 2)
NOTED = ("near_band_edge", "language_not_listed", "one_trial_only", "highest_value", "lowest_value",
         "carried_over")


def profile(findings: Findings, language: Language) -> Profile:
    """The profile of a visit that has at least one standing."""
    rows = tuple(_row(measure, findings, language) for measure in PRIMARY)
    return Profile(
        _words(language),
        ticks(TICKS_Z, language),
        rows,
        _keys(rows, language),
        _notes(findings, language),
        _reference(findings, language),
    )


def ticks(at: Iterable[int], language: Language) -> tuple[Tick, ...]:
    """Whole numbers on an axis of z."""
    return tuple(Tick(float(z), language.number(z)) for z in at)


def value_words(findings: Findings, measure: str, language: Language) -> str:
    """The block's score with its unit, or "not scored"."""
    score = findings.block_scores.get(measure)
    if score is None or score.value is None:
        return language.say("not scored")
    return measured(measure, score.value, score.unit, language, decimals_of(findings, measure))


def decimals_of(findings: Findings, measure: str) -> int:
    """With how many decimals today's value and its limits are written: usual range, limits of no change.

    So many that what is judged outside is also written outside. Decision page-14.
    """
    standing, change = findings.standings.get(measure), findings.changes.get(measure)
    needed = [usual_decimals(unit_of(measure))]
    if isinstance(standing, Standing):
        needed.append(decimals_that_tell(standing.value, standing.usual_range, standing.unit))
    if isinstance(change, Change) and change.reliable != "none":
        needed.append(decimals_that_tell(change.value_after, change.limits_value, change.unit))
    return max(needed)


def _words(language: Language) -> ScaleWords:
    say = language.say
    return ScaleWords(
        title=say("Profile"),
        today=say("today"),
        usual_range=say("usual (80\u00a0of\u00a0100)"),
        poorer=say("poorer"),
        usual=say("usual"),
        better=say("better"),
        percentile=say("percentile"),
        standing=say("standing, score"),
    )


def _row(measure: str, findings: Findings, language: Language) -> MeasureRow:
    answer, name = findings.standings.get(measure), measure_name(measure, language)
    value = value_words(findings, measure, language)
    if not isinstance(answer, Standing):
        scored = value != language.say("not scored")
        return MeasureRow(
            measure,
            name,
            value,
            "",
            "",
            "",
            "",
            "",
            None,
            None,
            _before(findings, measure),
            short_reason=language.say("not compared") if scored else language.say("not scored"),
        )
    low, high = (percentile(printed_bound(one), language) for one in answer.interval_95)
    return MeasureRow(
        measure,
        name,
        value,
        span(measure, answer.usual_range, answer.unit, language, decimals_of(findings, measure)),
        percentile(printed_percentile(answer), language),
        between(low, high, language),
        standing_label(answer, language),
        language.number(answer.standard_score),
        answer.z_star,
        answer.z_interval_95,
        _before(findings, measure),
        answer.low,
        None if (own := findings.measurement_errors.get(measure)) is None else own.z_interval_95,
        z_text=language.number(answer.z_star, 1),
    )


def _before(findings: Findings, measure: str) -> float | None:
    return None if findings.compared_with is None else findings.compared_with.z.get(measure)


def _keys(rows: Sequence[MeasureRow], language: Language) -> tuple[Labelled, ...]:
    say = language.say
    keys = [Labelled("dot", say("today"))]
    if any(row.own_z is not None for row in rows):
        keys.append(Labelled("whisker", say("own error")))
    if any(row.interval_z is not None for row in rows):
        keys.append(Labelled("band", say("group")))
    if any(row.z_before is not None for row in rows):
        keys.append(Labelled("ring", say("earlier visit")))
    if any(row.low for row in rows):
        keys.append(Labelled("low", say("low")))
    return tuple(keys)


def _notes(findings: Findings, language: Language) -> tuple[str, ...]:
    explained = (_percentile_explained(findings, language), _low_explained(language),
                 _intervals_explained(findings, language))
    return " ".join(explained), *_grouped(_reasons(findings, language), language)


def _percentile_explained(findings: Findings, language: Language) -> str:
    """By the first of today's percentiles that is a plain whole number."""
    standings = [one for one in findings.standings.values() if isinstance(one, Standing)]
    whole = [one for one in map(printed_percentile, standings) if not one.sign and not one.decimals]
    if not whole:
        return language.say("Percentile: how many in 100 people of this reference group do less well. It is "
                            "not a share of correct answers.")
    return language.say("Percentile %(n)s: about %(n)s in 100 people of this reference group do less well. "
                        "Not %% correct.", n=percentile(whole[0], language))


def _low_explained(language: Language) -> str:
    """Where low begins. Decision page-13."""
    edge = next(row for row in LABEL_ROWS if row.score_to == LOW_STANDARD_SCORE)
    return language.say("Low, further out than usual ends: standard score %(score)s or less, percentile "
                        "%(percentile)s or less.", score=language.number(edge.score_to),
                        percentile=language.number(edge.percentile_to))


def _intervals_explained(findings: Findings, language: Language) -> str:
    """The two uncertainties, told apart. Decision page-15."""
    share, sources = language.percent(95), {one.source for one in findings.measurement_errors.values()}
    if not sources:
        return language.say("Band, brackets: %(share)s interval by the size of the reference group.",
                            share=share)
    if sources == {"visit"}:
        return language.say("%(share)s intervals: band and brackets by the size of the reference group; line "
                            "by this visit's trials, this visit only.", share=share)
    own = language.say("%(share)s intervals: band and brackets by the size of the reference group; line by "
                       "the person's own measurement error (retest study).", share=share)
    visit = language.say("Without a retest study the line is by this visit's trials, this visit only.")
    return f"{own} {visit}" if "visit" in sources else own


def _reasons(findings: Findings, language: Language) -> list[tuple[str, str]]:
    """(measure, sentence) for every primary measure without a standing or with something to mind."""
    told = []
    for measure in PRIMARY:
        answer = findings.standings.get(measure)
        if isinstance(answer, Refusal):
            told.append((measure, sentence(answer.code, answer.values, language)))
        elif isinstance(answer, Standing):
            told += [(measure, sentence(code, {}, language)) for code in answer.warnings if code in NOTED]
        else:
            told += [(measure, sentence(code, {}, language)) for code in _unscored(findings, measure)]
    return told


def _unscored(findings: Findings, measure: str) -> tuple[str, ...]:
    score = findings.block_scores.get(measure)
    return () if score is None or score.reason is None else (score.reason,)


def _grouped(told: Iterable[tuple[str, str]], language: Language) -> tuple[str, ...]:
    """Each sentence once, after the names of its measures; alone where it belongs to all."""
    names: dict[str, list[str]] = {}
    for measure, said in told:
        names.setdefault(said, []).append(measure_name(measure, language))
    return tuple(
        said if len(of) == len(PRIMARY) else f"{'; '.join(of)}: {said}" for said, of in names.items()
    )


def _reference(findings: Findings, language: Language) -> str:
    table = findings.table
    standing = next((one for one in findings.standings.values() if isinstance(one, Standing)), None)
    if table is None or standing is None:
        return ""
    say = language.say
    return say(
        "Reference: %(title)s %(version)s, %(ages)s, %(size)s, %(hand)s hand preferred, %(input)s, "
        "tablet class %(device)s, tested %(years)s.",
        **{
            "title": table.title or table.name,
            "version": table.version,
            "ages": _ages(standing, language),
            "size": _size(findings, language),
            "hand": hand_words(findings.visit.preferred_hand, language),
            "input": token_words(table.input, language),
            "device": table.device_class,
            "years": _years(table.tested_from, table.tested_to, language),
        },
    )


def _years(tested_from: str, tested_to: str, language: Language) -> str:
    first, last = tested_from[:4], tested_to[:4]
    return first if first == last else between(first, last, language)


def _ages(standing: Standing, language: Language) -> str:
    first, last = int(standing.row.age_from), int(standing.row.age_to) - 1
    if last <= first:
        return language.say("age %(age)s", age=language.number(first))
    return language.say(
        "ages %(range)s", range=between(language.number(first), language.number(last), language)
    )


def _size(findings: Findings, language: Language) -> str:
    smallest = min(
        (one for one in findings.standings.values() if isinstance(one, Standing)),
        key=lambda one: (one.n, one.n_mean),
    )
    n, as_good_as = language.number(smallest.n), language.number(smallest.n_mean)
    if n == as_good_as:
        return language.say("n %(n)s", n=n)
    return language.say("n %(n)s, as good as %(n_mean)s at this age", n=n, n_mean=as_good_as)
