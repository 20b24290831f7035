"""Languages by their own names, for whoever looks for theirs: never translated."""

from typing import Final

from kiosk.i18n.language import own_name_of

OWN_NAMES: Final = {
    "en": "English", "ar": "العربية", "de": "Deutsch", "es": "Español", "fr": "Français", "hi": "हिन्दी",
    "pt": "Português", "zh-Hans": "简体中文",
}


def own_name(tag: str) -> str:
    """The name a language gives itself; of one that is not ours, as CLDR has it."""
    return OWN_NAMES.get(tag) or own_name_of(tag)
