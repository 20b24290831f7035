"""A kiosk with its door: a real store in a file, without a window; a clock set by hand."""

from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import numpy as np

from kiosk.app.app_session import AppSession
from kiosk.app.dependencies import StartDependencies
from kiosk.app.printing import Printer
from kiosk.app.store_access import FileStoreAccess
from kiosk.app.store_opening import Machine
from kiosk.demo.simulated_visits import PANEL, RANGES
from kiosk.staff.actions import Key, StaffAction
from kiosk.staff.roles import PickRole
from kiosk.staff.text_input import KeyboardAction
from kiosk.storage.ids import IdSource
from kiosk.storage.keys import Cost
from kiosk.touch.capture import Playback
from kiosk.visits.actions import Action, ScreenAction
from tests.app.fake_kiosk import BEGINS, PIN, FakeKiosk

QUICK = Cost(1, 8)
WORDS = "seven quiet herons stand"
OTHER_WORDS = "four slow barges going home"


class SteadyChance:
    """Bytes that look like chance and are the same each time."""

    def __init__(self, seed: int = 0) -> None:
        self._drawn = seed * 1000

    def __call__(self, length: int) -> bytes:
        self._drawn += 1
        told = str(self._drawn).encode()
        return b"".join(sha256(told + bytes([n])).digest() for n in range(length // 32 + 1))[:length]


class LockedKiosk(FakeKiosk):
    """FakeKiosk behind its door; `shift` has the window."""

    def __init__(self, folder: Path, *, seed: int = 0, begins=BEGINS, t_ns: int = 0) -> None:
        plain = FakeKiosk(folder, begins=begins)
        self.begins, self.t_ns, self.power = begins, t_ns, plain.power
        self.print_outcome, self.jobs, self.stages, self.person = "printed", [], [], plain.person
        self.capture = Playback(self.now_ns, RANGES, PANEL)
        self.new_id = IdSource(self.now_local, np.random.default_rng(seed + 77))
        self.path = folder / "kiosk.store"
        self.machine = Machine(self.now_local, self.new_id, SteadyChance(seed), QUICK)
        self.store_access = FileStoreAccess(self.path, self.machine, lambda: self.t_ns / 1e9)
        self.plain = replace(
            plain.deps, now_ns=self.now_ns, now_local=self.now_local, power=lambda: self.power,
            make_stage=self._stage, make_capture=lambda: self.capture, print_page=self._print,
            new_id=self.new_id)
        self.app_session = AppSession(StartDependencies(
            self.store_access, self.made_dependencies, self.plain.languages, "en", self.now_ns,
            self.now_local,
            lambda: self.power, self._stage, (1280, 800), lambda: Printer("desk", "Room 4"), self._print))

    def made_dependencies(self, session):
        return replace(self.plain, archive=session.archive, pins=session.pins, journal=session.journal,
                       session=session, at_work=session.at_work, place=session.place)

    @property
    def screen(self) -> str:
        over = self.app_session.sign_in_screens
        return over.state.step.value if over else self.driver.state.screen.name

    @property
    def store(self):
        return self.store_access.session.archive

    @property
    def driver(self):
        return self.app_session.driver

    def frame(self, times: int = 1, by_s: float = 0.05) -> None:
        for _ in range(times):
            self.t_ns += round(by_s * 1e9)
            self.app_session.frame()

    def write(self, text: str) -> None:
        """With the keyboard on the screen."""
        for letter in text:
            self.do(*self.keys_of(letter))
        self.do(StaffAction.NEXT)

    def keys_of(self, letter: str) -> list[Action]:
        """The keys struck for one character, from what the screen shows."""
        shown = {key.words for row in self.view.keys for key in row}
        if letter == " " or letter in shown:
            return [Key(letter)]
        if letter.isupper():
            return [KeyboardAction.CAPITAL, Key(letter)]
        return [KeyboardAction.SIGNS, Key(letter), KeyboardAction.SIGNS]

    def do(self, *actions: Action) -> None:
        for action in actions:
            self.stage.on_action(action)
            self.frame(2)

    def set_up(self, *, roles=("administer", "interpret"), name: str = "M2") -> str:
        """First set-up on the screen to Today; the recovery code."""
        self.frame()
        self.do(StaffAction.NEXT)
        self.write("Harbour Street 4")
        self.write(name)
        self.write(WORDS)
        self.write(WORDS)
        for role in {"administer", "interpret"} - set(roles):
            self.do(PickRole(role))
        self.do(StaffAction.NEXT)
        code = self.app_session.sign_in_screens.state.code
        self.do(StaffAction.NEXT)
        self.type(code[-4:])
        self.choose_pin()
        return code

    def choose_pin(self, pin: str = PIN) -> None:
        self.type(pin)
        self.type(pin)

    def sign_in(self, name: str = "M2", words: str = WORDS) -> None:
        """From the locked screen."""
        self.do(ScreenAction.STAFF)
        self.write(name)
        self.write(words)

    def pass_minutes(self, minutes: float) -> None:
        self.t_ns += round(minutes * 60e9)
        self.frame()
