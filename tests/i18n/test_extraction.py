"""Every message of the source is found: beside Babel's own reader, and in small sources."""

import pytest
from babel.messages.extract import extract_from_dir

from kiosk.base.errors import FaultyFile
from kiosk.base.settings import PACKAGE
from kiosk.i18n.extraction import SourceMessage, extract, own_messages, revision
from kiosk.i18n.language import load_language
from kiosk.wording.reasons import RULES, rule_words, sentence
from norms import REFUSALS

BABEL_KEYWORDS = {
    "say": None, "say_in": ((1, "c"), 2), "say_n": (1, 2), "N_": None,
}  # fmt: skip


def source(tmp_path, text, name="room.py"):
    (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


def identities(messages):
    return {(message.context, message.one, message.many) for message in messages}


def test_babels_reader_finds_the_same_messages():
    found = set()
    for package in (PACKAGE, PACKAGE.parent / "norms"):
        for _, _, said, _, context in extract_from_dir(
            package, [("**.py", "python")], keywords=BABEL_KEYWORDS
        ):
            texts = (said,) if isinstance(said, str) else said
            if texts[0]:
                found.add((context or "", texts[0], texts[1] if len(texts) > 1 else ""))
    assert len(found) > 700
    assert identities(own_messages()) == found


def test_what_norms_refuses_with_stands_in_the_catalogues_with_its_file():
    assert REFUSALS["expired"] in {message.one for message in own_messages()}
    assert SourceMessage("", REFUSALS["ceiling"], "", ("norms/table/reasons.py",)) in own_messages()


def test_contexts_plurals_and_joined_literals_are_read(tmp_path):
    folder = source(
        tmp_path,
        'say("Begin " "now")\nlanguage.say_in("button", "Stop")\n'
        'language.say_n("one", "%(n)d", 2)\nN_("Later")\n',
    )
    assert extract(folder) == (
        SourceMessage("", "Begin now", "", ("room.py",)),
        SourceMessage("button", "Stop", "", ("room.py",)),
        SourceMessage("", "one", "%(n)d", ("room.py",)),
        SourceMessage("", "Later", "", ("room.py",)),
    )


def test_a_message_said_in_two_files_stands_once_with_both(tmp_path):
    source(tmp_path, 'say("Begin")\nsay("Begin")', "b.py")
    source(tmp_path, 'say("Begin")', "a.py")
    assert extract(tmp_path) == (SourceMessage("", "Begin", "", ("a.py", "b.py")),)


@pytest.mark.parametrize(
    "call", ["say(text)", "say(f'{n} trials')", "language.say_in('button', word)", "say(*all)", "N_(text)"]
)
def test_a_message_that_is_no_literal_is_refused_with_its_line(tmp_path, call):
    with pytest.raises(FaultyFile) as refused:
        extract(source(tmp_path, f"\n{call}\n"))
    (fault,) = refused.value.faults
    assert (fault.file, fault.row, fault.value) == ("room.py", 2, call)


@pytest.mark.parametrize("call", ["painter.say(text, style, x, y)", "said(row)", 'say("")'])
def test_a_pen_that_draws_words_says_no_message(tmp_path, call):
    assert extract(source(tmp_path, call)) == ()


def test_the_mark_of_the_source_follows_its_words_alone(tmp_path):
    first = extract(source(tmp_path, 'say("Begin")\nsay("Stop")'))
    moved = (*first[1:], SourceMessage("", "Begin", "", ("elsewhere.py",)))
    assert revision(moved) == revision(first)
    assert revision(first[:1]) != revision(first)
    assert revision((SourceMessage("button", "Begin", "", ()), first[1])) != revision(first)


def test_what_reasons_and_rules_say_in_arabic_is_never_english():
    arabic = load_language("ar")
    said = [rule_words(rule, arabic) for rule in RULES]
    said += [sentence(code, {}, arabic) for code in ("no_display", "no_window", "no_touch_device")]
    assert [text for text in said if text.isascii()] == []
