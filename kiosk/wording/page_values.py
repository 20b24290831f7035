"""Values and the person's own history, for a visit that no reference group fits."""

from kiosk.i18n.language import Language
from kiosk.scoring.catalogue import PRIMARY, unit_of
from kiosk.visits.findings import Findings, HistoryPoint
from kiosk.wording.measures import measure_name
from kiosk.wording.page_parts import ValueTable
from kiosk.wording.page_profile import value_words
from kiosk.wording.reasons import sentence
from kiosk.wording.units import measured, unbroken
from norms import Refusal

VISITS_SHOWN = 5


def value_table(findings: Findings, language: Language) -> ValueTable:
    """One row a primary measure, one column a visit, this visit last."""
    say = language.say
    earlier = findings.history[:-1][-(VISITS_SHOWN - 1) :]
    explanation = _explanation(findings, language)
    heads = [
        say(
            "visit %(number)d, %(date)s",
            number=one.number,
            date=unbroken(language.date(one.started_at.date())),
        )
        for one in earlier
    ]
    cells = tuple(
        (*(_cell(one, measure, language) for one in earlier), value_words(findings, measure, language))
        for measure in PRIMARY
    )
    return ValueTable(
        say("Values"),
        explanation,
        (say("measure"), *heads, say("today")),
        tuple(measure_name(measure, language) for measure in PRIMARY),
        cells,
    )


def _explanation(findings: Findings, language: Language) -> str:
    if findings.table is not None and not any(m in findings.history[-1].values for m in PRIMARY):
        return language.say(
            "No measure could be scored, so no comparison is shown. %(reason)s",
            reason=_reason(findings, language),
        )
    return language.say(
        "No reference group fits this visit, so no comparison is shown. Reason: %(reason)s The values "
        "below are the person's own. They can be compared with this person's other visits of the same "
        "kind, by eye.",
        reason=_reason(findings, language),
    )


def _reason(findings: Findings, language: Language) -> str:
    """Why no table judged the visit; else the reasons of its measures, each once."""
    if findings.table_refusal is not None:
        return sentence(findings.table_refusal.code, findings.table_refusal.values, language)
    refusals = [one for one in findings.standings.values() if isinstance(one, Refusal)]
    said = dict.fromkeys(sentence(one.code, one.values, language) for one in refusals)
    return " ".join(said) or language.say("No measure could be scored.")


def _cell(point: HistoryPoint, measure: str, language: Language) -> str:
    value = point.values.get(measure)
    return (
        language.say("not scored") if value is None else measured(measure, value, unit_of(measure), language)
    )
