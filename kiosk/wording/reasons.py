"""A plain sentence for every reason code and for every fault of a file.

Codes come from kiosk.base.errors (refused, wrong usage), from norms (refusals, warnings), from scoring
(reasons and cautions of validity) and from glass (what a check of the tablet finds). An unknown code is a
mistake of ours and raises.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from kiosk.base.errors import Fault
from kiosk.i18n.language import Language
from kiosk.i18n.message import Messages
from kiosk.wording.facts_worded import plain, worded
from kiosk.wording.reasons_comparison import REFUSALS, WARNINGS
from kiosk.wording.reasons_desk import DESK
from kiosk.wording.reasons_files import RULES
from kiosk.wording.reasons_glass import GLASS
from kiosk.wording.reasons_kiosk import KIOSK, STORE
from kiosk.wording.reasons_recording import RECORDING
from kiosk.wording.reasons_storage import STORAGE

SENTENCES: Final[Messages] = {
    **WARNINGS, **REFUSALS, **RECORDING, **GLASS, **KIOSK, **STORE, **STORAGE, **DESK,
}  # fmt: skip


def sentence(code: str, values: Mapping[str, object], language: Language) -> str:
    """The reason in one plain sentence; ValueError for a code without words."""
    if code not in SENTENCES:
        raise ValueError(f"code, must be one that has a sentence, got {code!r}")
    return language.say_message(SENTENCES[code], **worded(values, language))


def fault_sentence(fault: Fault, language: Language) -> str:
    """One fault of a file with its place, rule and value."""
    said = language.say
    place = Path(fault.file).name
    if fault.row is not None:
        place = said("%(place)s, row %(row)s", place=place, row=fault.row)
    if fault.column is not None:
        place = said("%(place)s, column %(column)s", place=place, column=fault.column)
    rule = rule_words(fault.rule, language)
    if fault.value is None:
        return said("%(place)s: %(rule)s.", place=place, rule=rule)
    return said("%(place)s: %(rule)s, got %(value)s.", place=place, rule=rule, value=plain(fault.value))


def rule_words(rule: str, language: Language) -> str:
    """What a file must hold, as a phrase; ValueError for a rule without words."""
    if rule not in RULES:
        raise ValueError(f"rule, must be one that has words, got {rule!r}")
    return language.say_message(RULES[rule])
