"""Every reason has a sentence, and an unknown one is a mistake that shows."""

import re

import pytest

from kiosk.base.errors import Fault
from kiosk.i18n.language import load_language
from kiosk.scoring.trial_scores import Reason
from kiosk.wording.cautions import CODES, caution_sentence
from kiosk.wording.reasons import RULES, SENTENCES, fault_sentence, rule_words, sentence
from norms import REFUSALS, WARNINGS
from norms.table.table import STATED, STATED_OF_RETEST
from tests.wording import codes_raised
from tests.wording.page_samples import english

REASONS = codes_raised.codes_of_reasons()


def plain_sentence(said: str) -> bool:
    return bool(said) and said[-1] in ".!?" and "%(" not in said and "_" not in said


def test_the_source_is_really_read():
    assert len(REASONS) > 25 and {"unknown_block", "little_contact", "unknown_visit"} <= set(REASONS)
    assert "contact_below_80" in codes_raised.codes_of_missing_figures()
    assert "must_be_finite" in codes_raised.rules_of_files()


@pytest.mark.parametrize("code", sorted(REASONS))
def test_a_reason_raised_by_a_room_has_a_sentence_from_the_values_it_carries(code):
    assert plain_sentence(sentence(code, dict.fromkeys(REASONS[code], 7), english()))


@pytest.mark.parametrize("code", sorted(REFUSALS))
def test_a_refusal_of_norms_has_a_sentence_from_the_values_it_carries(code):
    names = re.findall(r"%\((\w+)\)", REFUSALS[code])
    assert plain_sentence(sentence(code, dict.fromkeys(names, 7), english()))


@pytest.mark.parametrize("code", sorted(WARNINGS))
def test_a_warning_of_norms_has_a_sentence_without_values(code):
    assert plain_sentence(sentence(code, {}, english()))


@pytest.mark.parametrize("code", sorted(codes_raised.codes_of_missing_figures()))
def test_a_missing_figure_has_a_sentence_without_values(code):
    assert plain_sentence(sentence(code, {}, english()))


@pytest.mark.parametrize(
    "code",
    sorted(
        {
            "system_packages_missing",
            "file_is_faulty",
            "immutable",
            "store_busy",
            "refers_to_unknown",
            "already_kept",
            "store_read_only",
            "server_not_vouched_for",
            "disk_in_trouble",
            "server_other_name",
            "server_speaks_plainly",
            "server_login_refused",
            "wrong_hand",
            "helped_by_touch",
            "unknown_calibration",
        }
    ),
)
def test_a_code_made_from_a_variable_has_a_sentence(code):
    values = {"names": ("a", "b"), "file": "a.csv", "count": 2, "found": "x", "sha256": "ab"}
    assert plain_sentence(sentence(code, values, english()))


def test_the_cautions_a_visit_brings_and_the_cautions_with_words_are_the_same():
    assert codes_raised.codes_of_cautions() == set(CODES)


def test_an_unknown_code_raises():
    with pytest.raises(ValueError, match="tea_too_cold"):
        sentence("tea_too_cold", {}, english())
    with pytest.raises(ValueError, match="must_be_blue"):
        rule_words("must_be_blue", english())


def test_what_a_table_does_not_say_is_named_in_the_readers_language():
    untold = Reason("table_not_stated", {"missing": "country,retest_blinding"})
    assert caution_sentence(untold, english()) == (
        "The reference table does not say: in which country, whether staff of the retest study knew the "
        "first scores."
    )
    assert caution_sentence(untold, load_language("de")).startswith(
        "Die Referenztabelle sagt nicht: in welchem Land, ob das Personal"
    )


def test_every_fact_a_table_can_leave_out_has_words():
    names = (*STATED, *(f"retest_{name}" for name in STATED_OF_RETEST))
    untold = Reason("table_not_stated", {"missing": ",".join(names)})
    assert caution_sentence(untold, english()).count(",") == len(names) - 1


def test_an_unknown_caution_raises():
    with pytest.raises(ValueError, match="tea_too_cold"):
        caution_sentence(Reason("tea_too_cold"), english())


def test_every_rule_of_a_file_has_words():
    assert codes_raised.rules_of_files() <= set(RULES)


def test_a_fault_names_file_row_column_rule_and_value():
    fault = Fault("/home/someone/walk.csv", 7, "x_mm", "must_be_finite", "inf")
    assert (
        fault_sentence(fault, english()) == "walk.csv, row 7, column x_mm: must be a finite number, got inf."
    )


def test_a_fault_of_a_whole_file_names_neither_row_nor_column():
    assert fault_sentence(Fault("walk.csv", None, None, "is_empty"), english()) == "walk.csv: is empty."


def test_a_day_in_a_fault_stays_as_it_was_written():
    fault = Fault("a.csv", 2, "t_s", "must_be_a_number", "2026-01-02")
    assert "got 2026-01-02" in fault_sentence(fault, english())


def test_the_age_is_told_in_completed_years_and_the_interval_in_words():
    outside = {"age_years": 8.97, "age_from": 18.0, "age_to": 90.0, "table": "demo", "measure": "x"}
    assert sentence("age_outside", outside, english()) == "The table covers ages 18 to 90, this person is 8."
    apart = {"days": 0.1319, "days_min": 20.0, "days_max": 400.0}
    assert "an interval of 3 h 10 min" in sentence("interval_outside_study", apart, english())


def test_no_code_has_a_sentence_that_names_a_code():
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", code) for code in SENTENCES)
