"""The site's part of the simulated day, refusals, and the screens that only accounts bring.

What only a site's accounts bring (staff, own account, backup), and what stands before the store is open, is
drawn from what it would know. Millimetres of the card by ISO/IEC 7810.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Final

from kiosk.demo.picture_kiosk import PIN, PictureKiosk, Shot
from kiosk.staff import languages, tablet
from kiosk.staff.accounts import Account, Accounts, OwnAccount
from kiosk.staff.actions import StaffAction
from kiosk.staff.backup import Backup
from kiosk.staff.concluding import Concluding
from kiosk.staff.daily import DailyCrosses, DailyOffer, DailySlide, Trend
from kiosk.staff.page import PageScreen
from kiosk.staff.printing import Kept
from kiosk.staff.results import Results
from kiosk.staff.session import CannotGoOn, HelpComes, StaffState, staff_view
from kiosk.staff.sign_in import STEPS, Purpose, SignInState, Step, sign_in_view
from kiosk.staff.tablet import MOST_LEAD_MS, Lead, Resize, TabletAction
from kiosk.staff.today import TodayAction
from kiosk.staff.visits_had import VisitsHad
from kiosk.touch.card_calibration import CARD_HEIGHT_MM, CARD_WIDTH_MM
from kiosk.touch.verdict import DeviceReason
from kiosk.visits.actions import ScreenAction
from kiosk.visits.backups import Backups
from kiosk.visits.staff import StaffRow
from kiosk.wording.staff_parts import CardView
from norms import Refusal

PX_PER_MM: Final = 5.88
DRIFTED: Final = (DeviceReason("offset_drifts", {"mean_mm": 4.1, "usual_mm": 1.2}),)
MADE_UP_CODE: Final = "ABCD-EFGH-IJKL-MNOP-QRST-UVWX-YZ23-4567"


def the_site(kiosk: PictureKiosk) -> None:
    """Every job of the site but those that need accounts."""
    kiosk.do(TodayAction.SITE)
    kiosk.look("site")
    kiosk.do(languages.TILE)
    kiosk.look("languages")
    kiosk.do(StaffAction.BACK, tablet.TILE)
    kiosk.look("tablet")
    kiosk.do(TabletAction.CROSSES)
    kiosk.look("crosses")
    kiosk.do(StaffAction.BACK, TabletAction.CHECK)
    kiosk.look("device_check")
    kiosk.do(StaffAction.BACK, TabletAction.LINES)
    kiosk.look("lines")
    kiosk.do(StaffAction.BACK, TabletAction.LATENCY)
    kiosk.look("latency")
    for number in ("240", "16", "17", "16", "18", "17"):
        kiosk.type(number)
    kiosk.do(TabletAction.DONE)
    kiosk.look("figures", "figures_latency")
    kiosk.do(StaffAction.BACK, TabletAction.SLIDE)
    kiosk.look("slide")
    for lead_ms in (60.0, 72.0, 64.0, 70.0, 62.0, 71.0, 66.0, 70.0, 63.0, 69.0):
        kiosk.do(Lead(-MOST_LEAD_MS), Lead(lead_ms), StaffAction.NEXT)
    kiosk.look("figures", "figures_slide")
    kiosk.do(StaffAction.NEXT, TabletAction.CARD)
    for name in ("card_width", "card_height", "", ""):
        _fit_the_card(kiosk)
        if name:
            kiosk.look("card", name)
        kiosk.do(StaffAction.NEXT)
    kiosk.look("figures", "figures_card")
    kiosk.do(StaffAction.NEXT, StaffAction.BACK, StaffAction.BACK)


def _fit_the_card(kiosk: PictureKiosk) -> None:
    """Make the outline as long as a card (ISO/IEC 7810, ID-1) on this panel."""
    view = kiosk.stage.view
    if isinstance(view, CardView):
        wanted_px = PX_PER_MM * (CARD_WIDTH_MM if view.axis == "width" else CARD_HEIGHT_MM)
        by_px = round(wanted_px - view.length_px)
        kiosk.do(Resize(by_px))


def refusals(kiosk: PictureKiosk) -> None:
    """A tablet without calibration, and one whose clock was set back a year."""
    kiosk.start(calibrated=False)
    kiosk.do(ScreenAction.STAFF)
    kiosk.type(PIN)
    refused = CannotGoOn(note=Refusal("tablet_not_calibrated"))
    kiosk.driver.state = replace(kiosk.driver.state, screen=refused)
    kiosk.look("refused")
    kiosk.driver.state = replace(kiosk.driver.state, screen=HelpComes(refused))
    kiosk.look("help_comes")
    kiosk.start(days=-365)
    kiosk.look("clock_back")


def only_with_accounts(kiosk: PictureKiosk) -> Iterator[Shot]:
    """Staff, own account, backup, and what stands while a page is made: from what they would know."""
    context, id_of = kiosk.driver.context, kiosk.new_id
    rows = (StaffRow(id_of(), "M. Orla", frozenset({"administer", "interpret", "site_lead"})),
            StaffRow(id_of(), "T. Besk", frozenset({"administer"})),
            StaffRow(id_of(), "A. Venn", frozenset({"interpret"}), active=False))
    context = replace(context, backups=Backups(context.at - timedelta(hours=14), 12, "backups"))
    trend = Trend((("mean_mm", 4.1, 1.2), ("rate_hz", 119.0, 120.0), ("noise_mm", 0.1, 0.1)), DRIFTED)
    for screen in (Concluding(), Kept(PageScreen(Results())), Accounts(rows), Account(rows[1]), OwnAccount(),
                   Backup(), VisitsHad(), DailyOffer(), DailyCrosses(), DailySlide(), trend):
        for language in kiosk.languages:
            yield Shot(screen.name, screen.name, language, staff_view(StaffState(screen, context), language))


def at_the_door(kiosk: PictureKiosk) -> Iterator[Shot]:
    """Every screen before the store is open."""
    purpose_of = {step: purpose for purpose, steps in STEPS.items() for step in steps}
    for step in Step:
        note = Refusal("store_locked") if step is Step.REFUSED else None
        state = SignInState(step, purpose_of.get(step, Purpose.SET_UP), kiosk.now(), kiosk.now(),
                            name="M. Orla", code=MADE_UP_CODE, roles=frozenset({"administer"}), note=note)
        name = f"door_{step.value}"
        for language in kiosk.languages:
            yield Shot(name, name, language, sign_in_view(state, language))
