"""Languages for the layout tests: English lengthened by 40 %, and a right-to-left sample in Arabic.

The Arabic is a sample to be set, not an adaptation to be shown to anyone.
"""

import gettext
from dataclasses import replace

from babel import Locale

from kiosk.i18n.language import Language, load_language

ARABIC = {
    "Hello.": "مرحبا.",
    "You will follow a moving disc with your finger.": "ستتبع بإصبعك قرصا متحركا.",
    "It takes about seven minutes.": "يستغرق ذلك نحو 7 دقائق.",
    "You can rest or stop at any time.": "يمكنك أن تستريح أو تتوقف في أي وقت.",
    "Begin": "ابدأ",
    "Stop": "توقف",
    "Staff": "الطاقم",
    "Next": "التالي",
    "Rest": "راحة",
    "Go on": "تابع",
    "End here": "أنه هنا",
    "Show again": "أعد العرض",
    "I am ready": "أنا مستعد",
    "Put your finger in the ring.": "ضع إصبعك داخل الحلقة.",
    "Use the soft part of your finger, not the nail.": "استعمل باطن الإصبع لا الظفر.",
    "Nothing felt yet. Dry the finger and the glass, or ask staff.": "لم نشعر بشيء بعد. جفف الإصبع والزجاج.",
    "Put your finger on the disc.": "ضع إصبعك على القرص.",
    "Keep it there. When it moves, go with it.": "أبقه هناك. عندما يتحرك تحرك معه.",
    "If you lose it, just go back to it.": "إذا فقدته فعد إليه.",
    "Use the hand shown here.": "استعمل اليد المبينة هنا.",
    "This first one is just to try. It does not count.": "هذه المرة الأولى للتجربة فقط ولا تحتسب.",
    "When you are ready, put your finger on the disc.": "عندما تكون مستعدا ضع إصبعك على القرص.",
    "Now let us watch it once more, and try again.": "لنشاهده مرة أخرى ثم نحاول من جديد.",
    "Please wait.": "انتظر من فضلك.",
    "Someone will help you.": "سيساعدك أحد.",
    "Explain and try again": "اشرح وأعد المحاولة",
    "Go on, marked": "تابع مع علامة",
    "Thank you. Rest your hand.": "شكرا. أرح يدك.",
    "One more with this hand.": "مرة أخرى بهذه اليد.",
    "Two more with this hand.": "مرتان أخريان بهذه اليد.",
    "Now use your other hand.": "استعمل الآن يدك الأخرى.",
    "This disc will change direction often.": "سيغير هذا القرص اتجاهه كثيرا.",
    "Do you want to rest, go on, or end here?": "هل تريد أن تستريح أم تتابع أم تنهي هنا؟",
    "What you did is saved.": "حفظ ما أنجزته.",
    "You are done.": "لقد انتهيت.",
    "Thank you for your time.": "شكرا على وقتك.",
    "Please give the tablet back to the staff.": "أعد الجهاز إلى الطاقم من فضلك.",
    "This tablet is locked.": "الجهاز مقفل.",
    "Please give it to the staff.": "أعطه للطاقم من فضلك.",
}
VOWELS = "aeiou"


class Sample(gettext.NullTranslations):
    """Messages through one function."""

    def __init__(self, said) -> None:
        super().__init__()
        self._said = said

    def gettext(self, message):
        return self._said(message)

    def pgettext(self, context, message):
        return self._said(message)

    def ngettext(self, msgid1, msgid2, n):
        return self._said(msgid1 if n == 1 else msgid2)


def arabic() -> Language:
    """Right to left."""
    messages = Sample(lambda message: ARABIC.get(message, message))
    return Language("ar", "draft", "arabic", "rtl", Locale("ar"), messages)


def lengthened() -> Language:
    """English, 40 % longer: vowels doubled until it is."""
    return replace(load_language("en"), tag="en-x-long", _messages=Sample(forty_percent_longer))


def forty_percent_longer(message: str) -> str:
    """The message with enough vowels doubled, from the start of every word on, placeholders left alone."""
    if "%(" in message:
        return message
    missing = round(0.4 * len(message))
    letters = []
    for letter in message:
        letters.append(letter * 2 if letter in VOWELS and missing > 0 else letter)
        missing -= letter in VOWELS
    return "".join(letters) + ("" if missing <= 0 else message[-2] * 0)


def say_in(language: Language):
    """Turns the samples' English into the sample language: lengthened, or Arabic words of its length."""
    ways = {"en-x-long": forty_percent_longer, "ar": in_arabic}
    return ways.get(language.tag, lambda message: message)


def in_arabic(message: str) -> str:
    """The sample's Arabic, or Arabic words about as long; without letters as it is."""
    if not any(letter.isalpha() for letter in message):
        return message
    filler = ("\u0643\u0644\u0645\u0629", "\u0637\u0648\u064a\u0644\u0629", "\u0647\u0646\u0627")
    words = [filler[number % 3] for number in range(max(1, round(len(message) / 6)))]
    return ARABIC.get(message) or " ".join(words)
