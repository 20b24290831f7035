"""What is wrong with a catalogue, fault by fault, with the line of the file and the message.

Every message of the source must be there, translated, looked at, with every plural form and placeholder,
in letters that the language's font has, with digits 0 to 9, without a forbidden word, with the marks (markup,
braces) of the English and no other; at least 95 in 100 must differ from the English, units and signs apart.
Where gettext's msgfmt is installed it checks as well.

Forbidden words: diagnosis, impairment, deficit, abnormal, failure, positive and negative findings, names of
diseases, and ordinal numbers. A translation may hold one only where the English message does, or where that
message is one of CAUTIONS ("illness" is allowed in English, and the plain word of most languages for it is
not). A language without a list of its own is checked for the international stems only. Decision languages-10.
"""

import re
import shutil
import subprocess
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from babel.messages.catalog import Catalog, Message

from kiosk.base.errors import Fault, Refused
from kiosk.i18n.catalogue_file import catalogue_path, forms_of, header, placeholder_faults, read_catalogue
from kiosk.i18n.catalogue_update import is_translated
from kiosk.i18n.extraction import SourceMessage, own_messages
from kiosk.i18n.fonts import characters
from kiosk.i18n.language import script_of

LEAST_DIFFERENT = 0.95
# Units, abbreviations and codes that many languages write as English does.
SAME_IN_MANY = {
    "mm", "ms", "s", "h", "min", "Hz", "n", "z", "SD", "SE", "CSV", "PIN", "QR", "UTC", "ID", "PDF", "USB",
    "px", "dpi", "A", "B", "x", "y", "t",
}  # fmt: skip
_PLACEHOLDER = re.compile(r"%\(\w+\)[a-z]|%%")
_MARKS = re.compile(r"</?[A-Za-z][^>]*>|\[/?[a-z]+(?:=[^\]]*)?\]|&\w+;|[{}]|%%")
_STEERING = re.compile("[\u202a-\u202e\u2066-\u2069]")  # they turn the order of a line, which the engines do
_MSGFMT_LINE = re.compile(r".*?:(\d+): (.*)")


@dataclass(frozen=True)
class Checked:
    """The faults of one catalogue, and the share of its translations that read as English does."""

    tag: str
    messages: int
    same_as_source: tuple[str, ...]
    faults: tuple[Fault, ...]


def check(tag: str, folder: Path, messages: tuple[SourceMessage, ...] | None = None) -> Checked:
    """Every fault of the catalogue of a tag; refused where there is none."""
    path = catalogue_path(tag, folder)
    if not path.is_file():
        raise Refused("language_unknown", {"tag": tag})
    source = own_messages() if messages is None else messages
    catalogue = read_catalogue(path)
    found = [*_beside_the_source(path, catalogue, source), *_messages(path, tag, catalogue)]
    found += _by_msgfmt(path)
    if not header(path).get("X-Address"):
        found.append(Fault(str(path), None, "X-Address", "must_say_how_people_are_addressed", None))
    same = [message for message in catalogue if message.id and _reads_as_english(message)]
    if len(same) > (1 - LEAST_DIFFERENT) * len(source):
        found += [_fault(path, message, "must_differ_from_the_source") for message in same]
    return Checked(tag, len(source), tuple(forms_of(message.id)[0] for message in same), tuple(found))


def _beside_the_source(path: Path, catalogue: Catalog, source: tuple[SourceMessage, ...]) -> Iterator[Fault]:
    wanted = {(message.context, message.one, message.many) for message in source}
    there = {_identity(message): message for message in catalogue if message.id}
    for key in sorted(wanted - set(there)):
        yield Fault(str(path), None, None, "must_hold_every_message", key[1])
    for key in sorted(set(there) - wanted):
        yield _fault(path, there[key], "must_stand_in_the_source")


def _identity(message: Message) -> tuple[str, str, str]:
    one, *many = forms_of(message.id)
    return message.context or "", one, many[0] if many else ""


def _messages(path: Path, tag: str, catalogue: Catalog) -> Iterator[Fault]:
    for message in catalogue:
        if not message.id:
            continue
        if message.fuzzy:
            yield _fault(path, message, "must_be_looked_at_again")
            continue
        if not is_translated(message):
            yield _fault(path, message, "must_be_translated")
        if message.pluralizable and len(forms_of(message.string)) != catalogue.num_plurals:
            yield _fault(path, message, "must_have_every_plural_form")
        yield from placeholder_faults(path, message)
        for form in filter(None, forms_of(message.string)):
            for rule, value in (*_of_form(form, message, tag), *_letters(form, tag)):
                yield Fault(str(path), message.lineno, None, rule, value)


def _letters(form: str, tag: str) -> Iterator[tuple[str, str]]:
    for letter in sorted(set(form) - characters(script_of(tag))):
        named = f"U+{ord(letter):04X} {unicodedata.name(letter, '?')}"
        yield "must_be_in_letters_of_the_font", f"{named}: {form}"


def _of_form(form: str, message: Message, tag: str) -> Iterator[tuple[str, str]]:
    source = " ".join(forms_of(message.id))
    word = forbidden(form, tag)
    if word and not allowed_in(source):
        yield "must_not_hold_a_forbidden_word", f"{word}: {form}"
    if any(unicodedata.category(letter) == "Nd" and not letter.isascii() for letter in form):
        yield "must_write_digits_0_to_9", form
    if marks_of(form) not in [marks_of(one) for one in forms_of(message.id)]:
        yield "must_keep_the_marks", form
    if _STEERING.search(form):
        yield "must_not_steer_the_order_of_letters", form
    if _ends(form) not in [_ends(one) for one in forms_of(message.id)]:
        yield "must_keep_the_spaces_at_its_ends", form


def marks_of(text: str) -> list[str]:
    """Markup, braces and doubled percent signs of a message, in alphabetical order.

    >>> marks_of("<b>%(n)s</b> of [i]100 %%[/i] &amp; more")
    ['%%', '&amp;', '</b>', '<b>', '[/i]', '[i]']
    """
    return sorted(_MARKS.findall(text))


def _ends(text: str) -> tuple[bool, bool]:
    return text[:1].isspace(), text[-1:].isspace()


def _reads_as_english(message: Message) -> bool:
    words = re.findall(r"[^\W\d_]+", _PLACEHOLDER.sub(" ", " ".join(forms_of(message.id))))
    return forms_of(message.string)[0] == forms_of(message.id)[0] and not SAME_IN_MANY.issuperset(words)


def _by_msgfmt(path: Path) -> list[Fault]:
    """What gettext's own compiler finds, where it is installed; its warnings on the header are none."""
    program = shutil.which("msgfmt")
    if program is None:
        return []
    asked = [program, "--check", "--output-file=-", str(path)]
    ran = subprocess.run(asked, capture_output=True, check=False, env={"LC_ALL": "C"})
    if ran.returncode == 0:
        return []
    lines = filter(None, map(_MSGFMT_LINE.fullmatch, ran.stderr.decode("utf-8", "replace").splitlines()))
    return [
        Fault(str(path), int(line[1]), None, "must_pass_msgfmt", line[2])
        for line in lines
        if not line[2].startswith("warning: header field")
    ]


def _fault(path: Path, message: Message, rule: str) -> Fault:
    return Fault(str(path), message.lineno, None, rule, forms_of(message.id)[0])


_EVERYWHERE = r"parkinson|alzheimer"
_STEMS = {
    "en": r"diagnos|impair|deficit|abnormal|\bfail|\bpositive\b|\bnegative\b|dement|\bstroke\b|diseas|"
    r"sclerosis|ataxi|\bnormal\b|detects|screens for|patholog|\d(st|nd|rd|th)\b",
    "ar": "تشخيص|تشخص|اعتلال|قصور|عجز|شاذ|شذوذ|طبيعي|فشل|إيجابي|سلبي|خرف|باركنسون|ألزهايمر|سكتة|(?<!م)مرض|"
    "تصلب|رنح|ترنح|إعاقة|خلل",
    "de": r"diagnos|beeinträcht|defizit|\babnorm|\bnormal\b|gescheitert|scheitern|durchgefallen|\bpositiv|"
    r"\bnegativ|demenz|krankheit|schlaganfall|sklerose|ataxie|pathologisch|\)d\.(?= [A-ZÄÖÜ])",
    "es": r"diagn[oó]|deterior|déficit|anormal|\bnormal|fall[oó]\b|fracas|\bpositiv|\bnegativ|demencia|"
    r"enfermedad|\bictus\b|esclerosis|ataxia|patol[oó]g|\d\.?[ºª]",
    "fr": r"diagnos|déficien|déficit|anormal|\bnormal|échou|échec|\bpositif|\bpositive|\bnégati|démence|"
    r"maladie|\bavc\b|sclérose|ataxie|patholog|\)[ds](er|e|ème)\b",
    "pt": r"diagn[oó]|comprometi|défic|deficit|anormal|\bnormal|falh|fracass|\bpositiv|\bnegativ|demência|"
    r"doença|\bavc\b|esclerose|ataxia|patol[oó]g|\)[ds]\.?[ºª]",
    "hi": "निदान|दुर्बलता|कमी है|असामान्य|विफल|असफल|धनात्मक|ऋणात्मक|मनोभ्रंश|पार्किंसन|अल्ज़ाइमर|रोग|बीमारी|"
    "लकवा|स्ट्रोक|पॉज़िटिव|निगेटिव",
    "zh": "诊断|障碍|缺陷|异常|失败|阳性|阴性|痴呆|帕金森|阿尔茨海默|中风|疾病|病变|硬化|共济失调|第%",
}

CAUTIONS = frozenset({
    "The results cannot say whether you have an illness. Nothing should be changed in your medicines because "
    "of this page.",
})  # fmt: skip


def allowed_in(source: str) -> bool:
    """Whether a translation of this English message may hold a forbidden word."""
    return source in CAUTIONS or bool(forbidden(source, "en"))


def forbidden(text: str, tag: str) -> str:
    """The word in a text that must not be there in a language; empty where there is none."""
    stems = _STEMS.get(tag.partition("-")[0], _EVERYWHERE)
    found = re.search(f"{stems}|{_EVERYWHERE}", text, re.IGNORECASE)
    return found.group() if found else ""
