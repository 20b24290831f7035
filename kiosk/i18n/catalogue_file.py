"""The file of a catalogue: where it stands, what it says, its header, the values its messages must keep."""

import re
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import PoFileError, read_po

from kiosk.base.errors import Fault, FaultyFile

ENCODING = {
    "MIME-Version": "1.0",
    "Content-Type": "text/plain; charset=utf-8",
    "Content-Transfer-Encoding": "8bit",
}
_PLACEHOLDER = re.compile(r"%\((\w+)\)")
_HEADER_LINE = re.compile(r'^"([\w-]+): (.*)\\n"$', re.MULTILINE)


def catalogue_path(tag: str, folder: Path) -> Path:
    """Where the catalogue of a tag stands, or would."""
    return folder / tag.replace("-", "_") / "LC_MESSAGES" / "kiosk.po"


def read_catalogue(path: Path) -> Catalog:
    """The messages of a file; refused where it is no catalogue."""
    try:
        with path.open("rb") as file:
            return read_po(file, abort_invalid=True)
    except (PoFileError, UnicodeDecodeError) as fault:
        raise FaultyFile([Fault(str(path), None, None, "not_a_message_catalogue", str(fault))]) from fault


def placeholder_faults(path: Path, message: Message) -> list[Fault]:
    """Forms of a translation that lose a value of the message, invent one, or could not be filled in."""
    wanted = set(_PLACEHOLDER.findall(" ".join(forms_of(message.id))))
    optional = {"n"} if message.pluralizable else set()
    return [
        Fault(str(path), message.lineno, None, "must_keep_the_placeholders", form)
        for form in forms_of(message.string)
        if form and not _keeps(form, wanted, optional)
    ]


def _keeps(form: str, wanted: set[str], optional: set[str]) -> bool:
    if not wanted:
        return "%(" not in form
    try:
        form % dict.fromkeys(wanted | optional, 1)
    except (KeyError, ValueError, TypeError):
        return False
    return wanted - optional <= set(_PLACEHOLDER.findall(form))


def forms_of(text: str | list[str] | tuple[str, ...] | None) -> tuple[str, ...]:
    """One text or the texts of a plural, as a tuple."""
    return (text or "",) if text is None or isinstance(text, str) else tuple(text)


def header(path: Path) -> dict[str, str]:
    """The header of a catalogue, the adaptation record (X-...) with it."""
    first_entry = path.read_text("utf-8").split("\n\n", 1)[0]
    return dict(_HEADER_LINE.findall(first_entry))
