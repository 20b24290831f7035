"""One language: its catalogue, numbers, dates and reading direction. An argument, never a global.

The source language is English, so an untranslated message is shown in English. Messages are literals
at the call (they are extracted from there) with named placeholders: ``say("%(n)s of %(m)s", n=1, m=3)``;
those that stand in tables are marked there (kiosk.i18n.message) and said by ``say_message``. Numbers and
dates are put in a language's way here; how many decimals a number deserves is decided in kiosk.wording.

Catalogues are locales/TAG/LC_MESSAGES/kiosk.po (folder zh_Hans for the tag zh-Hans), compiled in memory;
locales/kiosk.pot is the source that they adapt. The tag en-x-long is English made longer, for layouts.
"""

import datetime as dt
import gettext
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from io import BytesIO
from math import isfinite
from pathlib import Path
from types import MappingProxyType

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.dates import format_date, format_skeleton
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.numbers import format_decimal

from kiosk.base.errors import Fault, FaultyFile, Refused
from kiosk.base.settings import locales_folder
from kiosk.i18n.catalogue_file import catalogue_path, header, placeholder_faults, read_catalogue
from kiosk.i18n.line_breaking import kept_in_order
from kiosk.i18n.message import Message, Messages
from kiosk.i18n.pseudo_localisation import PSEUDO_TAG, LongerWords

SOURCE_TAG = "en"
STATUSES = ("draft", "reviewed", "piloted", "approved", "source")
OUT_OF_DATE = "out_of_date"
MINUS, NO_BREAK_SPACE = "\N{MINUS SIGN}", "\N{NO-BREAK SPACE}"
_SCRIPTS = {"Arab": "arabic", "Deva": "devanagari", "Hans": "chinese", "Hant": "chinese"}
_TAG = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")


@dataclass(frozen=True, eq=False)
class Language:
    """What is said and how numbers and dates are written in one language.

    `tag` is BCP 47; `status` one of STATUSES, or OUT_OF_DATE where the source has changed since (what is
    neither approved nor source says so on screen and page); `script` names the font; `direction` is "ltr"
    or "rtl". `record` is the catalogue's header, the adaptation record (X-...) with it.
    """

    tag: str
    status: str
    script: str
    direction: str
    _locale: Locale = field(repr=False)
    _messages: gettext.NullTranslations = field(repr=False)
    record: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), repr=False)

    def say(self, message: str, /, **values: object) -> str:
        """The message in this language, with its named values."""
        return self._filled(self._messages.gettext(message) if message else "", values)

    def say_message(self, message: Message, /, **values: object) -> str:
        """A marked message (kiosk.i18n.message) in this language, with its named values."""
        return self._filled(self._messages.gettext(message.text), values)

    def say_one_of(self, messages: Messages, code: str, what: str, /, **values: object) -> str:
        """The message of a code in a table; ValueError for a code without a message."""
        if code not in messages:
            raise ValueError(f"{what}, must be one of {', '.join(messages)}, got {code!r}")
        return self.say_message(messages[code], **values)

    def say_in(self, context: str, message: str, /, **values: object) -> str:
        """The message as it is said in a context ("button", "hand") that other uses do not share."""
        return self._filled(self._messages.pgettext(context, message), values)

    def say_n(self, one: str, many: str, n: int, /, **values: object) -> str:
        """The form of a message that belongs to the count n; the message may use %(n)d."""
        return self._filled(self._messages.ngettext(one, many, n), {"n": n, **values})

    def number(self, value: float, decimals: int = 0, *, signed: bool = False) -> str:
        """A number rounded half away from zero: true minus sign, no grouping, never minus nought.

        With `signed`, a plus sign stands before what is above nought.
        """
        rounded = as_written(value, decimals)
        pattern = "0." + "0" * decimals if decimals else "0"
        written = format_decimal(abs(rounded), pattern, self._locale, decimal_quantization=False)
        sign = MINUS if rounded < 0 else "+" if signed and rounded > 0 else ""
        return self._left_to_right(sign) + written

    def percent(self, value_percent: float, decimals: int = 0) -> str:
        """A share already in percent, with the percent sign where this language puts it."""
        written = self.number(value_percent, decimals)
        if self._locale.language == SOURCE_TAG:
            return f"{written}{NO_BREAK_SPACE}%"
        pattern = self._locale.percent_formats[None]
        sign = self._locale.number_symbols["latn"]["percentSign"]  # in Arabic with the marks that keep 84%
        return str(pattern.prefix[0] + written + pattern.suffix[0]).replace("%", sign)

    def date(self, day: dt.date) -> str:
        """Day, month by name, year: 25 Nov 2026. Never a month as a number."""
        if self._locale.language == SOURCE_TAG:
            return format_date(day, "d MMM y", self._locale)
        return format_skeleton("yMMMd", day, locale=self._locale)

    def long_date(self, day: dt.date) -> str:
        """With the weekday and the whole month: Wednesday 25 November 2026."""
        if self._locale.language == SOURCE_TAG:
            return format_date(day, "EEEE d MMMM y", self._locale)
        return format_date(day, "full", self._locale)

    def month(self, day: dt.date) -> str:
        """Month and year only: Nov 2026."""
        return format_skeleton("yMMM", day, locale=self._locale)

    def time(self, moment: dt.time | dt.datetime) -> str:
        """Hours and minutes of 24: 09:05. A moment in UTC is not moved; date_time does that."""
        return f"{moment.hour:02d}:{moment.minute:02d}"

    def date_time(self, moment: dt.datetime, zone: dt.tzinfo) -> str:
        """Date, time and offset of a moment as seen in a zone: 25 Nov 2026 10:42 (UTC+01:00)."""
        if moment.utcoffset() is None:
            raise ValueError(f"moment: must bear its time zone, got {moment!r}")
        local = moment.astimezone(zone)
        return f"{self.date(local.date())} {self.time(local)} ({_offset(local)})"

    def name_of(self, tag: str) -> str:
        """What another language is called in this one (CLDR); its tag where it has no name."""
        return str(self._locale.languages.get(tag.partition("-")[0], tag))

    def _filled(self, text: str, values: dict[str, object]) -> str:
        """With its values; codes keep their order inside words that are read from right to left."""
        if self.direction == "rtl":
            values = {name: kept_in_order(value) for name, value in values.items()}
        return text % values if values else text

    def _left_to_right(self, sign: str) -> str:
        return f"\N{LEFT-TO-RIGHT MARK}{sign}" if sign and self.direction == "rtl" else sign


def load_language(tag: str, folder: Path | None = None) -> Language:
    """The language of a BCP 47 tag from its catalogue; refused where there is none or it is faulty."""
    if tag == PSEUDO_TAG:
        return Language(tag, "draft", "latin", "ltr", Locale(SOURCE_TAG), LongerWords())
    path = _catalogue_path(tag, locales_folder() if folder is None else folder)
    if path is None:
        raise Refused("language_unknown", {"tag": tag})
    catalogue = _read(path)
    locale = Locale.parse(tag, sep="-")
    return Language(tag=tag, status=_status(path), script=script_of(tag), direction=locale.text_direction,
                    _locale=locale, _messages=_compiled(catalogue), record=MappingProxyType(header(path)))


def own_name_of(tag: str) -> str:
    """What a language calls itself (CLDR), its first letter large; its tag where that is not known.

    >>> own_name_of("pl"), own_name_of("fa"), own_name_of("en-x-long")
    ('Polski', 'فارسی', 'en-x-long')
    """
    try:
        name = Locale.parse(tag, sep="-").get_language_name()
    except (UnknownLocaleError, ValueError):
        return tag
    return f"{name[:1].upper()}{name[1:]}" if name else tag


def available(folder: Path | None = None) -> tuple[str, ...]:
    """The tags of all catalogues, English first."""
    base = locales_folder() if folder is None else folder
    tags = {path.parts[-3].replace("_", "-") for path in base.glob("*/LC_MESSAGES/kiosk.po")}
    return tuple(sorted(tags, key=lambda tag: (tag != SOURCE_TAG, tag)))


def script_of(tag: str) -> str:
    """The script of a tag, as kiosk.i18n.fonts names it; that of Latin has Greek and Cyrillic too.

    A tag that names no script has the one that its language is likely to be written in (CLDR).

    >>> [script_of(tag) for tag in ("ar", "fa", "mr", "zh-Hans", "de-AT", "sr", "en-x-long")]
    ['arabic', 'arabic', 'devanagari', 'chinese', 'latin', 'latin', 'latin']
    """
    parts = tag.split("-")
    likely = get_global("likely_subtags").get(parts[0], "").split("_")
    named = [part for part in (*parts[1:], *likely) if part in _SCRIPTS]
    return _SCRIPTS[named[0]] if named else "latin"


def _catalogue_path(tag: str, folder: Path) -> Path | None:
    path = catalogue_path(tag, folder)
    return path if _TAG.fullmatch(tag) and path.is_file() else None


def _read(path: Path) -> Catalog:
    catalogue = read_catalogue(path)
    used = (message for message in catalogue if message.id and not message.fuzzy)
    faults = [fault for message in used for fault in placeholder_faults(path, message)]
    if faults:
        raise FaultyFile(faults)
    return catalogue


def _status(path: Path) -> str:
    record = header(path)
    status = record.get("X-Status", "draft")
    if status not in STATUSES:
        raise FaultyFile([Fault(str(path), None, "X-Status", "must_be_a_known_status", status)])
    source = path.parents[2] / "kiosk.pot"
    if status == "source" or not source.is_file():
        return status
    same = record.get("X-Source-Revision") == header(source).get("X-Source-Revision")
    return status if same else OUT_OF_DATE


def _compiled(catalogue: Catalog) -> gettext.NullTranslations:
    compiled = BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)


def as_written(value: float, decimals: int) -> Decimal:
    """A number rounded as `Language.number` writes it; ValueError where it is not finite."""
    if not isfinite(value):
        raise ValueError(f"value: must be finite to be written, got {value!r}")
    return Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)


def _offset(local: dt.datetime) -> str:
    shift = local.utcoffset()
    minutes = 0 if shift is None else round(shift.total_seconds() / 60)
    sign = MINUS if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
