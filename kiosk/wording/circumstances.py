"""The circumstances of a visit in words: hands, state, how it was delivered, and what staff saw."""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages

_HANDS: Final[Messages] = {"right": N_("right"), "left": N_("left")}
_TOKENS: Final[Messages] = {
    "not_asked": N_("not asked"),
    "not_known": N_("not known"),
    "none": N_("none"),
    "mild": N_("mild"),
    "enough_to_matter": N_("enough to matter"),
    "less_than_1": N_("less than 1 h ago"),
    "1_to_2": N_("1–2 h ago"),
    "2_to_4": N_("2–4 h ago"),
    "over_4": N_("over 4 h ago"),
    "not_today": N_("not taken today"),
    "seated": N_("seated"),
    "wheelchair": N_("in a wheelchair"),
    "bed": N_("in bed"),
    "standing": N_("standing"),
    "flat": N_("tablet flat"),
    "tilted": N_("tablet tilted"),
    "upright": N_("tablet upright"),
    "finger": N_("finger"),
    "stylus": N_("stylus"),
    "mouse": N_("mouse"),
    "screen": N_("instructions on screen"),
    "staff_spoke": N_("instructions spoken by staff"),
    "interpreter": N_("instructions through an interpreter"),
    "relative": N_("instructions through a relative"),
    "demonstration_only": N_("demonstration only"),
    "yes": N_("yes"),
    "no": N_("no"),
}
_STATES: Final[Messages] = {
    "last_dose": N_("Last dose"),
    "pain_before": N_("Pain before"),
    "pain_after": N_("Pain after"),
    "posture": N_("Posture"),
    "placement": N_("Placement"),
    "protector": N_("Glass protector"),
    "sees_disc": N_("Sees the disc"),
    "wiped_and_dry": N_("Glass wiped and dry"),
    "power": N_("Power"),
    "language": N_("Language"),
    "delivery": N_("Instructions"),
}
_LANGUAGES: Final[Messages] = {
    "en": N_("English"),
    "es": N_("Spanish"),
    "fr": N_("French"),
    "de": N_("German"),
    "pt": N_("Portuguese"),
    "ar": N_("Arabic"),
    "zh-Hans": N_("Chinese"),
    "hi": N_("Hindi"),
}
_SEEN: Final[Messages] = {
    "talked": N_("talked"),
    "interrupted": N_("interrupted"),
    "pain": N_("pain"),
    "helped_by_touch": N_("helped by touch"),
    "told_where": N_("told where to go"),
    "wrong_hand": N_("wrong hand"),
    "glove_or_nail": N_("glove or nail"),
    "glass_wet": N_("glass wet"),
    "hands_as_asked_no": N_("hands not used as asked"),
    "not_understood": N_("practice not completed as shown"),
}


def hand_words(side: str, language: Language) -> str:
    """The word for a side: right, left."""
    return language.say_message(_HANDS[side])


def state_words(name: str, language: Language) -> str:
    """The name of one circumstance: Last dose."""
    return language.say_message(_STATES[name]) if name in _STATES else _plain(name)


def token_words(token: str, language: Language) -> str:
    """One answer from intake: not asked, mild, 2–4 h ago; any other text as it was noted."""
    return language.say_message(_TOKENS[token]) if token in _TOKENS else _plain(token)


def language_words(tag: str, language: Language) -> str:
    """The name of a language; of one that is not ours, as CLDR has it."""
    return language.say_message(_LANGUAGES[tag]) if tag in _LANGUAGES else language.name_of(tag)


def seen_words(code: str, language: Language) -> str:
    """One observation of staff; ValueError for an unknown code."""
    return language.say_one_of(_SEEN, code, "observation")


def _plain(text: str) -> str:
    return text.replace("_", " ")
