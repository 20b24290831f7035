"""The published uniform labels of a standing, and the reading of a change, in words.

Labels: Guilmette TJ et al. (2020), The Clinical Neuropsychologist 34:437-453. Where a catalogue is not
approved, the English label stands behind the translation in brackets.
"""

from collections.abc import Callable, Mapping

from kiosk.i18n.language import SOURCE_TAG, Language
from norms import Change, Standing

_Say = Callable[..., str]

_LABELS: Mapping[str, Callable[[_Say], str]] = {
    "Exceptionally low": lambda say: say("Exceptionally low"),
    "Below average": lambda say: say("Below average"),
    "Low average": lambda say: say("Low average"),
    "Average": lambda say: say("Average"),
    "High average": lambda say: say("High average"),
    "Above average": lambda say: say("Above average"),
    "Exceptionally high": lambda say: say("Exceptionally high"),
    "Within normal limits": lambda say: say("Within expectation"),
}
_READINGS: Mapping[str, Callable[[_Say], str]] = {
    "worse": lambda say: say("reliably poorer"),
    "better": lambda say: say("reliably better"),
    "further_ahead": lambda say: say("reliably further ahead"),
    "none": lambda say: say("no reliable change"),
}


def standing_label(standing: Standing, language: Language) -> str:
    """The published label, or the words for a lag further ahead than most, or none."""
    if standing.further_ahead:
        return language.say("Further ahead than most")
    return "" if standing.label is None else label_words(standing.label, language)


def label_words(label: str, language: Language) -> str:
    """A published label in this language; ValueError for any other."""
    if label not in _LABELS:
        raise ValueError(f"label, must be one of {', '.join(_LABELS)}, got {label!r}")
    words = _LABELS[label](language.say)
    checked = language.status in ("approved", "source") or language.tag == SOURCE_TAG
    return words if checked or words == label else f"{words} [{label}]"


def change_reading(change: Change, language: Language) -> str:
    """Reliably poorer, reliably better, reliably further ahead, or no reliable change."""
    return _READINGS[change.reliable](language.say)
