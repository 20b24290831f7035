"""The answers of intake, amendment and sign-off in words, and the questions they answer."""

from collections.abc import Callable, Mapping

from kiosk.i18n.language import Language
from kiosk.wording.circumstances import hand_words, language_words

Words = Mapping[str, Callable[[Callable[..., str]], str]]

QUESTIONS: Words = {
    "tool_hand": lambda say: say("Which hand holds the pen or the tools?"),
    "preferred_hand": lambda say: say("Which hand counts as the preferred one today?"),
    "hands_today": lambda say: say("Which hands can be used today?"),
    "hands_reason": lambda say: say("Why only one hand?"),
    "language": lambda say: say("Which language on the screen?"),
    "delivery": lambda say: say("Who gives the instructions?"),
    "purpose": lambda say: say("What is this visit for?"),
    "research_use": lambda say: say("May the recordings be used for research?"),
    "posture": lambda say: say("How does the person sit?"),
    "last_dose": lambda say: say("Last dose of a medicine that affects movement?"),
    "pain_before": lambda say: say("Pain in hand or arm now?"),
    "pain_after": lambda say: say("Pain now"),
    "hands_as_asked": lambda say: say("Hands used as asked?"),
    "sex": lambda say: say("Sex, as the reference group asks for it?"),
    "education": lambda say: say("Years of school and training?"),
    "placement": lambda say: say("How does the tablet lie?"),
    "protector": lambda say: say("Is there a protector on the glass?"),
    "what": lambda say: say("What is to be put right?"),
    "reason": lambda say: say("Why?"),
    "role": lambda say: say("Role"),
}
SUBJECTS: Words = {
    "tool_hand": lambda say: say("Writing hand"),
    "preferred_hand": lambda say: say("Preferred hand"),
    "hands_today": lambda say: say("Hands today"),
    "hands_reason": lambda say: say("Reason"),
    "language": lambda say: say("Language"),
    "delivery": lambda say: say("Instructions"),
    "purpose": lambda say: say("Purpose"),
    "research_use": lambda say: say("Research use"),
    "posture": lambda say: say("Posture"),
    "last_dose": lambda say: say("Last dose"),
    "pain_before": lambda say: say("Pain before"),
    "sex": lambda say: say("Sex"),
    "education": lambda say: say("Education"),
    "placement": lambda say: say("Tablet"),
    "protector": lambda say: say("Glass protector"),
}
ANSWERS: Words = {
    "either": lambda say: say("Either"),
    "both": lambda say: say("Both"),
    "right_only": lambda say: say("Right only"),
    "left_only": lambda say: say("Left only"),
    "not_known": lambda say: say("Not known"),
    "not_asked": lambda say: say("Not asked"),
    "pain": lambda say: say("Pain"),
    "injury": lambda say: say("Injury"),
    "cast_or_splint": lambda say: say("Cast or splint"),
    "weakness": lambda say: say("Weakness"),
    "absent": lambda say: say("No other hand"),
    "other_reason": lambda say: say("Another reason"),
    "screen": lambda say: say("The screen"),
    "staff_spoke": lambda say: say("Staff, aloud"),
    "interpreter": lambda say: say("An interpreter"),
    "relative": lambda say: say("A relative"),
    "demonstration_only": lambda say: say("Demonstration only"),
    "care": lambda say: say("Care"),
    "reference": lambda say: say("Reference volunteer"),
    "retest": lambda say: say("Retest study"),
    "training": lambda say: say("Training"),
    "yes": lambda say: say("Yes"),
    "no": lambda say: say("No"),
    "seated": lambda say: say("Seated"),
    "wheelchair": lambda say: say("Wheelchair"),
    "bed": lambda say: say("Bed"),
    "standing": lambda say: say("Standing"),
    "none": lambda say: say("None"),
    "less_than_1": lambda say: say("Less than 1 h"),
    "1_to_2": lambda say: say("1–2 h"),
    "2_to_4": lambda say: say("2–4 h"),
    "over_4": lambda say: say("Over 4 h"),
    "not_today": lambda say: say("Not today"),
    "mild": lambda say: say("Mild"),
    "enough_to_matter": lambda say: say("Enough to matter"),
    "female": lambda say: say("Female"),
    "male": lambda say: say("Male"),
    "other": lambda say: say("Other"),
    "0_to_8": lambda say: say("Up to 8"),
    "9_to_12": lambda say: say("9 to 12"),
    "13_or_more": lambda say: say("13 or more"),
    "flat": lambda say: say("Flat"),
    "tilted": lambda say: say("Tilted"),
    "upright": lambda say: say("Upright"),
    "doctor": lambda say: say("Doctor"),
    "psychologist": lambda say: say("Psychologist"),
    "therapist": lambda say: say("Therapist"),
    "nurse": lambda say: say("Nurse"),
    "other_role": lambda say: say("Other"),
    "birth_date": lambda say: say("Birth date"),
    "observations": lambda say: say("What was noted"),
    "void_visit": lambda say: say("Take the visit out"),
    "restore_visit": lambda say: say("Put the visit back"),
    "wrong_person": lambda say: say("Wrong person"),
    "wrong_entry": lambda say: say("Wrong entry"),
    "seen_later": lambda say: say("Noticed later"),
    "asked_by_person": lambda say: say("The person asked"),
}
TICKS: Words = {
    "person": lambda say: say("Right person?"),
    "hands": lambda say: say("Hands"),
    "glass": lambda say: say("Glass wiped and dry"),
    "seated": lambda say: say("Seated, screen seen"),
    "power": lambda say: say("Power"),
}
STATES: Words = {
    "ready": lambda say: say("ready"),
    "in_progress": lambda say: say("in progress"),
    "not_concluded": lambda say: say("not concluded"),
    "not_printed": lambda say: say("not printed"),
    "not_reviewed": lambda say: say("not reviewed"),
    "reviewed": lambda say: say("reviewed"),
    "void": lambda say: say("taken out"),
}


def question(subject: str, language: Language) -> str:
    """The question of a subject."""
    return QUESTIONS[subject](language.say)


def subject_words(subject: str, language: Language) -> str:
    """The subject as the label of its answers."""
    return SUBJECTS[subject](language.say)


def answer_words(subject: str, value: str, language: Language) -> str:
    """One answer as a choice."""
    if subject == "language":
        return language_words(value, language)
    if value in ("right", "left"):
        only = f"{value}_only" if subject == "hands_today" else ""
        return ANSWERS[only](language.say) if only else _capital(hand_words(value, language))
    return ANSWERS[value](language.say)


def tick_words(tick: str, language: Language) -> str:
    """One tick of the ready strip."""
    return TICKS[tick](language.say)


def state_of_visit(state: str, language: Language) -> str:
    """How far a visit of today is."""
    return STATES[state](language.say)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
