"""Why a number is not judged, and what to mind where it is: the messages of norms and two of the kiosk."""

from typing import Final

import norms
from kiosk.i18n.message import N_, Message, Messages

REFUSALS: Final[Messages] = {
    "no_table_loaded": N_("No table is loaded."),
    "earlier_was_training": N_("A visit for training is not compared with."),
    **{code: Message(text) for code, text in norms.REFUSALS.items()},
}
WARNINGS: Final[Messages] = {code: Message(text) for code, text in norms.WARNINGS.items()}
