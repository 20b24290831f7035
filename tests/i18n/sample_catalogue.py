"""A small source and folders of catalogues for the tests."""

from kiosk.i18n.catalogue_file import catalogue_path, forms_of, header, read_catalogue
from kiosk.i18n.catalogue_update import catalogue_text, template_text, update
from kiosk.i18n.extraction import SourceMessage

SOURCE = (
    SourceMessage("", "Begin", "", ("a.py",)),
    SourceMessage("button", "Stop", "", ("a.py",)),
    SourceMessage("", "%(n)s of %(m)s", "", ("a.py", "b.py")),
    SourceMessage("", "one trial", "%(n)d trials", ("b.py",)),
    SourceMessage("", "%(number)s mm", "", ("b.py",)),
)
GERMAN = {
    "Begin": "Beginnen",
    "Stop": "Halt",
    "%(n)s of %(m)s": "%(n)s von %(m)s",
    "one trial": ("ein Durchgang", "%(n)d Durchgänge"),
    "%(number)s mm": "%(number)s mm",
}


def write_source(folder, messages=SOURCE):
    (folder / "kiosk.pot").write_text(template_text(messages), "utf-8")
    return messages


def fill(folder, tag, words, messages=SOURCE):
    """Translate what `words` has, as a translator does in the file, then update."""
    path = catalogue_path(tag, folder)
    note = path.read_text("utf-8").split("msgid", 1)[0]
    catalogue = read_catalogue(path)
    for message in catalogue:
        given = words.get(forms_of(message.id)[0]) if message.id else None
        if given:
            message.string = given
            message.flags.discard("fuzzy")
    record = {**header(path), "X-Address": "formal, Sie"}
    path.write_text(catalogue_text(catalogue, record, note), "utf-8")
    return update(tag, folder, messages)


def german(folder, messages=SOURCE):
    write_source(folder, messages)
    update("de", folder, messages)
    fill(folder, "de", GERMAN, messages)
    return catalogue_path("de", folder)
