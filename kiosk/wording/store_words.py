"""The store's commands, each in a few words; and what checking the audit says of each break of the chain."""

from kiosk.i18n.language import Language


def break_line(kind: str, seq: int, language: Language) -> str:
    """One break by its kind and line; ValueError for a kind without words."""
    say = language.say
    if kind == "changed":
        return say("Line %(seq)s of the audit was changed.", seq=seq)
    if kind == "removed":
        return say("Line %(seq)s of the audit was removed.", seq=seq)
    if kind == "moved":
        return say("Line %(seq)s of the audit stands in another's place.", seq=seq)
    if kind == "cut_off":
        return say("The end of the audit was cut off: line %(seq)s is known from elsewhere.", seq=seq)
    if kind == "other_chain":
        return say("Line %(seq)s of the audit is not the one known from elsewhere.", seq=seq)
    raise ValueError(f"kind, must be one that has words, got {kind!r}")


def left_out_line(code: str, count: int, language: Language) -> str:
    """What an exported sample leaves out, by the code of its reason; ValueError for a code without words."""
    say = language.say
    if code == "age_not_known":
        return say("Left out: %(count)s visits of people whose age is not known.", count=count)
    if code == "age_tells_who":
        return say("Left out: %(count)s visits at 90 years or more.", count=count)
    if code == "panel_not_named":
        return say("Left out: %(count)s visits on a tablet whose kind of panel is not named.", count=count)
    if code == "latency_unknown":
        return say("Left out: %(count)s scores that need the device's latency.", count=count)
    raise ValueError(f"code, must be one that has words, got {code!r}")


def store_commands(language: Language) -> dict[str, str]:
    """The commands that open a store."""
    say = language.say
    return {
        "staff": say("who may open the store, and with which passphrase"),
        "audit": say("check that no line of the audit was changed"),
        "backup": say("an examined copy of the store"),
        "restore": say("a backup put in the store's place, or only proved"),
        "upgrade": say("bring an older store to the newest layout"),
        "export": say("reference and retest visits as a sample for a reference table"),
        "leaflet": say("the half page that a person takes home"),
        "person": say("what is kept about one person: export, erase, due"),
        "sync": say("push to the clinic's server and pull from it"),
        "site-pack": say("reference tables for the clinic's other kiosks"),
    }
