"""locales/kiosk.pot: the source as translators get it, in the order of the rooms, without line or date.

The same messages always give the same bytes. Its header carries the mark of the source, which a catalogue
repeats once it holds every message.
"""

from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from kiosk.i18n.extraction import SourceMessage, own_messages, revision

TEMPLATE = "kiosk.pot"
WIDTH = 100
_NOTE = """# Messages of the pursuit kiosk. Made by `languages template`; do not edit.
# Keep every %(name)s as it stands. Short sentences for the person: at most 63 characters where the
# English has no more. Never an ordinal number; digits are 0 to 9.
"""


def template_text(messages: tuple[SourceMessage, ...] | None = None) -> str:
    """The template's text, from the package's own source unless messages are given."""
    messages = own_messages() if messages is None else messages
    fields = {"Project-Id-Version": "pursuit-kiosk", **ENCODING, "X-Source-Revision": revision(messages)}
    return catalogue_text(source_catalogue(messages), fields, _NOTE)


def write_template(folder: Path) -> Path:
    """Write the template into a folder of catalogues."""
    path = folder / TEMPLATE
    path.write_text(template_text(), "utf-8")
    return path


def source_catalogue(messages: tuple[SourceMessage, ...]) -> Catalog:
    """The messages as an empty catalogue."""
    catalogue = Catalog(fuzzy=False)
    for message in messages:
        catalogue.add(
            (message.one, message.many) if message.many else message.one,
            context=message.context or None,
            locations=[(file, 0) for file in message.files],
        )
    return catalogue


def catalogue_text(catalogue: Catalog, fields: Mapping[str, str], note: str) -> str:
    """A catalogue as a file holds it: its note, its header with every field given, its messages."""
    body = BytesIO()
    write_po(body, catalogue, width=WIDTH, omit_header=True, include_lineno=False, include_previous=True)
    head = "".join(f'"{name}: {value}\\n"\n' for name, value in fields.items())
    return f'{note}msgid ""\nmsgstr ""\n{head}\n{body.getvalue().decode("utf-8").strip()}\n'


ENCODING = {
    "MIME-Version": "1.0",
    "Content-Type": "text/plain; charset=utf-8",
    "Content-Transfer-Encoding": "8bit",
}
