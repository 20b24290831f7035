"""What checking the audit says of each break of the chain, and what an exported sample leaves out."""

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
