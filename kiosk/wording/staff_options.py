"""The answers of intake, amendment and sign-off in words, and the questions they answer."""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.wording.circumstances import hand_words, language_words

QUESTIONS: Final[Messages] = {
    "tool_hand": N_("Which hand holds the pen or the tools?"),
    "preferred_hand": N_("Which hand counts as the preferred one today?"),
    "hands_today": N_("Which hands can be used today?"),
    "hands_reason": N_("Why only one hand?"),
    "language": N_("Which language on the screen?"),
    "delivery": N_("Who gives the instructions?"),
    "purpose": N_("What is this visit for?"),
    "research_use": N_("May the recordings be used for research?"),
    "posture": N_("How does the person sit?"),
    "last_dose": N_("Last dose of a medicine that affects movement?"),
    "pain_before": N_("Pain in hand or arm now?"),
    "pain_after": N_("Pain now"),
    "hands_as_asked": N_("Hands used as asked?"),
    "sex": N_("Sex, as the reference group asks for it?"),
    "education": N_("Years of school and training?"),
    "placement": N_("How does the tablet lie?"),
    "protector": N_("Is there a protector on the glass?"),
    "what": N_("What is to be put right?"),
    "reason": N_("Why?"),
    "role": N_("Role"),
}
SUBJECTS: Final[Messages] = {
    "tool_hand": N_("Writing hand"),
    "preferred_hand": N_("Preferred hand"),
    "hands_today": N_("Hands today"),
    "hands_reason": N_("Reason"),
    "language": N_("Language"),
    "delivery": N_("Instructions"),
    "purpose": N_("Purpose"),
    "research_use": N_("Research use"),
    "posture": N_("Posture"),
    "last_dose": N_("Last dose"),
    "pain_before": N_("Pain before"),
    "sex": N_("Sex"),
    "education": N_("Education"),
    "placement": N_("Tablet"),
    "protector": N_("Glass protector"),
}
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
    "doctor": N_("Doctor"),
    "psychologist": N_("Psychologist"),
    "therapist": N_("Therapist"),
    "nurse": N_("Nurse"),
    "other_role": N_("Other"),
    "birth_date": N_("Birth date"),
    "observations": N_("What was noted"),
    "void_visit": N_("Take the visit out"),
    "restore_visit": N_("Put the visit back"),
    "wrong_person": N_("Wrong person"),
    "wrong_entry": N_("Wrong entry"),
    "seen_later": N_("Noticed later"),
    "asked_by_person": N_("The person asked"),
}
TICKS: Final[Messages] = {
    "person": N_("Right person?"),
    "hands": N_("Hands"),
    "glass": N_("Glass wiped and dry"),
    "seated": N_("Seated, screen seen"),
    "power": N_("Power"),
}
STATES: Final[Messages] = {
    "ready": N_("ready"),
    "in_progress": N_("in progress"),
    "not_concluded": N_("not concluded"),
    "not_printed": N_("not printed"),
    "not_reviewed": N_("not reviewed"),
    "reviewed": N_("reviewed"),
    "void": N_("taken out"),
}


def question(subject: str, language: Language) -> str:
    """The question of a subject."""
    return language.say_message(QUESTIONS[subject])


def subject_words(subject: str, language: Language) -> str:
    """The subject as the label of its answers."""
    return language.say_message(SUBJECTS[subject])


def answer_words(subject: str, value: str, language: Language) -> str:
    """One answer as a choice."""
    if subject == "language":
        return language_words(value, language)
    if value in ("right", "left"):
        only = f"{value}_only" if subject == "hands_today" else ""
        return language.say_message(ANSWERS[only]) if only else _capital(hand_words(value, language))
    return language.say_message(ANSWERS[value])


def tick_words(tick: str, language: Language) -> str:
    """One tick of the ready strip."""
    return language.say_message(TICKS[tick])


def state_of_visit(state: str, language: Language) -> str:
    """How far a visit of today is."""
    return language.say_message(STATES[state])


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
