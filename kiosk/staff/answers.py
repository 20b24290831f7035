"""The answers that staff choose from, in words, and the row of choices they stand in."""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.staff.actions import Answer
from kiosk.wording.circumstances import hand_words, language_words
from kiosk.wording.staff_parts import Choices, Option

ANSWERS: Final[Messages] = {
    "either": N_("Either"),
    "both": N_("Both"),
    "right_only": N_("Right only"),
    "left_only": N_("Left only"),
    "not_known": N_("Not known"),
    "not_asked": N_("Not asked"),
    "pain": N_("Pain"),
    "injury": N_("Injury"),
    "cast_or_splint": N_("Cast or splint"),
    "weakness": N_("Weakness"),
    "absent": N_("No other hand"),
    "other_reason": N_("Another reason"),
    "screen": N_("The screen"),
    "staff_spoke": N_("Staff, aloud"),
    "interpreter": N_("An interpreter"),
    "relative": N_("A relative"),
    "demonstration_only": N_("Demonstration only"),
    "care": N_("Care"),
    "reference": N_("Reference volunteer"),
    "retest": N_("Retest study"),
    "training": N_("Training"),
    "yes": N_("Yes"),
    "no": N_("No"),
    "seated": N_("Seated"),
    "wheelchair": N_("Wheelchair"),
    "bed": N_("Bed"),
    "standing": N_("Standing"),
    "none": N_("None"),
    "less_than_1": N_("Less than 1 h"),
    "1_to_2": N_("1–2 h"),
    "2_to_4": N_("2–4 h"),
    "over_4": N_("Over 4 h"),
    "not_today": N_("Not today"),
    "mild": N_("Mild"),
    "enough_to_matter": N_("Enough to matter"),
    "female": N_("Female"),
    "male": N_("Male"),
    "other": N_("Other"),
    "0_to_8": N_("Up to 8"),
    "9_to_12": N_("9 to 12"),
    "13_or_more": N_("13 or more"),
    "flat": N_("Flat"),
    "tilted": N_("Tilted"),
    "upright": N_("Upright"),
    "birth_date": N_("Birth date"),
    "observations": N_("What was noted"),
    "void_visit": N_("Take the visit out"),
    "restore_visit": N_("Put the visit back"),
    "wrong_person": N_("Wrong person"),
    "wrong_entry": N_("Wrong entry"),
    "seen_later": N_("Noticed later"),
    "asked_by_person": N_("The person asked"),
}


def answer_words(subject: str, value: str, language: Language) -> str:
    """One answer as a choice."""
    if subject == "language":
        return language_words(value, language)
    if value in ("right", "left"):
        only = f"{value}_only" if subject == "hands_today" else ""
        return language.say_message(ANSWERS[only]) if only else _capital(hand_words(value, language))
    return language.say_message(ANSWERS[value])


def answer_row(subject: str, label: str, values: tuple[str, ...], chosen: str, language: Language) -> Choices:
    """A row of answers with the one given."""
    return Choices(label, tuple(
        Option(Answer(subject, value), answer_words(subject, value, language), value == chosen)
        for value in values))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
