"""What stands below the figures: conditions and observations, cautions, and the line of versions."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.scoring.catalogue import unit_of
from kiosk.visits.device_record import Device
from kiosk.visits.findings import Findings, TrialFinding
from kiosk.visits.visit import Visit
from kiosk.wording.adaptation_words import record_words
from kiosk.wording.circumstances import language_words, seen_words, state_words, token_words
from kiosk.wording.measures import block_name, trial_name
from kiosk.wording.page_parts import Labelled
from kiosk.wording.units import amount

ON_TARGET = ("steady.preferred", "brisk.preferred", "wander.preferred", "steady.other")
STATES = ("last_dose", "pain_before")
NOT_TOLD = ("", "not_asked", "not known")


def conditions(findings: Findings, device: Device, language: Language) -> tuple[Labelled, ...]:
    """Also · Seen · Set-up · State, each one line; a state that differs names both visits."""
    say = language.say
    lines = (
        Labelled(say("Also"), _also(findings, language)),
        Labelled(say("Seen by staff"), _seen(findings, language)),
        Labelled(say("Set-up"), _set_up(findings.visit, device, language)),
        Labelled(say("State"), _state(findings, language)),
    )
    return tuple(Labelled(line.label, f"{line.value}.") for line in lines if line.value)


def footer(
    findings: Findings,
    report_id: UUID,
    made_at: datetime,
    kiosk_name: str,
    app_version: str,
    audit_head: str,
    language: Language,
) -> str:
    """Report, versions, table, kiosk, the record of the page's words, and the head of the audit chain."""
    say, versions = language.say, findings.versions
    table = say("table %(hash)s", hash=findings.table.sha256[:4]) if findings.table else say("no table")
    parts = [
        say("Report %(id)s", id=report_id.hex[-12:]),
        say("battery %(name)s %(version)d", name=findings.visit.battery, version=versions.battery),
        say("scoring %(version)d", version=versions.scoring),
        say("comparison %(version)d", version=versions.comparison),
        table,
        kiosk_name,
        say("app %(version)s", version=app_version),
        say("made %(date)s", date=language.date(made_at.date())),
        *filter(None, [record_words(language)]),
    ]
    return " · ".join([*parts, say("audit %(head)s", head=audit_head)] if audit_head else parts)


def _also(findings: Findings, language: Language) -> str:
    shares = [_on_target(block, findings, language) for block in ON_TARGET]
    told = ", ".join(share for share in shares if share)
    parts = [language.say("time on target: %(shares)s", shares=told)] if told else []
    return "; ".join([*parts, *_off_glass(findings.trials, language), *_shake(findings, language)])


def _shake(findings: Findings, language: Language) -> list[str]:
    """The regular shake that stands out most, over all blocks in which one could be judged."""
    heights = _values(findings, "tremor_excess")
    seen = {block: hz for block, hz in _values(findings, "tremor_hz").items() if block in heights}
    if not heights:
        return []
    if not seen:
        return [language.say("regular shake: none seen")]
    tallest = max(seen, key=lambda block: heights[block])
    return [language.say("regular shake: about %(hz)s Hz", hz=language.number(seen[tallest]))]


def _values(findings: Findings, score: str) -> dict[str, float]:
    """A score's known values by block."""
    found = {block: findings.block_scores.get(f"{block}.{score}") for block in ON_TARGET}
    return {block: one.value for block, one in found.items() if one is not None and one.value is not None}


def _on_target(block: str, findings: Findings, language: Language) -> str:
    score = findings.block_scores.get(f"{block}.time_on_target")
    if score is None or score.value is None:
        return ""
    share = amount(score.value, unit_of("time_on_target"), language)
    return language.say_in(
        "time on target", "%(block)s %(share)s", block=block_name(block, language), share=share
    )


def _off_glass(trials: Iterable[TrialFinding], language: Language) -> list[str]:
    """The share of the scored windows with the finger off the glass."""
    figures = [one.scores.values.get("lift_share") for one in trials if one.block != "familiarise"]
    shares = [figure.value for figure in figures if figure is not None and figure.value is not None]
    if not shares:
        return []
    mean = amount(sum(shares) / len(shares), unit_of("lift_share"), language)
    return [language.say("finger off the glass %(share)s of the time", share=mean)]


def _seen(findings: Findings, language: Language) -> str:
    if not findings.observations:
        return language.say("nothing noted")
    names = {one.id: trial_name(f"{one.block}.{one.hand}", one.number, language) for one in findings.trials}
    told = []
    for seen in findings.observations:
        words = seen_words(seen.code, language) + (f": {seen.note}" if seen.note else "")
        where = names.get(seen.trial_id) if seen.trial_id else None
        told.append(f"{words} ({where})" if where else words)
    return "; ".join(dict.fromkeys(told))


def _set_up(visit: Visit, device: Device, language: Language) -> str:
    tokens = [visit.intake.get("posture", ""), visit.placement, visit.input, visit.delivery]
    words = [token_words(token, language) for token in tokens if token not in NOT_TOLD]
    if visit.intake.get("protector") == "yes":
        words.append(language.say("protector on the glass"))
    told = language_words(visit.language, language)
    panel = language.say("tablet class %(name)s", name=device.device_class)
    return ", ".join([*words, told, panel])


def _state(findings: Findings, language: Language) -> str:
    intake, earlier = findings.visit.intake, findings.earlier_intake or {}
    pain_after = findings.end.pain_after if findings.end else "not_asked"
    told = [
        _one_state(name, intake.get(name, "not_asked"), earlier.get(name), findings, language)
        for name in STATES
    ]
    after = language.say_in(
        "state",
        "%(name)s: %(answer)s",
        name=state_words("pain_after", language),
        answer=token_words(pain_after, language),
    )
    return "; ".join([*told, after])


def _one_state(name: str, answer: str, before: str | None, findings: Findings, language: Language) -> str:
    told = language.say_in(
        "state",
        "%(name)s: %(answer)s",
        name=state_words(name, language),
        answer=token_words(answer, language),
    )
    if findings.compared_with is None or before is None or before == answer:
        return told
    return language.say(
        "%(told)s (at visit %(visit)d: %(before)s)",
        told=told,
        visit=findings.compared_with.number,
        before=token_words(before, language),
    )
