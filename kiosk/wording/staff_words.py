"""From the desk's state to what its screen shows, in one language. One function a screen.

What a concluded visit adds (its page in words, its findings, its paths over time) is given beside the state.
The screens `person` and `results` are drawn from a step and from a page's content instead.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_roles import withheld
from kiosk.visits.desk_state import DeskState
from kiosk.wording import (
    staff_words_lists,
    staff_words_notices,
    staff_words_pads,
    staff_words_page,
    staff_words_site,
    staff_words_staff,
    staff_words_visit,
)
from kiosk.wording.staff_parts import ListView, StaffView
from kiosk.wording.staff_shown import Shown

Viewer = Callable[[DeskState, Language], StaffView]
ShownViewer = Callable[[DeskState, Shown, Language], StaffView]

PLAIN: Final[Mapping[str, Viewer]] = {
    **staff_words_pads.VIEWS, **staff_words_lists.VIEWS, **staff_words_visit.VIEWS,
    **staff_words_notices.VIEWS, **staff_words_site.VIEWS, **staff_words_staff.VIEWS,
}
OF_A_VISIT: Final[Mapping[str, ShownViewer]] = staff_words_page.VIEWS
NOT_FROM_HERE: Final = ("person", "results")


def staff_view(state: DeskState, language: Language, shown: Shown | None = None) -> StaffView:
    """What the desk's screen shows; ValueError where a visit's screen is asked for without its visit."""
    if state.screen in PLAIN:
        return offered(PLAIN[state.screen](state, language), state)
    if shown is None or state.screen not in OF_A_VISIT:
        raise ValueError(f"screen must be one that can be drawn from the state, got {state.screen!r}")
    return offered(OF_A_VISIT[state.screen](state, shown, language), state)


def offered(view: StaffView, state: DeskState) -> StaffView:
    """The view with what the account at work may do; rows of persons stay, the site's tiles do not."""
    controls = tuple(one for one in view.controls if withheld(state, one.action) is None)
    if isinstance(view, ListView) and state.screen == "site":
        rows = tuple(row for row in view.rows if withheld(state, row.action) is None)
        return replace(view, controls=controls, rows=rows)
    return replace(view, controls=controls)
