"""Messages that stand in tables: marked where they are written, said later in the reader's language.

    ANSWERS: Final[Messages] = {"yes": N_("Yes"), "no": N_("No")}
    language.say_message(ANSWERS["yes"])

The marker is gettext's. Extraction reads its literals, so a marked message stands in every catalogue. A
`Message` is no str: the type checker refuses one that is shown without having been said in a language.
"""

from collections.abc import Mapping
from typing import NamedTuple


class Message(NamedTuple):
    """The English text, with named placeholders.

    A named tuple, as `kiosk --help` reads messages and dataclasses take as long to load as the rest of it.
    """

    text: str


Messages = Mapping[str, Message]


def N_(text: str) -> Message:  # noqa: N802
    """Mark a message for translation."""
    return Message(text)
