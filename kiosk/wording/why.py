"""Why? One sentence for any number that staff can touch: what it is and what it rests on.

A figure is of a measure (value, usual, percentile, interval, standard_score, label, change,
expected, limits) or of the whole visit (low, low_chance, changed, change_chance, fit, age, rate, latency).
"""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.visits.actions import AskWhy
from kiosk.visits.findings import Findings
from kiosk.wording.measures import measure_name
from kiosk.wording.reasons import sentence
from kiosk.wording.units import age_words
from norms import Change, Refusal, Standing

OF_SCORES: Final[Messages] = {
    "scatter": N_(
        "How far the hand strayed around the disc, after its mean offset and its own lag are taken off: "
        "lower is steadier."
    ),
    "lag": N_(
        "How far in time the hand was behind the disc on the circles, with the tablet's own latency taken "
        "off."
    ),
    "delay": N_(
        "How long the hand took to follow a path that cannot be guessed, with the tablet's own latency taken "
        "off."
    ),
    "prediction": N_("Delay minus lag: how much sooner the hand is where the path is known."),
    "follow": N_("The share of the hand's movement that belongs to the disc's movement."),
    "error_rms": N_("The distance from the disc over the whole time, lifts counted in."),
    "time_on_target": N_("The share of time the fingertip was on the disc."),
}
OF_A_MEASURE: Final[Messages] = {
    "usual": N_(
        "The range that holds 80 of 100 people of this reference group, back in the unit of the score."
    ),
    "percentile": N_(
        "About how many in 100 people of this reference group do less well; it is not a share of correct "
        "answers."
    ),
    "interval": N_(
        "Where the percentile may lie because the reference group has only so many people; the person's own "
        "day-to-day changes are not in it."
    ),
    "standard_score": N_("The percentile on a scale on which the reference group has mean 100 and SD 15."),
    "label": N_("The published word for this range of standard scores; it says nothing of a cause."),
    "expected": N_(
        "What people of the retest study who began where this person began had at their next visit."
    ),
    "limits": N_(
        "How far today's value may stray from the expected one without more than chance and practice: 90 of "
        "100 people who have not changed stay inside."
    ),
}
OF_THE_VISIT: Final[Messages] = {
    "low": N_("A score is low where its standard score is 79 or less."),
    "low_chance": N_(
        "How many of 100 people of the reference group have this many low scores or more, counted for the "
        "very scores of this visit and how they go together."
    ),
    "changed": N_("A change is reliable where it lies outside what chance and practice usually produce."),
    "change_chance": N_(
        "At most so many of 100 people who have not changed show this many reliably poorer scores or more."
    ),
    "fit": N_(
        "A trial is scored where the finger was on the glass, the touches came fast enough and the picture "
        "never stood still."
    ),
    "age": N_("The age on the day of the visit, in completed years."),
    "rate": N_("How many touches a second the glass gave while the finger moved."),
    "latency": N_(
        "What touch and display together add to every lag and delay; it is measured once for each tablet."
    ),
}


def why_sentence(asked: AskWhy, findings: Findings, language: Language) -> str:
    """The sentence of a figure; ValueError for a figure without one."""
    kind, measure = asked.figure, asked.measure
    if kind in OF_THE_VISIT:
        return language.say_message(OF_THE_VISIT[kind])
    if kind == "value":
        return _value(measure, findings, language)
    if kind == "change":
        return _change(measure, findings, language)
    if kind not in OF_A_MEASURE:
        known = ("value", "change", *OF_A_MEASURE, *OF_THE_VISIT)
        raise ValueError(f"figure must be of {', '.join(known)}, got {kind!r}")
    standing = findings.standings.get(measure)
    if isinstance(standing, Refusal) and kind not in ("expected", "limits"):
        return sentence(standing.code, standing.values, language)
    return _grouped(language.say_message(OF_A_MEASURE[kind]), standing, findings, language)


def _value(measure: str, findings: Findings, language: Language) -> str:
    """What the score is, and on how many trials it rests; or why there is none."""
    score = findings.block_scores.get(measure)
    if score is None or score.value is None:
        code = "block_not_run" if score is None or score.reason is None else score.reason
        return sentence(code, {"measure": measure}, language)
    meaning = language.say_message(OF_SCORES[measure.rpartition(".")[2]])
    rests = language.say_n("It rests on %(n)d trial.", "It is the mean of %(n)d trials.", score.n_trials)
    return f"{meaning} {rests}"


def _grouped(said: str, standing: Standing | Refusal | None, findings: Findings, language: Language) -> str:
    """The sentence with the size of the group it speaks of, where there is one."""
    if not isinstance(standing, Standing):
        return said
    group = language.say_n("The group has %(n)d person near age %(age)s.",
                           "The group has %(n)d people near age %(age)s.", round(standing.n_mean),
                           age=age_words(findings.age_years, language))
    return f"{said} {group}"


def _change(measure: str, findings: Findings, language: Language) -> str:
    change = findings.changes.get(measure)
    if isinstance(change, Refusal):
        return sentence(change.code, change.values, language)
    if not isinstance(change, Change):
        return language.say("There is no earlier visit to compare with.")
    name = measure_name(measure, language)
    if change.reliable == "none":
        return language.say("%(measure)s changed by no more than chance and practice usually produce.",
                            measure=name)
    return language.say("%(measure)s changed by more than chance and practice usually produce.", measure=name)
