"""The rules that files must keep, as phrases: "must be a finite number"."""

from collections.abc import Callable, Mapping

Say = Callable[..., str]

RULES: Mapping[str, Callable[[Say], str]] = {
    "cannot_be_read": lambda say: say("cannot be read"),
    "is_empty": lambda say: say("is empty"),
    "must_be_utf8_text": lambda say: say("must be UTF-8 text"),
    "must_be_comma_separated": lambda say: say("must be separated by commas"),
    "must_have_the_columns_of_a_recording": lambda say: say(
        "must begin with the columns t_s, x_mm, y_mm and contact"
    ),
    "column_missing": lambda say: say("the column is missing"),
    "column_unknown": lambda say: say("the column is not known"),
    "column_twice": lambda say: say("the column stands twice"),
    "must_have_as_many_fields_as_the_header": lambda say: say("must have as many fields as the header"),
    "must_have_two_samples": lambda say: say("must hold at least two samples"),
    "must_be_a_number": lambda say: say("must be a number"),
    "must_be_finite": lambda say: say("must be a finite number"),
    "must_be_0_or_1": lambda say: say("must be 0 or 1"),
    "must_be_within_a_million": lambda say: say("must lie within a million"),
    "must_not_run_backwards": lambda say: say("time must not run backwards"),
    "not_a_message_catalogue": lambda say: say("must be a message catalogue"),
    "must_keep_the_placeholders": lambda say: say("must keep the placeholders of the message"),
    "must_be_a_literal_message": lambda say: say("a message must stand as a literal in its call"),
    "must_hold_every_message": lambda say: say("must hold every message of the source"),
    "must_stand_in_the_source": lambda say: say("must stand in the source"),
    "must_be_translated": lambda say: say("must be translated"),
    "must_be_looked_at_again": lambda say: say("must be looked at again, since the English has changed"),
    "must_have_every_plural_form": lambda say: say("must have every plural form"),
    "must_be_in_letters_of_the_font": lambda say: say("must be in letters that the font has"),
    "must_not_hold_a_forbidden_word": lambda say: say("must not hold a word that is never said"),
    "must_write_digits_0_to_9": lambda say: say("must write its digits as 0 to 9"),
    "must_keep_the_spaces_at_its_ends": lambda say: say("must keep the spaces at its ends"),
    "must_differ_from_the_source": lambda say: say("must differ from the English"),
    "must_keep_the_marks": lambda say: say("must keep the marks of the message"),
    "must_not_steer_the_order_of_letters": lambda say: say("must hold no sign that turns letters round"),
    "must_say_how_people_are_addressed": lambda say: say("must say in its header how people are addressed"),
    "must_be_utf8_csv": lambda say: say("must be a CSV file in UTF-8"),
    "must_have_the_columns": lambda say: say("must have its columns as they were written"),
    "must_stand_in_the_catalogue": lambda say: say("must stand in the catalogue"),
    "must_be_left_as_it_was": lambda say: say("must be left as it was"),
    "must_be_spoken_anew": lambda say: say("must be spoken anew, since its words have changed"),
    "must_fit_its_button": lambda say: say("must fit its button"),
    "must_fit_its_place": lambda say: say("must fit its place on the screen"),
    "must_stay_on_the_glass": lambda say: say("must stay on the glass"),
    "must_lie_clear": lambda say: say("must lie clear of what stands beside it"),
    "must_pass_msgfmt": lambda say: say("must pass msgfmt"),
    "must_be_a_language_and_a_sentence": lambda say: say(
        "must be a language, a colon and a sentence (en: ...)"
    ),
    "must_name_a_language_once": lambda say: say("the language stands twice"),
    "must_be_short_enough": lambda say: say("must be at most 200 characters long"),
    "must_be_a_known_status": lambda say: say("must be a known status"),
}
