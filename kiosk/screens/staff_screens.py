"""Which screen draws which view of the staff's part; all words are in the view."""

from collections.abc import Callable
from typing import Any, Final

from kiosk.screens.parts import Scene
from kiosk.screens.replay import ReplayScreen
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.staff_notice import CardScreen, CrossScreen, NoticeScreen, SlideScreen
from kiosk.screens.staff_pad import PadScreen
from kiosk.screens.staff_page import PageScreen
from kiosk.screens.staff_stacks import (
    choice_screen,
    figure_screen,
    list_screen,
    observation_screen,
    text_screen,
    tick_screen,
)
from kiosk.wording.staff_parts import (
    CardView,
    ChoiceView,
    CrossView,
    FigureView,
    ListView,
    NoticeView,
    ObservationView,
    PadView,
    PageView,
    ReplayView,
    SlideView,
    StaffView,
    TextView,
    TickView,
)

BUILDERS: Final[dict[type, Callable[[Scene, Any, int], StaffScreen]]] = {
    ChoiceView: choice_screen,
    PadView: PadScreen,
    ListView: list_screen,
    TickView: tick_screen,
    NoticeView: NoticeScreen,
    ObservationView: observation_screen,
    PageView: PageScreen,
    FigureView: figure_screen,
    CardView: CardScreen,
    CrossView: CrossScreen,
    SlideView: SlideScreen,
    TextView: text_screen,
    ReplayView: ReplayScreen,
}


def staff_screen(scene: Scene, view: StaffView, sheet: int = 0) -> StaffScreen:
    """The screen of a view; `sheet` is the further sheet to show where it has several."""
    return BUILDERS[type(view)](scene, view, sheet)
