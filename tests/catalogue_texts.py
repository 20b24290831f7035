"""What a language's catalogue says, for tests that need many real texts."""

import re

from kiosk.base.settings import locales_folder
from kiosk.i18n.catalogue_file import catalogue_path, forms_of, read_catalogue

PLACEHOLDER = re.compile(r"%\(\w+\)[a-z]")


def said_in(tag):
    """Every form of every message, figures in place of its values."""
    catalogue = read_catalogue(catalogue_path(tag, locales_folder()))
    forms = [form for message in catalogue if message.id for form in forms_of(message.string) if form]
    return [PLACEHOLDER.sub("27", form).replace("%%", "%") for form in dict.fromkeys(forms)]
