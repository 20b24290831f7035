"""The visit in words for staff: intake, the ready strip, choices while the person waits, what they saw."""

from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_after import CHIPS, PAIN, YES_NO
from kiosk.visits.desk_intake import TICKS, asked, may_look_back, options, subjects
from kiosk.visits.desk_page import ROLES, WHAT, WHY
from kiosk.visits.desk_ready import enough_to_begin, may_hand_over
from kiosk.visits.desk_state import DeskState, Tile
from kiosk.visits.tablet_checks import TabletChecks
from kiosk.wording.circumstances import seen_words
from kiosk.wording.measures import trial_label
from kiosk.wording.page_fit import birth_words
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_options import answer_words, question, subject_words, tick_words
from kiosk.wording.staff_parts import (
    Choices,
    ChoiceView,
    Control,
    ObservationView,
    Option,
    StaffView,
    TextView,
    TickView,
)
from kiosk.wording.staff_shown import back, head, next_, note
from kiosk.wording.staff_words_site import verdict_words

HAND_OVER_HOLD_S: Final = 0.6


def row(subject: str, label: str, values: tuple[str, ...], chosen: str, language: Language) -> Choices:
    """A row of answers with the one given."""
    return Choices(label, tuple(
        Option(f"set {subject} {value}", answer_words(subject, value, language), value == chosen)
        for value in values))


def _intake(state: DeskState, language: Language) -> ChoiceView:
    subject = asked(state)
    every = subjects(state.answers, state.needed)
    answers = row(subject, subject_words(subject, language), options(subject, state.languages),
                  state.answers.get(subject, ""), language)
    same = (Control("same", language.say("Same as last time")),) if state.last_answers else ()
    if may_look_back(state):
        same = (Control("visits", language.say_in("button", "Earlier visits"), "quiet"), *same)
    progress = language.say("%(n)s of %(m)s", n=language.number(state.subject + 1),
                            m=language.number(len(every)))
    return ChoiceView(head(state, question(subject, language), language), (answers,),
                      (back(language), *same, next_(language, subject in state.answers)),
                      note(state, language), progress)


def _ready(state: DeskState, language: Language) -> TickView:
    say, person = language.say, state.person
    code, birth = ("", "") if person is None else (person.code, person.birth_date)
    asking = say("%(code)s, born %(birth)s. Is this the person in front of you?", code=code,
                 birth=birth_words(birth, language))
    ticks = tuple(Option(f"tick {tick}", tick_words(tick, language), tick in state.ticks) for tick in TICKS)
    give = Control("hand_over", say("Yes, hand over"), "main", may_hand_over(state), HAND_OVER_HOLD_S)
    low = "" if enough_to_begin(state.power) else say("Plug in or charge first.")
    told = " ".join(part for part in (low, _tablet_note(state.site.checks, language)) if part)
    return TickView(head(state, say("Ready?"), language), asking, ticks, (back(language), give), told)


def _tablet_note(checks: TabletChecks, language: Language) -> str:
    """What the tablet's checks found, and why; empty where all is well."""
    if checks.reason is None:
        return ""
    why = sentence(checks.reason.code, checks.reason.values, language)
    return f"{verdict_words(checks.verdict, language)} {why}"


def _staff_choices(state: DeskState, language: Language) -> TextView:
    say_in = language.say_in
    words = {"retry": say_in("button", "Explain and try again"),
             "go_on_marked": say_in("button", "Go on, marked"), "end": say_in("button", "End here"),
             "go_on": say_in("button", "Go on"), "staff_end": say_in("button", "End here")}
    controls = tuple(Control(choice, words[choice]) for choice in state.choices)
    waiting = language.say("The person waits. What they did is kept.")
    return TextView(head(state, language.say("Staff"), language), (waiting,), controls)


def _observations(state: DeskState, language: Language) -> ObservationView:
    say, notes = language.say, state.notes
    seen_at = {trial for trial, _ in notes.seen}
    tiles = (Option("trial visit", _marked(say("Whole visit"), None in seen_at), notes.chosen is None), *(
        Option(f"trial {one.trial_id}", _marked(_tile(one, language), one.trial_id in seen_at),
               notes.chosen == one.trial_id)
        for one in state.tiles))
    chips = tuple(Option(f"note {code}", seen_words(code, language), (notes.chosen, code) in notes.seen)
                  for code in CHIPS)
    rows = (row("pain_after", question("pain_after", language), PAIN, notes.pain_after, language),
            row("hands_as_asked", question("hands_as_asked", language), YES_NO, notes.hands_as_asked,
                language))
    nothing = Control("nothing", say("Nothing to note"), "main" if not notes.seen else "second")
    controls = (nothing, next_(language)) if notes.seen or notes.hands_as_asked == "no" else (nothing,)
    of_which = next((one.words for one in tiles if one.chosen), "")
    return ObservationView(head(state, say("Anything to note?"), language), of_which, tiles, chips, rows,
                           controls, note(state, language))


def _tile(tile: Tile, language: Language) -> str:
    """A trial's short name; a repeated one is told from the first."""
    name = trial_label(tile.block, tile.number, language)
    return name if tile.attempt == 1 else language.say("%(trial)s, again", trial=name)


def _marked(words: str, noted: bool) -> str:
    return f"{words} •" if noted else words


def _sign_off(state: DeskState, language: Language) -> TextView:
    say = language.say
    roles = row("role", question("role", language), ROLES, state.role, language)
    sign = Control("sign", say_sign(language), "main", bool(state.role), HAND_OVER_HOLD_S)
    who = say("Signed as %(initials)s.", initials=state.signer)
    if state.at_work.name:
        who = say("Signed as %(initials)s, with the account %(account)s.", initials=state.signer,
                  account=state.at_work.name)
    return TextView(head(state, say("Sign"), language), (statement(language), who), (back(language), sign),
                    note(state, language), (roles,))


def statement(language: Language) -> str:
    """What a signature says."""
    return language.say("I have read this page and what was noted.")


def say_sign(language: Language) -> str:
    """The control that signs."""
    return language.say_in("button", "Sign")


def _amend(state: DeskState, language: Language) -> ChoiceView:
    rows = (row("what", question("what", language), WHAT, state.amend_what, language),
            row("reason", question("reason", language), WHY, state.amend_why, language))
    ready = bool(state.amend_what and state.amend_why)
    told = language.say("The page is made anew. The old one is kept beside it.")
    return ChoiceView(head(state, language.say("Amend"), language), rows,
                      (back(language), next_(language, ready)), told)


VIEWS: Final[Mapping[str, Callable[[DeskState, Language], StaffView]]] = {
    "intake": _intake, "ready": _ready, "staff_choices": _staff_choices, "observations": _observations,
    "sign_off": _sign_off, "amend": _amend,
}
