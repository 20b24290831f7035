"""The published uniform labels of a standing, and the reading of a change, in words.

Labels: Guilmette TJ et al. (2020), The Clinical Neuropsychologist 34:437-453. Where a catalogue is not
approved, the English label stands behind the translation in brackets. Decision page-4.
"""

from typing import Final

from kiosk.i18n.language import SOURCE_TAG, Language
from kiosk.i18n.message import N_, Messages
from norms import Change, Standing

_LABELS: Final[Messages] = {
    "Exceptionally low": N_("Exceptionally low"),
    "Below average": N_("Below average"),
    "Low average": N_("Low average"),
    "Average": N_("Average"),
    "High average": N_("High average"),
    "Above average": N_("Above average"),
    "Exceptionally high": N_("Exceptionally high"),
    "Within normal limits": N_("Within expectation"),
}
_READINGS: Final[Messages] = {
    "worse": N_("reliably poorer"),
    "better": N_("reliably better"),
    "further_ahead": N_("reliably further ahead"),
    "none": N_("no reliable change"),
}


def standing_label(standing: Standing, language: Language) -> str:
    """The published label, or the words for a lag further ahead than most, or none."""
    if standing.further_ahead:
        return language.say("Further ahead than most")
    return "" if standing.label is None else label_words(standing.label, language)


def label_words(label: str, language: Language) -> str:
    """A published label in this language; ValueError for any other."""
    words = language.say_one_of(_LABELS, label, "label")
    checked = language.status in ("approved", "source") or language.tag == SOURCE_TAG
    return words if checked or words == label else f"{words} [{label}]"


def change_reading(change: Change, language: Language) -> str:
    """Reliably poorer, reliably better, reliably further ahead, or no reliable change."""
    return language.say_message(_READINGS[change.reliable])
