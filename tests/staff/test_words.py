"""What staff read: greeting by the hour, why a number is what it is, the copy line and its code."""

from datetime import datetime, timedelta, timezone

import pytest

from kiosk.i18n.language import load_language
from kiosk.staff.amend import REASONS, WHAT
from kiosk.staff.answers import ANSWERS, answer_words
from kiosk.staff.intake import OPTIONS, QUESTIONS, SUBJECTS
from kiosk.staff.lock import greeting
from kiosk.staff.observations import CHIPS, PAIN, YES_NO
from kiosk.staff.ready import TICKS
from kiosk.staff.sign import ROLES
from kiosk.visits.power import Power
from kiosk.wording.circumstances import seen_words
from kiosk.wording.why import OF_A_MEASURE, OF_THE_VISIT

AT = datetime(2026, 11, 25, 8, 25, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def language():
    return load_language("en")


@pytest.mark.parametrize(("hour", "word"), [(8, "Good morning."), (13, "Good afternoon."),
                                            (19, "Good evening.")])
def test_the_greeting_says_day_time_and_battery(language, hour, word):
    said = f"{word} Wednesday 25 November 2026, {hour:02d}:25. Battery 84\N{NO-BREAK SPACE}%."
    assert greeting(AT.replace(hour=hour), Power(84.0, False), language) == said


def test_every_answer_offered_has_words(language):
    for subject, values in OPTIONS.items():
        assert subject in QUESTIONS and subject in SUBJECTS
        assert all(answer_words(subject, value, language) for value in values)
    for subject, values in (("what", WHAT), ("reason", REASONS), ("pain_after", PAIN),
                            ("hands_as_asked", YES_NO)):
        assert all(answer_words(subject, value, language) for value in values)
    assert all(map(language.say_message, (*TICKS.values(), *ROLES.values())))
    assert all(seen_words(code, language) for code in CHIPS)


def test_no_word_is_left_that_no_answer_uses():
    used = {value for values in (*OPTIONS.values(), WHAT, REASONS, PAIN, YES_NO) for value in values}
    assert set(ANSWERS) - used <= {"right_only", "left_only"}


def test_why_is_one_plain_sentence_or_two(language):
    for message in (*OF_A_MEASURE.values(), *OF_THE_VISIT.values()):
        words = language.say_message(message)
        assert words.endswith(".") and 20 < len(words) < 220
