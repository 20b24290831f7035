"""The tablet's check of the day, before people: five crosses, one slide of eight seconds, what has drifted.

It is offered at the first sign-in of a day on a tablet that was checked before, and may be put off.
Decision touch-11.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.rights import Right, may
from kiosk.staff.screen import (
    Effect,
    Moved,
    Result,
    Screen,
    ShowToday,
    StaffContext,
    TabletFacts,
    next_,
    site_head,
)
from kiosk.staff.tablet import CheckDevice, Crosses
from kiosk.touch.cross_check import CROSSES_MM, CrossCheck, check_crosses
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.verdict import DeviceReason
from kiosk.visits.actions import Action, TouchPlace
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Control, Figure, FigureView, TextView
from kiosk.wording.tablet_findings import daily_figures


def is_due(context: StaffContext) -> bool:
    """Not offered today yet, to someone who gives visits, on a tablet that was checked, but not today."""
    checks, zone = context.tablet.checks, context.at.tzinfo
    made = [one.made_at.astimezone(zone).date() for one in (checks.panel, checks.crosses) if one is not None]
    today = context.at.date()
    return bool(made) and max(made) < today and context.daily_offered != today and may(
        context.at_work, Right.GIVE_VISITS)


@dataclass(frozen=True)
class KeepToday(Effect):
    """Keep a part of the day's check."""

    found: CrossCheck | DeviceCheck


@dataclass(frozen=True)
class TodayKept(Result):
    """The check is kept: what is known of the tablet, and each figure with what is usual."""

    tablet: TabletFacts
    figures: Sequence[tuple[str, float, float | None]]
    drifted: tuple[DeviceReason, ...]

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """After the crosses the slide; after the slide the trend."""
        known = replace(context, tablet=self.tablet)
        if isinstance(screen, DailySlide) and screen.running:
            return Moved(Trend(tuple(self.figures), self.drifted), (), known)
        return Moved(screen, (), known)


class Daily:
    """What the screens of the day's check share: whoever gives visits may do it, and Back puts it off."""

    needs: ClassVar[Right | None] = Right.GIVE_VISITS


@dataclass(frozen=True)
class DailyOffer(Daily, Screen):
    """Check the tablet now, or later."""

    name: ClassVar[str] = "daily"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Begin, or go on to today's list."""
        match action:
            case StaffAction.NEXT:
                return Moved(DailyCrosses())
            case StaffAction.BACK:
                return self.stay(ShowToday())
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> TextView:
        """Why, and how long it takes."""
        say = language.say
        told = (say("The tablet has not been checked today."),
                say("Five crosses and one slide take about 20 seconds and show whether it has changed."))
        later = Control(StaffAction.BACK, language.say_in("button", "Later"), "quiet")
        return TextView(site_head(context, say("Tablet"), language), told, (later, next_(language)))


@dataclass(frozen=True)
class DailyCrosses(Daily, Crosses):
    """The five crosses; then the slide."""

    name: ClassVar[str] = "daily_crosses"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Take a touch; after the last one keep the offsets and go on."""
        if action is StaffAction.BACK:
            return self.stay(ShowToday())
        if not isinstance(action, TouchPlace):
            return self.stay()
        touches = (*self.touches_mm, (action.x_mm, action.y_mm))
        if len(touches) < len(CROSSES_MM):
            return Moved(replace(self, touches_mm=touches))
        return Moved(DailySlide(), (KeepToday(check_crosses(touches)),))


@dataclass(frozen=True)
class DailySlide(Daily, CheckDevice):
    """A finger is slid over the glass for eight seconds."""

    name: ClassVar[str] = "daily_slide"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Begin to record, or put it off."""
        return self.stay(ShowToday()) if action is StaffAction.BACK else self.measure(action, context)

    def checked(self, found: DeviceCheck) -> Moved:
        """Keep it; the trend follows."""
        return self.stay(KeepToday(found))


@dataclass(frozen=True)
class Trend(Daily, Screen):
    """Today's figures beside what is usual, and what has drifted."""

    figures: tuple[tuple[str, float, float | None], ...] = ()
    drifted: tuple[DeviceReason, ...] = ()
    name: ClassVar[str] = "daily_trend"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """On to today's list."""
        return self.stay(ShowToday()) if action is StaffAction.NEXT else self.stay()

    def view(self, context: StaffContext, language: Language) -> FigureView:
        """Drift first."""
        say = language.say
        told = say("The tablet has drifted. Tell the site lead before people are tested.") if (
            self.drifted) else say("The tablet is as it usually is.")
        drifted = tuple(Figure("", sentence(one.code, one.values, language), "", one.verdict)
                        for one in self.drifted)
        return FigureView(site_head(context, say("Tablet"), language), told,
                          (*daily_figures(self.figures, language), *drifted), (next_(language),))
