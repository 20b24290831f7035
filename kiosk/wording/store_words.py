"""What checking the audit says of each break of the chain, and what an exported sample leaves out."""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages

BREAKS: Final[Messages] = {
    "changed": N_("Line %(seq)s of the audit was changed."),
    "removed": N_("Line %(seq)s of the audit was removed."),
    "moved": N_("Line %(seq)s of the audit stands in another's place."),
    "cut_off": N_("The end of the audit was cut off: line %(seq)s is known from elsewhere."),
    "other_chain": N_("Line %(seq)s of the audit is not the one known from elsewhere."),
}
LEFT_OUT: Final[Messages] = {
    "age_not_known": N_("Left out: %(count)s visits of people whose age is not known."),
    "age_tells_who": N_("Left out: %(count)s visits at 90 years or more."),
    "panel_not_named": N_("Left out: %(count)s visits on a tablet whose kind of panel is not named."),
    "latency_unknown": N_("Left out: %(count)s scores that need the device's latency."),
}


def break_line(kind: str, seq: int, language: Language) -> str:
    """One break by its kind and line; ValueError for an unknown kind."""
    return language.say_one_of(BREAKS, kind, "kind", seq=seq)


def left_out_line(code: str, count: int, language: Language) -> str:
    """How many were left out, by the code of the reason; ValueError for an unknown one."""
    return language.say_one_of(LEFT_OUT, code, "code", count=count)
