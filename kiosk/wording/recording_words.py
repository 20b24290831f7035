"""The scores of one recording in lines of text, for the command line."""

from kiosk.i18n.language import Language
from kiosk.pursuit.trial import TrialPlan
from kiosk.scoring.catalogue import kind_of
from kiosk.scoring.trial_scores import Scored, TrialScores
from kiosk.wording.reasons import sentence


def recording_lines(scores: TrialScores, plan: TrialPlan, language: Language) -> list[str]:
    """One line a score, then whether the trial is fit to be scored and why not."""
    say, validity = language.say, scores.validity
    lines = [say("%(block)s, trial %(number)d, %(side)s hand, form %(form)s", block=plan.block_name,
                 number=plan.number, side=plan.hand_side, form=plan.form)]
    lines += [f"  {name}: {_figure(name, one, language)}" for name, one in scores.values.items()]
    lines.append(say("fit to be scored") if validity.valid else say("not fit to be scored"))
    told = (*validity.reasons, *validity.cautions)
    lines += ["  " + sentence(one.code, one.values, language) for one in told]
    return lines


def _figure(name: str, scored: Scored, language: Language) -> str:
    kind = kind_of(name)
    if scored.value is None:
        return sentence(scored.reason or "not_known", {}, language)
    decimals = kind.decimals + 2 if kind.decimals or kind.unit == "ms" else kind.decimals
    return f"{language.number(scored.value, decimals)} {kind.unit}".rstrip()
