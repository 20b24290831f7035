"""Words never on any output, and the published labels."""

import re

import pytest

from kiosk.scoring.trial_scores import Reason
from kiosk.wording.cautions import caution_sentence, fixed_cautions
from kiosk.wording.labels import label_words, standing_label
from kiosk.wording.page_tag import ALPHABET, page_tag
from tests.wording import codes_raised
from tests.wording.page_samples import REPORT_ID, english, standing

NEVER = re.compile(
    r"diagnos|impair|deficit|abnormal|\bfail|\bpositive\b|\bnegative\b|dement|parkinson|stroke\b|diseas|alzheimer|"
    r"sclerosis|ataxi|\bnormal\b|detects|screens for|patholog|\d(st|nd|rd|th)\b",
    re.IGNORECASE,
)
MESSAGES = list(codes_raised.messages())


def test_messages_are_really_collected():
    assert len(MESSAGES) > 250


def test_no_message_holds_a_word_that_is_never_said():
    fixed = set(fixed_cautions(english()))
    said = [
        (str(path), line, text) for path, line, text in MESSAGES if text not in fixed and NEVER.search(text)
    ]
    assert said == []


@pytest.mark.parametrize(
    "planted", ["Diagnosis: none", "impaired", "he failed", "7th percentile", "Abnormal"]
)
def test_the_check_sees_a_planted_word(planted):
    assert NEVER.search(planted)


# Guilmette TJ et al. (2020), The Clinical Neuropsychologist 34:437-453, uniform labels (facts sheet: two
# transcriptions).
PUBLISHED = (
    "Exceptionally low",
    "Below average",
    "Low average",
    "Average",
    "High average",
    "Above average",
    "Exceptionally high",
)


def test_the_labels_are_the_published_uniform_set():
    assert tuple(label_words(label, english()) for label in PUBLISHED) == PUBLISHED


def test_any_other_label_raises():
    with pytest.raises(ValueError, match="Borderline"):
        label_words("Borderline", english())


def test_a_lag_further_ahead_than_most_has_words_and_no_label():
    ahead = standing("circles.preferred.lag", 1.8, label=None, further_ahead=True)
    assert standing_label(ahead, english()) == "Further ahead than most"


def test_a_page_tag_has_four_characters_without_look_alikes():
    tag = page_tag(REPORT_ID)
    assert re.fullmatch(f"[{ALPHABET}]{{2}}-[{ALPHABET}]{{2}}", tag)
    assert not set(ALPHABET) & set("0O1ILQ2Z5S8BUVAEI") - {"Q"}


def test_page_tags_spread_over_reports():
    from uuid import UUID

    assert len({page_tag(UUID(int=n)) for n in range(300)}) > 295


def test_a_protector_that_came_on_since_is_told_in_a_sentence():
    differs = Reason("state_differs", {"what": "protector", "before": "no", "today": "yes", "visit": 1})
    assert caution_sentence(differs, english()) == "Glass protector: yes today, no at visit 1."
