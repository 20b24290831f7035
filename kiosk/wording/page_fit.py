"""Who was tested, and is the recording fit to read? Identity, the visit, the dots and their reasons."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta, timezone
from statistics import median

from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery, Block
from kiosk.scoring.trial_scores import Reason
from kiosk.visits.device_record import Device
from kiosk.visits.findings import Findings, TrialFinding
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit
from kiosk.wording.circumstances import hand_words
from kiosk.wording.measures import block_name
from kiosk.wording.page_parts import DotState, Fit, Labelled, TrialDots
from kiosk.wording.reasons import sentence
from kiosk.wording.units import age_words, days_apart

CUT_SHORT = ("window_cut_short",)  # goes without saying where a trial was stopped or interrupted
NOTED = ("state_differs", "not_understood")


def identity(findings: Findings, person: Person, device: Device, language: Language) -> tuple[Labelled, ...]:
    """Name where one is held, code, birth, age, hand, tablet."""
    say = language.say
    name = (Labelled(say("Name"), _name(person)),) if person.family_name else ()
    hand = say("%(side)s, preferred", side=hand_words(findings.visit.preferred_hand, language))
    return (
        *name,
        Labelled(say("Code"), person.code),
        Labelled(say("Born"), birth_words(person.birth_date, language)),
        Labelled(say("Age"), age_words(findings.age_years, language)),
        Labelled(say("Hand"), hand),
        Labelled(say("Tablet"), device.label),
    )


def birth_words(birth_date: str, language: Language) -> str:
    """The birth date as precisely as it is known: day, month or year.

    A month or a day is never guessed.
    """
    if not birth_date:
        return language.say("not known")
    year, month, day = (*(int(part) for part in birth_date.split("-")), 0, 0)[:3]
    if day:
        return language.date(date(year, month, day))
    return language.month(date(year, month, 1)) if month else birth_date


def visit_moment(visit: Visit, language: Language) -> str:
    """When the visit began, in its own zone as stored with it."""
    return moment(visit.started_at, visit.utc_offset_min, language)


def moment(when: datetime, utc_offset_min: int, language: Language) -> str:
    """A moment with its offset: 25 Nov 2026 10:42 (UTC+01:00)."""
    return language.date_time(when, timezone(timedelta(minutes=utc_offset_min)))


def visit_line(findings: Findings, language: Language) -> str:
    """Which visit this is, and how long after the last one it compares with."""
    place = language.say("Visit %(number)d of this kind", number=findings.visit_number)
    if findings.compared_with is None:
        return place
    days = (findings.visit.started_at - findings.compared_with.started_at).total_seconds() / 86400
    after = language.say(
        "%(interval)s after visit %(visit)d",
        interval=days_apart(days, language),
        visit=findings.compared_with.number,
    )
    return f"{place} · {after}"


def fit(findings: Findings, battery: Battery, device: Device, language: Language) -> Fit:
    """The answer, the dots and why a trial could not be scored."""
    trials = [one for one in findings.trials if one.block != "familiarise"]
    groups = tuple(_group(block, trials, language) for block in planned_blocks(battery, findings.visit))
    notes = _notes(trials, language)
    return Fit(
        language.say("Fit to read?"),
        _answer(groups, findings, notes, language),
        groups,
        _facts(groups, trials, findings, language),
        notes,
    )


def planned_blocks(battery: Battery, visit: Visit) -> tuple[Block, ...]:
    """The scored blocks that the hands usable today allow, in order of testing."""
    only = "preferred" if visit.hands_today == visit.preferred_hand else "other"
    return tuple(
        block
        for block in battery.blocks
        if block.scored and (visit.hands_today == "both" or block.hand == only)
    )


def fit_to_score(trial: TrialFinding) -> bool:
    """Complete, and valid by the rules of scoring."""
    return trial.outcome == "complete" and trial.scores.validity.valid


def _name(person: Person) -> str:
    family = (person.family_name or "").upper()
    return f"{family}, {person.given_name}" if person.given_name else family


def _group(block: Block, trials: Sequence[TrialFinding], language: Language) -> TrialDots:
    mine = [one for one in trials if (one.block, one.hand) == (block.id, block.hand)]
    states = tuple(
        _dot([one for one in mine if one.number == number]) for number in range(1, block.trials + 1)
    )
    return TrialDots(block_name(block.name, language), states)


def _dot(attempts: Sequence[TrialFinding]) -> DotState:
    if not attempts:
        return "not_done"
    return "scored" if any(fit_to_score(one) for one in attempts) else "not_scored"


def _answer(groups: Sequence[TrialDots], findings: Findings, notes: Sequence[str], language: Language) -> str:
    dots = [dot for group in groups for dot in group.dots]
    if "scored" not in dots:
        return language.say_in("fit to read", "no")
    if set(dots) == {"scored"}:
        noted = notes or any(one.code in NOTED for one in findings.cautions)
        return language.say("yes, with a note") if noted else language.say_in("fit to read", "yes")
    return language.say_in("fit to read", "in part")


def _facts(
    groups: Sequence[TrialDots], trials: Sequence[TrialFinding], findings: Findings, language: Language
) -> tuple[str, ...]:
    dots = [dot for group in groups for dot in group.dots]
    counted = language.say(
        "%(scored)d of %(all)d trials scored", scored=dots.count("scored"), all=len(dots)
    )
    rates = [one.rate_hz for one in trials if one.rate_hz is not None]
    touch = (language.say("touch %(rate)s/s", rate=language.number(median(rates))),) if rates else ()
    return (counted, *touch, *_latency(findings.visit, language))


def _latency(visit: Visit, language: Language) -> tuple[str, ...]:
    if visit.latency_ms is None:
        return (language.say("delay of the tablet not known"),)
    return (language.say("delay of the tablet %(ms)s ms, taken off", ms=language.number(visit.latency_ms)),)


def _notes(trials: Iterable[TrialFinding], language: Language) -> tuple[str, ...]:
    """Each reason and caution once, with the trials it belongs to."""
    named: dict[str, dict[str, list[str]]] = {}
    for trial in trials:
        for said in _said_of(trial, language):
            numbers = named.setdefault(said, {}).setdefault(f"{trial.block}.{trial.hand}", [])
            numbers.append(language.number(trial.number))
    return tuple(
        language.say("%(trials)s: %(why)s", trials=_listed(blocks, language), why=said)
        for said, blocks in named.items()
    )


def _listed(blocks: Mapping[str, Sequence[str]], language: Language) -> str:
    """Steady circle 1, 3; other hand 2."""
    parts = [
        language.say_in(
            "trials",
            "%(block)s %(numbers)s",
            block=block_name(block, language),
            numbers=", ".join(dict.fromkeys(numbers)),
        )
        for block, numbers in blocks.items()
    ]
    listed = "; ".join(parts)
    return listed[:1].upper() + listed[1:]


def _said_of(trial: TrialFinding, language: Language) -> list[str]:
    validity = trial.scores.validity
    reasons: tuple[Reason, ...] = (*validity.reasons, *validity.cautions)
    ended = trial.outcome == "complete"
    said = [sentence(one.code, one.values, language) for one in reasons if ended or one.code not in CUT_SHORT]
    return said if ended else [_outcome(trial.outcome, language), *said]


def _outcome(outcome: str, language: Language) -> str:
    if outcome == "stopped":
        return language.say("Stopped while it ran.")
    return language.say("Interrupted while it ran.")
