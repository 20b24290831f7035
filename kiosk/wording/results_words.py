"""The few words staff screens add to the page's own."""

from kiosk.language import Language


def results_title(language: Language) -> str:
    """The screen after a visit."""
    return language.say("Results")


def summary_word(language: Language) -> str:
    """The choice that shows the two sentences."""
    return language.say_in("tab", "Summary")


def cautions_word(language: Language, part: int) -> str:
    """The choice that shows the cautions; a second part where they do not fit one screen."""
    if part == 1:
        return language.say_in("tab", "Cautions")
    return language.say_in("tab", "Cautions %(part)s", part=language.number(part))


def more_word(language: Language) -> str:
    """Turns to what did not fit on the sheet shown."""
    return language.say_in("button", "More")
