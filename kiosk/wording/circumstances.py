"""The circumstances of a visit in words: hands, state, how it was delivered, and what staff saw."""

from collections.abc import Callable, Mapping

from kiosk.i18n.language import Language

_Say = Callable[..., str]
_Words = Mapping[str, Callable[[_Say], str]]

_HANDS: _Words = {"right": lambda say: say("right"), "left": lambda say: say("left")}
_TOKENS: _Words = {
    "not_asked": lambda say: say("not asked"),
    "not_known": lambda say: say("not known"),
    "none": lambda say: say("none"),
    "mild": lambda say: say("mild"),
    "enough_to_matter": lambda say: say("enough to matter"),
    "less_than_1": lambda say: say("less than 1 h ago"),
    "1_to_2": lambda say: say("1–2 h ago"),
    "2_to_4": lambda say: say("2–4 h ago"),
    "over_4": lambda say: say("over 4 h ago"),
    "not_today": lambda say: say("not taken today"),
    "seated": lambda say: say("seated"),
    "wheelchair": lambda say: say("in a wheelchair"),
    "bed": lambda say: say("in bed"),
    "standing": lambda say: say("standing"),
    "flat": lambda say: say("tablet flat"),
    "tilted": lambda say: say("tablet tilted"),
    "upright": lambda say: say("tablet upright"),
    "finger": lambda say: say("finger"),
    "stylus": lambda say: say("stylus"),
    "mouse": lambda say: say("mouse"),
    "screen": lambda say: say("instructions on screen"),
    "staff_spoke": lambda say: say("instructions spoken by staff"),
    "interpreter": lambda say: say("instructions through an interpreter"),
    "relative": lambda say: say("instructions through a relative"),
    "demonstration_only": lambda say: say("demonstration only"),
    "yes": lambda say: say("yes"),
    "no": lambda say: say("no"),
}
_STATES: _Words = {
    "last_dose": lambda say: say("Last dose"),
    "pain_before": lambda say: say("Pain before"),
    "pain_after": lambda say: say("Pain after"),
    "posture": lambda say: say("Posture"),
    "placement": lambda say: say("Placement"),
    "protector": lambda say: say("Glass protector"),
    "sees_disc": lambda say: say("Sees the disc"),
    "wiped_and_dry": lambda say: say("Glass wiped and dry"),
    "power": lambda say: say("Power"),
    "language": lambda say: say("Language"),
    "delivery": lambda say: say("Instructions"),
}
_LANGUAGES: _Words = {
    "en": lambda say: say("English"),
    "es": lambda say: say("Spanish"),
    "fr": lambda say: say("French"),
    "de": lambda say: say("German"),
    "pt": lambda say: say("Portuguese"),
    "ar": lambda say: say("Arabic"),
    "zh-Hans": lambda say: say("Chinese"),
    "hi": lambda say: say("Hindi"),
}
_SEEN: _Words = {
    "talked": lambda say: say("talked"),
    "interrupted": lambda say: say("interrupted"),
    "pain": lambda say: say("pain"),
    "helped_by_touch": lambda say: say("helped by touch"),
    "told_where": lambda say: say("told where to go"),
    "wrong_hand": lambda say: say("wrong hand"),
    "glove_or_nail": lambda say: say("glove or nail"),
    "glass_wet": lambda say: say("glass wet"),
    "hands_as_asked_no": lambda say: say("hands not used as asked"),
    "not_understood": lambda say: say("practice not completed as shown"),
}


def hand_words(side: str, language: Language) -> str:
    """Right or left."""
    return _HANDS[side](language.say)


def state_words(name: str, language: Language) -> str:
    """The name of one circumstance: Last dose."""
    return _STATES[name](language.say) if name in _STATES else _plain(name)


def token_words(token: str, language: Language) -> str:
    """One answer from intake: not asked, mild, 2–4 h ago; any other text as it was noted."""
    return _TOKENS[token](language.say) if token in _TOKENS else _plain(token)


def language_words(tag: str, language: Language) -> str:
    """The name of a language; of one that is not ours, as CLDR has it."""
    return _LANGUAGES[tag](language.say) if tag in _LANGUAGES else language.name_of(tag)


def seen_words(code: str, language: Language) -> str:
    """One observation of staff; ValueError for an unknown code."""
    if code not in _SEEN:
        raise ValueError(f"observation, must be one of {', '.join(_SEEN)}, got {code!r}")
    return _SEEN[code](language.say)


def _plain(text: str) -> str:
    return text.replace("_", " ")
