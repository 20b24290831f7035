"""After the thanks: what staff saw, by exception; most visits need one tap."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import ClassVar, Final
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.pursuit.observation import Observation
from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.answers import answer_row
from kiosk.staff.concluding import Conclude, Concluding, Correct, Correction, Notes
from kiosk.staff.lock import Unlock
from kiosk.staff.person_part import PersonPart, StaffChoices
from kiosk.staff.screen import Effect, Moved, Result, Screen, StaffContext, next_, person_head
from kiosk.visits.actions import Action, CourseAction
from kiosk.wording.circumstances import seen_words
from kiosk.wording.measures import trial_label
from kiosk.wording.staff_parts import Control, ObservationView, Option

CHIPS: Final = ("talked", "interrupted", "pain", "helped_by_touch", "told_where", "wrong_hand",
                "glove_or_nail", "glass_wet")
PAIN: Final = ("none", "mild", "enough_to_matter", "not_asked")
YES_NO: Final = ("yes", "no")
AFTERWARDS: Final[Mapping[str, tuple[str, ...]]] = {"pain_after": PAIN, "hands_as_asked": YES_NO}
HANDS_NOT_AS_ASKED: Final = "hands_as_asked_no"


class ObservationAction(Action, Enum):
    """The one tap where there is nothing."""

    NOTHING = "nothing"


@dataclass(frozen=True)
class PickTrial(Action):
    """What is noted belongs to this trial, or to the whole visit (None)."""

    trial_id: UUID | None


@dataclass(frozen=True)
class NoteSeen(Action):
    """One of CHIPS was seen, or was not."""

    code: str


@dataclass(frozen=True)
class Tile:
    """One trial that staff may note something about."""

    trial_id: UUID
    block: str
    number: int
    attempt: int


@dataclass(frozen=True)
class StaffCameIn(Result):
    """Staff held their corner: over, the person is done; choices, what staff may choose while they wait."""

    choices: tuple[CourseAction, ...]
    over: bool
    tiles: tuple[Tile, ...]

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """The PIN is asked, then they choose, or note what they saw."""
        if not isinstance(screen, PersonPart):
            return screen.stay()
        after = Observations(self.tiles) if self.over else StaffChoices(self.choices, screen)
        return Moved(Unlock(after, screen))


@dataclass(frozen=True)
class ListNotes(Effect):
    """Look up what was noted before, to be put right."""

    correction: Correction


@dataclass(frozen=True)
class Observations(Screen):
    """Notes are made of a trial or of the whole visit (chosen None); with a correction, put right."""

    tiles: tuple[Tile, ...] = ()
    notes: Notes = field(default_factory=Notes)
    chosen: UUID | None = None
    correction: Correction | None = None
    name: ClassVar[str] = "observations"
    in_visit: ClassVar[bool] = True

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Choose a trial, note, answer, or finish."""
        notes = self.notes
        match action:
            case PickTrial(trial_id):
                known = trial_id if any(one.trial_id == trial_id for one in self.tiles) else None
                return Moved(replace(self, chosen=known))
            case NoteSeen(code) if code in CHIPS:
                return Moved(replace(self, notes=replace(notes, seen=notes.seen ^ {(self.chosen, code)})))
            case Answer("pain_after", value) if value in PAIN:
                return Moved(replace(self, notes=replace(notes, pain_after=value)))
            case Answer("hands_as_asked", value) if value in YES_NO:
                return Moved(replace(self, notes=replace(notes, hands_as_asked=value)))
            case ObservationAction.NOTHING:
                return self._done(replace(notes, seen=frozenset()))
            case StaffAction.NEXT:
                return self._done(notes)
        return self.stay()

    def _done(self, notes: Notes) -> Moved:
        effect = Conclude(notes) if self.correction is None else Correct(self.correction, notes)
        return Moved(Concluding(), (effect,))

    def view(self, context: StaffContext, language: Language) -> ObservationView:
        """Trials, what was seen in the chosen one, and the questions of the whole visit."""
        say, notes = language.say, self.notes
        seen_at = {trial for trial, _ in notes.seen}
        named = [(None, say("Whole visit")),
                 *((one.trial_id, _tile_words(one, language)) for one in self.tiles)]
        tiles = tuple(Option(PickTrial(trial), _marked(words, trial in seen_at), self.chosen == trial)
                      for trial, words in named)
        chips = tuple(Option(NoteSeen(code), seen_words(code, language), (self.chosen, code) in notes.seen)
                      for code in CHIPS)
        rows = (answer_row("pain_after", say("Pain now"), PAIN, notes.pain_after, language),
                answer_row("hands_as_asked", say("Hands used as asked?"), YES_NO, notes.hands_as_asked,
                           language))
        nothing = Control(ObservationAction.NOTHING, say("Nothing to note"),
                          "main" if not notes.seen else "second")
        more = notes.seen or notes.hands_as_asked == "no"
        of_which = next((one.words for one in tiles if one.chosen), "")
        head = person_head(context, say("Anything to note?"), language)
        return ObservationView(head, of_which, tiles, chips, rows,
                               (nothing, next_(language)) if more else (nothing,), self.note_in(language))


def noted(notes: Notes) -> tuple[Observation, ...]:
    """The observations that the notes amount to, whole visit first."""
    seen = set(notes.seen) | ({(None, HANDS_NOT_AS_ASKED)} if notes.hands_as_asked == "no" else set())
    return tuple(Observation(code, trial) for trial, code in sorted(
        seen, key=lambda one: (one[0] is not None, str(one[0]), one[1])))


def notes_from(observations: Sequence[Observation], pain_after: str) -> Notes:
    """Notes made earlier, to be gone through once more."""
    own = frozenset((one.trial_id, one.code) for one in observations if one.code in CHIPS)
    hands = any(one.code == HANDS_NOT_AS_ASKED for one in observations)
    return Notes(own, pain_after, "no" if hands else "yes")


def _tile_words(tile: Tile, language: Language) -> str:
    """A trial's short name; a repeated one is told from the first."""
    name = trial_label(tile.block, tile.number, language)
    return name if tile.attempt == 1 else language.say("%(trial)s, again", trial=name)


def _marked(words: str, noted: bool) -> str:
    return f"{words} •" if noted else words
