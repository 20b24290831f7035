"""The two sentences of a visit (how many scores are low, how many changed), each with its chance."""

from collections.abc import Iterable, Mapping

from kiosk.i18n.language import Language
from kiosk.visits.findings import Findings
from kiosk.wording.measures import measure_name
from kiosk.wording.page_parts import Headline
from kiosk.wording.reasons import sentence
from kiosk.wording.units import age_words, people_in_100
from norms import Change, ChangeProfile, Profile, Refusal, Standing

NAMES_IN_A_SENTENCE = 2


def headlines(findings: Findings, language: Language) -> tuple[Headline, ...]:
    """Today and change; where nothing can be compared, only that values follow."""
    if not any(isinstance(one, Standing) for one in findings.standings.values()):
        return (Headline(language.say("Today"), language.say("Values only: no comparison is shown."), ""),)
    return today(findings, language), change(findings, language)


def today(findings: Findings, language: Language) -> Headline:
    """How many scores are low for this age, and in how many of 100 people that many or more are."""
    standings = [one for one in findings.standings.values() if isinstance(one, Standing)]
    low = [measure_name(one.measure, language) for one in standings if one.low]
    age = age_words(findings.age_years, language)
    return Headline(
        language.say("Today"),
        _how_many_low(len(low), len(standings), age, _which(low, language), language),
        _low_chance(findings.profile, len(low), language),
        _how_many_low(len(low), len(standings), age, "", language),
    )


def change(findings: Findings, language: Language) -> Headline:
    """How many measures changed reliably since the earlier visit, and how often chance does that."""
    word = language.say("Change")
    if findings.compared_with is None:
        return Headline(word, _nothing_earlier(findings, language), reason_of_all(findings.changes, language))
    judged = [one for one in findings.changes.values() if isinstance(one, Change)]
    if not judged:
        return Headline(word, _not_judged(findings, language), reason_of_all(findings.changes, language))
    return Headline(word, _how_many_changed(findings, judged, language),
                    _change_chance(findings.change_profile, judged, language))


def _how_many_low(low: int, compared: int, age: str, which: str, language: Language) -> str:
    if low == 0:
        return language.say_n("The one score compared is not low for age %(age)s.",
                              "None of %(n)d scores is low for age %(age)s.", compared, age=age)
    return language.say_n("%(n)d of %(compared)d scores is low for age %(age)s%(which)s.",
                          "%(n)d of %(compared)d scores are low for age %(age)s%(which)s.", low,
                          compared=compared, age=age, which=which)


def _low_chance(profile: object, low: int, language: Language) -> str:
    if isinstance(profile, Refusal):
        return _chance_unknown(profile, language)
    if not isinstance(profile, Profile):
        return ""
    people, least = people_in_100(profile.chance_percent, language), max(1, low)
    if profile.chance_percent < 0.5:
        return language.say(
            "Fewer than 1 in 100 people of the reference group have %(k)d or more this low.", k=least
        )
    return language.say("About %(people)s in 100 people of the reference group have %(k)d or more this low.",
                        people=people, k=least)


def _nothing_earlier(findings: Findings, language: Language) -> str:
    if findings.visit_number <= 1:
        return language.say("First visit of this kind: there is nothing earlier to compare with.")
    return language.say("No earlier visit can be compared with this one.")


def _not_judged(findings: Findings, language: Language) -> str:
    return language.say("Change since visit %(visit)d is shown without judgement.", visit=_earlier(findings))


def reason_of_all(answers: Mapping[str, object], language: Language) -> str:
    """The different reasons of all refusals among the answers, each once."""
    said = (sentence(one.code, one.values, language) for one in answers.values() if isinstance(one, Refusal))
    return " ".join(dict.fromkeys(said))


def _how_many_changed(findings: Findings, judged: list[Change], language: Language) -> str:
    visit, compared = _earlier(findings), len(judged)
    worse, better, ahead = (_names(judged, kind, language) for kind in ("worse", "better", "further_ahead"))
    if worse:
        first = language.say_n("%(n)d of %(compared)d is reliably poorer than at visit %(visit)d%(which)s.",
                               "%(n)d of %(compared)d are reliably poorer than at visit %(visit)d%(which)s.",
                               len(worse), compared=compared, visit=visit, which=_which(worse, language))
    else:
        first = language.say(
            "None of %(compared)d is reliably poorer than at visit %(visit)d.", compared=compared, visit=visit
        )
    return " ".join(part for part in (first, _better(better, language), _ahead(ahead, language)) if part)


def _better(names: list[str], language: Language) -> str:
    if not names:
        return language.say("None reliably better.")
    return language.say_n("%(n)d is reliably better%(which)s.", "%(n)d are reliably better%(which)s.",
                          len(names), which=_which(names, language))


def _ahead(names: list[str], language: Language) -> str:
    if not names:
        return ""
    return language.say_n("%(n)d is reliably further ahead.", "%(n)d are reliably further ahead.", len(names))


def _change_chance(profile: object, judged: list[Change], language: Language) -> str:
    if isinstance(profile, Refusal):
        return _chance_unknown(profile, language)
    if not isinstance(profile, ChangeProfile):
        return ""
    return language.say(
        "At most about %(people)s in 100 people who have not changed show %(k)d or more poorer.",
        people=people_in_100(profile.chance_worse_percent, language),
        k=max(1, profile.n_worse),
    )


def _chance_unknown(refusal: Refusal, language: Language) -> str:
    why = sentence(refusal.code, refusal.values, language)
    return language.say("How common that is cannot be said. %(why)s", why=why)


def _names(judged: Iterable[Change], kind: str, language: Language) -> list[str]:
    return [measure_name(one.measure, language) for one in judged if one.reliable == kind]


def _which(names: list[str], language: Language) -> str:
    if not 0 < len(names) <= NAMES_IN_A_SENTENCE:
        return ""
    return language.say_in("names in brackets", " (%(names)s)", names="; ".join(names))


def _earlier(findings: Findings) -> int:
    return 0 if findings.compared_with is None else findings.compared_with.number
