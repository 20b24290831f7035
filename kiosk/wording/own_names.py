"""Languages by their own names, for whoever looks for theirs: never translated."""

from typing import Final

OWN_NAMES: Final = {
    "en": "English", "ar": "العربية", "de": "Deutsch", "es": "Español", "fr": "Français", "hi": "हिन्दी",
    "pt": "Português", "zh-Hans": "简体中文",
}


def own_name(tag: str) -> str:
    """The name a language gives itself; its tag where it has none here."""
    return OWN_NAMES.get(tag, tag)
