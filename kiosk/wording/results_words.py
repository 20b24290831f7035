"""The few words the results screen and longer sheets add to the page's own."""

from kiosk.i18n.language import Language


def results_title(language: Language) -> str:
    """The title of the screen after a visit."""
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


def movement_explanation(kind: str, low: float, high: float, language: Language) -> str:
    """Above the curves of one kind, with the ends of their scale.

    kind: along, across (mm), speed (mm/s), spectrum (mm^2/Hz; low and high are exponents of ten).
    """
    say = language.say
    words = {"along": say("Along the way, mm (ahead is up; mean and own lag taken off)"),
             "across": say("Across the way, mm (left of it is up)"),
             "speed": say("Speed, mm/s (grey: the disc)"),
             "spectrum": say("Power of the error, mm²/Hz, and the line through it")}[kind]
    figure = _power_of_ten if kind == "spectrum" else Language.number
    ends = [figure(language, one) for one in (low, high)]
    told = [words, say("From %(low)s to %(high)s", low=ends[0], high=ends[1])]
    return " · ".join([*told, say("0.5 to 20 Hz")] if kind == "spectrum" else told)


def _power_of_ten(language: Language, exponent: float) -> str:
    return language.number(10.0**exponent, max(round(-exponent), 0))




def why_word(language: Language) -> str:
    """The button that asks about a number."""
    return language.say_in("button", "Why?")


def more_word(language: Language) -> str:
    """Turns to what did not fit on the sheet shown."""
    return language.say_in("button", "More")
