"""One off-screen window for this room's tests, on panel A, with a clock that stands until it is set on."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from kiosk.i18n.language import Language, load_language
from kiosk.touch.calibration import PANEL_A
from tests.needed_packages import WINDOW_PACKAGES, leave_out, missing

if lacking := missing(*WINDOW_PACKAGES):  # its modules cannot even be imported without them
    collect_ignore_glob = ["test_*.py"]
    leave_out("tests/screens", *lacking)


class StandingClock:
    """Seconds, set on by hand."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        return self.now_s

    def pass_time(self, seconds: float) -> None:
        self.now_s += seconds


@dataclass
class Room:
    """A stage, its clock, and what was reported."""

    stage: object
    clock: StandingClock
    said: list[str] = field(default_factory=list)

    def shot(self) -> np.ndarray:
        """The window's pixels as (rows from the bottom, columns, 3) integers."""
        stage = self.stage
        rgba = np.frombuffer(stage.pixels(), dtype=np.uint8).reshape(800, 1280, 4)
        return rgba[..., :3].astype(int)


@pytest.fixture
def room():
    from kiosk.screens.stage import Stage

    clock = StandingClock()
    stage = Stage(PANEL_A, clock, offscreen=True)
    room = Room(stage, clock)
    stage.on_action = room.said.append
    yield room
    stage.close()


@pytest.fixture(scope="session")
def english() -> Language:
    return load_language("en")


@pytest.fixture(scope="session")
def steps():
    from kiosk.screens.pictures import all_steps

    return {hand: dict(all_steps(hand)) for hand in ("right", "left")}


@pytest.fixture(scope="session")
def day(tmp_path_factory):
    """Every screen of the staff's part as the real kiosk shows it in a simulated day, by language."""
    from kiosk.demo.picture_day import staff_shots

    tags = ("en", "ar", "en-x-long")
    shots = staff_shots([load_language(tag) for tag in tags], tmp_path_factory.mktemp("pages"))
    return {tag: [shot for shot in shots if shot.language.tag == tag] for tag in tags}


def here() -> Path:
    return Path(__file__).parent
