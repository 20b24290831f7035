"""How a refusal is printed: one plain sentence for each fault, on standard error."""

import sys

from kiosk.base.errors import FaultyFile, KioskError
from kiosk.i18n.language import Language
from kiosk.wording.reasons import fault_sentence, sentence


def print_refusal(refusal: KioskError, language: Language) -> None:
    faults = [fault_sentence(f, language) for f in refusal.faults] if isinstance(refusal, FaultyFile) else []
    for line in faults or [sentence(refusal.code, refusal.values, language)]:
        print(line, file=sys.stderr)
