"""The site's part of the simulated day, refusals, and the screens that only accounts bring.

What only a site's accounts bring (staff, own account, backup), and what stands before the store is open, is
drawn from what it would know. Millimetres of the card by ISO/IEC 7810.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Final, get_args

from kiosk.demo.picture_kiosk import PIN, PictureKiosk, Shot
from kiosk.touch.card_calibration import CARD_HEIGHT_MM, CARD_WIDTH_MM
from kiosk.visits.desk_state import DeskScreen, DeskState
from kiosk.visits.door_state import STEPS, DoorScreen, DoorState, Purpose
from kiosk.visits.site_work import Backups
from kiosk.visits.staff import StaffRow
from kiosk.wording.staff_parts import CardView
from kiosk.wording.staff_words import PLAIN, staff_view
from kiosk.wording.staff_words_door import door_view
from norms import Refusal

PX_PER_MM: Final = 5.88
MADE_UP_CODE: Final = "ABCD-EFGH-IJKL-MNOP-QRST-UVWX-YZ23-4567"


def the_site(kiosk: PictureKiosk) -> None:
    """Every job of the site but those that need accounts."""
    kiosk.do("site")
    kiosk.look("site")
    kiosk.do("site languages")
    kiosk.look("languages")
    kiosk.do("back", "site tablet")
    kiosk.look("tablet")
    kiosk.do("tablet crosses")
    kiosk.look("crosses")
    kiosk.do("back", "tablet check")
    kiosk.look("device_check")
    kiosk.do("back", "tablet latency")
    kiosk.look("latency")
    for number in ("240", "16", "17", "16", "18", "17"):
        kiosk.type(number)
    kiosk.do("done")
    kiosk.look("figures", "figures_latency")
    kiosk.do("next", "tablet card")
    for name in ("card_width", "card_height", "", ""):
        _fit_the_card(kiosk)
        if name:
            kiosk.look("card", name)
        kiosk.do("next")
    kiosk.look("figures", "figures_card")
    kiosk.do("next", "back", "back")


def _fit_the_card(kiosk: PictureKiosk) -> None:
    """Make the outline as long as a card (ISO/IEC 7810, ID-1) on this panel."""
    view = kiosk.stage.view
    if isinstance(view, CardView):
        wanted_px = PX_PER_MM * (CARD_WIDTH_MM if view.axis == "width" else CARD_HEIGHT_MM)
        by_px = round(wanted_px - view.length_px)
        kiosk.do(f"{'wider' if by_px > 0 else 'narrower'} {abs(by_px)}")


def refusals(kiosk: PictureKiosk) -> None:
    """A tablet without calibration, and one whose clock was set back a year."""
    kiosk.start(calibrated=False)
    kiosk.do("staff")
    kiosk.type(PIN)
    kiosk.clinic.state = replace(kiosk.clinic.state, screen="refused", back_to="today",
                                 refusal=Refusal("tablet_not_calibrated"))
    kiosk.look("refused")
    kiosk.start(days=-365)
    kiosk.look("clock_back")


def only_with_accounts(kiosk: PictureKiosk) -> Iterator[Shot]:
    """Staff, own account, backup, and what stands while a page is made: from what they would know."""
    state, id_of = kiosk.clinic.state, kiosk.new_id
    rows = (StaffRow(id_of(), "M. Orla", frozenset({"administer", "interpret", "site_lead"})),
            StaffRow(id_of(), "T. Besk", frozenset({"administer"})),
            StaffRow(id_of(), "A. Venn", frozenset({"interpret"}), active=False))
    state = replace(state, staff=rows, account=rows[1], refusal=None,
                    backups=Backups(state.at - timedelta(hours=14), 12, "backups"))
    seen = {shot.screen for shot in kiosk.shots}
    for screen in get_args(DeskScreen):
        if screen not in seen and screen in PLAIN:
            yield from _worded(kiosk, replace(state, screen=screen))


def _worded(kiosk: PictureKiosk, state: DeskState) -> Iterator[Shot]:
    for language in kiosk.languages:
        yield Shot(state.screen, state.screen, language, staff_view(state, language))


def at_the_door(kiosk: PictureKiosk) -> Iterator[Shot]:
    """Every screen before the store is open."""
    purpose_of: dict[str, Purpose] = {screen: purpose for purpose, screens in STEPS.items()
                                      for screen in screens}
    for screen in get_args(DoorScreen):
        refusal = Refusal("store_locked") if screen == "refused" else None
        state = DoorState(screen, purpose_of.get(screen, "set_up"), kiosk.now(), kiosk.now(), name="M. Orla",
                          code=MADE_UP_CODE, roles=frozenset({"administer"}), refusal=refusal)
        for language in kiosk.languages:
            yield Shot(f"door_{screen}", f"door_{screen}", language, door_view(state, language))
