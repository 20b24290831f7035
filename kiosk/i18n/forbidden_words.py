"""Words that no output may hold, language by language: DESIGN's list with its usual translations.

Diagnosis, impairment, deficit, abnormal, failure, positive and negative findings, names of diseases, and
ordinal numbers. A translation may hold one only where the English message itself does, or where that message
is one of CAUTIONS: "illness" is allowed in English, and the plain word of most languages for it is not.
A language without a list of its own is held to the international stems alone. Decision languages-10.
"""

import re

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
