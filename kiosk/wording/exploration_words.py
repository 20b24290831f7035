"""The words of a trial's exploration sheet: titles, axes, notes and the list of scores."""

from collections.abc import Mapping
from dataclasses import dataclass

from kiosk.i18n.language import Language
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan
from kiosk.scoring.catalogue import kind_of
from kiosk.scoring.traces import Traces
from kiosk.scoring.trial_scores import Scored, TrialScores
from kiosk.wording.measures import score_name, trial_name


@dataclass(frozen=True)
class ExplorationWords:
    """All that is said on the sheet; `paths` has one title for each path drawn, `scores` name and figure."""

    title: str
    about: str
    paths: tuple[str, ...]
    paths_note: str
    distance: str
    along: str
    across: str
    speed: str
    seconds: str
    spectrum: str
    frequency: str
    shake: str
    not_shown: str
    scores: tuple[tuple[str, str], ...]
    fit: str
    caution: str


def exploration_words(file: str, traces: Traces, scores: TrialScores, language: Language) -> ExplorationWords:
    """The words of one trial's sheet."""
    say, plan = language.say, traces.plan
    name = trial_name(plan.block_name, plan.number, language)
    return ExplorationWords(
        title=name[:1].upper() + name[1:],
        about=_about(file, plan, traces.latency_ms, language),
        paths=_path_titles(traces, language),
        paths_note=say("Grey: the disc. Dark: the hand; a break is a finger off the glass."),
        distance=say("Distance from the disc, mm (shaded: off the disc)"),
        along=say("Along the way, mm (ahead is up; mean and own lag taken off)"),
        across=say("Across the way, mm (left of it is up)"),
        speed=say("Speed, mm/s (grey: the disc)"),
        seconds=say("seconds since the disc set off"),
        spectrum=say("Power of the error, mm²/Hz, and the line through it"),
        frequency=say("Hz"),
        shake=_shake(traces, language),
        not_shown=say("Too little contact to show this."),
        scores=tuple(_listed(scores.values, language)),
        fit=say("fit to be scored") if scores.validity.valid else say("not fit to be scored"),
        caution=say("For exploring a recording; the page is what a clinician reads."),
    )


def _about(file: str, plan: TrialPlan, latency_ms: float | None, language: Language) -> str:
    say = language.say
    side = say("left hand") if plan.hand_side == "left" else say("right hand")
    latency = (
        say("device latency not known, nothing taken off")
        if latency_ms is None
        else say("device latency of %(ms)s ms taken off", ms=language.number(latency_ms))
    )
    parts = [file, side, say("form %(form)s", form=plan.form), latency]
    return " · ".join(parts)


def _path_titles(traces: Traces, language: Language) -> tuple[str, ...]:
    """Turn 1 of 2; seconds 2 to 7 of a wandering path."""
    say, stretches = language.say, list(traces.stretches())
    if isinstance(traces.plan.path, Circle):
        numbers = range(1, len(stretches) + 1)
        return tuple(say("Turn %(number)d of %(count)d", number=n, count=len(stretches)) for n in numbers)
    ends_s = [(float(traces.t_s[one][0]), float(traces.t_s[one][-1])) for one in stretches]
    return tuple(
        say("Seconds %(from)s to %(to)s", **{"from": language.number(begin), "to": language.number(end)})
        for begin, end in ends_s
    )


def _shake(traces: Traces, language: Language) -> str:
    if traces.shake is None:
        return ""
    if not traces.regular:
        return language.say("No regular shake in this trial; a block is judged by all its trials.")
    hz = language.number(traces.shake.hz, 1)
    return language.say("Tallest peak at %(hz)s Hz; a block is judged by all its trials.", hz=hz)


def _listed(figures: Mapping[str, Scored], language: Language) -> list[tuple[str, str]]:
    return [(score_name(name, language), _figure(name, one, language)) for name, one in figures.items()]


def _figure(name: str, one: Scored, language: Language) -> str:
    kind = kind_of(name)
    if one.value is None:
        return language.say("not scored")
    decimals = kind.decimals + 1
    value = language.number(one.value, decimals)
    spread = "" if one.se is None else f" ± {language.number(one.se, decimals)}"
    return f"{value}{spread} {kind.unit}".rstrip()
