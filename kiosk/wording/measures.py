"""The names of blocks, scores and measures. A measure's id is BLOCK.HAND.SCORE."""

from collections.abc import Callable, Mapping

from kiosk.i18n.language import Language

_Say = Callable[..., str]

_BLOCKS: Mapping[str, Callable[[_Say], str]] = {
    "familiarise.preferred": lambda say: say("practice circle"),
    "familiarise.other": lambda say: say("practice circle"),
    "steady.preferred": lambda say: say("steady circle"),
    "steady.other": lambda say: say("other hand"),
    "brisk.preferred": lambda say: say("brisk circle"),
    "circles.preferred": lambda say: say("both circles"),
    "wander.preferred": lambda say: say("wandering path"),
    "steady.both": lambda say: say("steady circle, both hands"),
}
_SHORT: Mapping[str, Callable[[_Say], str]] = {
    "familiarise.preferred": lambda say: say("Practice"),
    "familiarise.other": lambda say: say("Practice"),
    "steady.preferred": lambda say: say("Steady"),
    "steady.other": lambda say: say("Other"),
    "brisk.preferred": lambda say: say("Brisk"),
    "wander.preferred": lambda say: say("Wander"),
}
_SCORES: Mapping[str, Callable[[_Say], str]] = {
    "scatter": lambda say: say("Scatter"),
    "lag": lambda say: say("Lag"),
    "delay": lambda say: say("Delay"),
    "follow": lambda say: say("Follow"),
    "prediction": lambda say: say("Prediction"),
    "error_rms": lambda say: say("Distance from the disc"),
    "time_on_target": lambda say: say("Time on target"),
    "along_sd": lambda say: say("Scatter along the path"),
    "across_sd": lambda say: say("Scatter across the path"),
    "offset_x": lambda say: say("Offset to the right"),
    "offset_y": lambda say: say("Offset upwards"),
    "contact": lambda say: say("Finger on the glass"),
    "lifts": lambda say: say("Lifts"),
    "lift_share": lambda say: say("Time off the glass"),
    "lag_as_recorded": lambda say: say("Lag as recorded"),
    "delay_as_recorded": lambda say: say("Delay as recorded"),
    "gain": lambda say: say("Gain"),
    "stalls": lambda say: say("Stalls"),
    "stall_share": lambda say: say("Time stalled"),
    "tremor_hz": lambda say: say("Regular shake, frequency"),
    "tremor_mm": lambda say: say("Regular shake, size"),
    "tremor_excess": lambda say: say("Tallest peak above the line"),
    "practice": lambda say: say("Change of scatter from trial to trial"),
    "hand_difference": lambda say: say("Scatter of the other hand against this one"),
    "direction_difference": lambda say: say("Scatter of one direction against the other"),
}


def block_name(block: str, language: Language) -> str:
    """The name of BLOCK.HAND: steady circle, other hand."""
    if block not in _BLOCKS:
        raise ValueError(f"block, must be one of {', '.join(_BLOCKS)}, got {block!r}")
    return _BLOCKS[block](language.say)


def score_name(score: str, language: Language) -> str:
    """The name of a score: Scatter, Lag."""
    if score not in _SCORES:
        raise ValueError(f"score, must be one of {', '.join(_SCORES)}, got {score!r}")
    return _SCORES[score](language.say)


def measure_name(measure: str, language: Language) -> str:
    """The name of a measure: Scatter, steady circle; Lag on circles."""
    if measure == "circles.preferred.lag":
        return language.say("Lag on circles")
    block, _, score = measure.rpartition(".")
    return language.say_in(
        "measure",
        "%(score)s, %(block)s",
        score=score_name(score, language),
        block=block_name(block, language),
    )


def trial_name(block: str, number: int, language: Language) -> str:
    """The name of one trial: steady circle 2."""
    return language.say_in("trial", "%(block)s %(number)s", block=block_name(block, language), number=number)


def trial_label(block: str, number: int, language: Language) -> str:
    """A trial's short name under its path: Steady 1."""
    return language.say_in("trial", "%(block)s %(number)d", block=_SHORT[block](language.say), number=number)
