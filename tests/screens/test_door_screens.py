"""The screens of sign-in and those of accounts and backups: nothing is cut or covered, no secret is shown."""

from dataclasses import replace
from datetime import UTC, datetime
from itertools import combinations
from uuid import UUID

import pytest

from kiosk.i18n.language import load_language
from kiosk.screens import theme
from kiosk.screens.painter import TouchPanel
from kiosk.staff.accounts import Account, Accounts, OwnAccount
from kiosk.staff.actions import Key
from kiosk.staff.backup import Backup
from kiosk.staff.features import TILES
from kiosk.staff.lock import Locked, Unlock
from kiosk.staff.page import PageScreen
from kiosk.staff.printing import Kept
from kiosk.staff.results import Results
from kiosk.staff.screen import StaffContext
from kiosk.staff.session import StaffState, staff_view
from kiosk.staff.sign_in import STEPS, Purpose, SignInState, Step, sign_in_view
from kiosk.staff.site import Site
from kiosk.staff.text_input import TextInput
from kiosk.touch.calibration import PANEL_A, PANEL_B
from kiosk.visits.actions import Scan
from kiosk.visits.backups import Backups
from kiosk.visits.power import Power
from kiosk.visits.staff import ROLES, AtWork, StaffRow
from norms import Refusal
from tests.screens.test_layout import inside, large_enough, may_overlap, sheets

AT = datetime(2026, 11, 25, 8, 25, tzinfo=UTC)
WORDS = "seven quiet herons stand by the river"
CODE = "WXYZ-2345-QRST-MNOP-ABCD-EFGH-IJKL-UV67"
NOTES = {"name": ("store_locked", {}), "passphrase": ("wrong_passphrase", {"file": "kiosk.store.keys"}),
         "again": ("passphrase_short", {"least": 15}), "recovery_code": ("wrong_recovery_code",
         {"file": "kiosk.store.keys"}), "code_check": ("code_not_written_down", {}),
         "refused": ("store_damaged", {"file": "kiosk.store"})}
AFTER_STEPS = (Step.CODE, Step.CODE_CHECK, Step.OPENING, Step.REFUSED, Step.LOCKED)


def sign_in_states():
    """Every screen of every purpose, as it stands at its fullest."""
    for purpose in (Purpose.SET_UP, Purpose.SIGN_IN, Purpose.RECOVER):
        state = SignInState(Step.LOCKED, purpose, AT, AT, Power(84.0, False), name="M2", code=CODE,
                            printed="Room 4", roles=frozenset(ROLES))
        for step in (*STEPS[purpose], *AFTER_STEPS):
            for written in (TextInput(WORDS, capital=True), TextInput("", signs=True, shown=True)):
                note = Refusal(*NOTES[step.value]) if step.value in NOTES else None
                yield f"{purpose.value} {step.value}", replace(state, step=step, written=written, note=note)


def staff_states():
    staff = tuple(StaffRow(UUID(int=n), f"N{n}", frozenset(ROLES), n != 2) for n in range(1, 8))
    told = Backups(AT, 9, "/media/backup-disk/kiosk", False,
                   Refusal("cannot_write", {"file": "backups", "why": "no access"}), AT)
    context = StaffContext(AT, AT, backups=told, at_work=AtWork(None, "M2"), tiles=TILES)
    for screen in (Site(), Accounts(staff), Account(staff[0]), OwnAccount(), Backup(),
                   Kept(PageScreen(Results())), Unlock(None, Locked())):
        yield screen.name, StaffState(screen, context)


@pytest.mark.parametrize(("tag", "panel"), [
    ("en-x-long", PANEL_A), ("ar", PANEL_A), ("en", PANEL_B), *(
        pytest.param(*pair, marks=pytest.mark.long)
        for pair in (("en", PANEL_A), ("en-x-long", PANEL_B), ("ar", PANEL_B)))])
def test_nothing_is_cut_or_lies_over_anything_else(room, tag, panel):
    from kiosk.screens.painter import painter_for
    from kiosk.screens.parts import Scene
    from kiosk.screens.staff_screens import staff_screen

    language = load_language(tag)
    painter = painter_for(TouchPanel(panel), theme.LIGHT, language.script, language.direction)
    scene = Scene(painter, language, lambda: 0.0, lambda action: None)
    views = [(name, sign_in_view(state, language)) for name, state in sign_in_states()]
    views += [(name, staff_view(state, language)) for name, state in staff_states()]
    for name, view in views:
        for sheet, screen in sheets(name, staff_screen(scene, view)):
            inside(scene.panel.box, screen.parts, sheet)
            large_enough(screen.parts, sheet)
            for one, other in combinations(screen.parts, 2):
                covered = one.box.overlaps(other.box) and not may_overlap(one, other)
                assert not covered, f"{one.name} lies over {other.name} on {sheet}"


def test_a_passphrase_is_shown_as_dots_whatever_types_it_until_staff_want_to_see_it(room, english):
    state = SignInState(Step.PASSPHRASE, Purpose.SIGN_IN, AT, AT, written=TextInput(WORDS), name="M2")
    view = sign_in_view(state, english)
    assert WORDS not in repr(view) and set(view.entered) == {"•"} and len(view.entered) == len(WORDS)
    assert sign_in_view(replace(state, written=TextInput(WORDS, shown=True)), english).entered == WORDS
    room.stage.show_staff(view, english)
    said = []
    room.stage.screen.put = lambda part, put=room.stage.screen.put: said.append(part) or put(part)
    room.stage._typing("river")  # a plugged-in keyboard
    assert [part.name for part in said] == ["entered"] and "river" not in repr(vars(said[0]))
    room.stage._entered("river")
    assert room.said == [Scan("river")]


def test_every_key_of_the_drawn_keyboard_reports_its_character(room, english):
    state = SignInState(Step.PLACE, Purpose.SET_UP, AT, AT)
    room.stage.show_staff(sign_in_view(state, english), english)
    for letter in ("q", "m", " "):
        room.said.clear()
        room.stage.press(Key(letter))
        assert room.said == [Key(letter)]
