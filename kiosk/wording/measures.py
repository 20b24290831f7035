"""The names of blocks, scores and measures. A measure's id is BLOCK.HAND.SCORE."""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages

_BLOCKS: Final[Messages] = {
    "familiarise.preferred": N_("practice circle"),
    "familiarise.other": N_("practice circle"),
    "steady.preferred": N_("steady circle"),
    "steady.other": N_("other hand"),
    "brisk.preferred": N_("brisk circle"),
    "circles.preferred": N_("both circles"),
    "wander.preferred": N_("wandering path"),
    "steady.both": N_("steady circle, both hands"),
}
_SHORT: Final[Messages] = {
    "familiarise.preferred": N_("Practice"),
    "familiarise.other": N_("Practice"),
    "steady.preferred": N_("Steady"),
    "steady.other": N_("Other"),
    "brisk.preferred": N_("Brisk"),
    "wander.preferred": N_("Wander"),
}
_SCORES: Final[Messages] = {
    "scatter": N_("Scatter"),
    "lag": N_("Lag"),
    "delay": N_("Delay"),
    "follow": N_("Follow"),
    "prediction": N_("Prediction"),
    "error_rms": N_("Distance from the disc"),
    "time_on_target": N_("Time on target"),
    "along_sd": N_("Scatter along the path"),
    "across_sd": N_("Scatter across the path"),
    "offset_x": N_("Offset to the right"),
    "offset_y": N_("Offset upwards"),
    "contact": N_("Finger on the glass"),
    "lifts": N_("Lifts"),
    "lift_share": N_("Time off the glass"),
    "lag_as_recorded": N_("Lag as recorded"),
    "delay_as_recorded": N_("Delay as recorded"),
    "gain": N_("Gain"),
    "stalls": N_("Stalls"),
    "stall_share": N_("Time stalled"),
    "tremor_hz": N_("Regular shake, frequency"),
    "tremor_mm": N_("Regular shake, size"),
    "tremor_excess": N_("Tallest peak above the line"),
    "practice": N_("Change of scatter from trial to trial"),
    "hand_difference": N_("Scatter of the other hand against this one"),
    "direction_difference": N_("Scatter of one direction against the other"),
}


def block_name(block: str, language: Language) -> str:
    """The name of BLOCK.HAND: steady circle, other hand."""
    return language.say_one_of(_BLOCKS, block, "block")


def score_name(score: str, language: Language) -> str:
    """The name of a score: Scatter, Lag."""
    return language.say_one_of(_SCORES, score, "score")


def measure_name(measure: str, language: Language) -> str:
    """The name of a measure: Scatter, steady circle; Lag on circles."""
    if measure == "circles.preferred.lag":
        return language.say("Lag on circles")
    block, _, score = measure.rpartition(".")
    return language.say_in("measure", "%(score)s, %(block)s", score=score_name(score, language),
                           block=block_name(block, language))


def trial_name(block: str, number: int, language: Language) -> str:
    """The name of one trial: steady circle 2."""
    return language.say_in("trial", "%(block)s %(number)s", block=block_name(block, language), number=number)


def trial_label(block: str, number: int, language: Language) -> str:
    """A trial's short name under its path: Steady 1."""
    short = language.say_message(_SHORT[block])
    return language.say_in("trial", "%(block)s %(number)d", block=short, number=number)
