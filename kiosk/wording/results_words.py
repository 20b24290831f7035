"""The few words the results screen and longer sheets add to the page's own."""

from kiosk.language import Language


def results_title(language: Language) -> str:
    """The screen after a visit."""
    return language.say("Results")


def summary_word(language: Language) -> str:
    """The choice that shows the two sentences."""
    return language.say_in("tab", "Summary")


def change_word(language: Language) -> str:
    """The choice that shows the visits over time."""
    return language.say_in("tab", "Change")


def paths_word(language: Language) -> str:
    """The choice that shows the paths, larger than on the page."""
    return language.say_in("tab", "Paths")


def error_word(language: Language) -> str:
    """The choice that shows the distance from the disc over time."""
    return language.say_in("tab", "Error")


def error_explanation(language: Language) -> str:
    """Above the curves of the distance."""
    return language.say("Distance from the disc over time, to 40 mm. Shaded: finger off the disc.")


def no_curves(language: Language) -> str:
    """Where no recording can be drawn."""
    return language.say("There is no recording to show.")


def why_word(language: Language) -> str:
    """The button that asks about a number."""
    return language.say_in("button", "Why?")


def more_word(language: Language) -> str:
    """Turns to what did not fit on the sheet shown."""
    return language.say_in("button", "More")
