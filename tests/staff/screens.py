"""One of every staff screen, as it may stand in a session."""

from uuid import UUID

from kiosk.staff.accounts import Account, Accounts, OwnAccount
from kiosk.staff.amend import Amend
from kiosk.staff.backup import Backup
from kiosk.staff.concluding import Concluding
from kiosk.staff.daily import DailyCrosses, DailyOffer, DailySlide, Trend
from kiosk.staff.find import Find, Found, LookAlike
from kiosk.staff.intake import Intake
from kiosk.staff.languages import Languages
from kiosk.staff.lock import ClockBack, FirstPin, FirstPinAgain, Locked, Unlock
from kiosk.staff.new_person import BirthDate, NewCode, SecondIdentifier
from kiosk.staff.observations import Observations
from kiosk.staff.page import CopyLine, PageScreen
from kiosk.staff.person_part import LeftOpen, Paused, PersonPart, StaffChoices
from kiosk.staff.printing import GiveLeaflet, Kept, NotPrinted, Paper, Printed, Printing, Saved
from kiosk.staff.ready import HandOver, PowerLow, Ready
from kiosk.staff.results import Compare, Replay, Results, Why
from kiosk.staff.session import CannotGoOn, HelpComes
from kiosk.staff.sign import Signer, SignOff
from kiosk.staff.site import Site
from kiosk.staff.tables import Tables
from kiosk.staff.tablet import Card, CheckDevice, Crosses, Figures, Latency, Lines, Slide, Tablet
from kiosk.staff.today import Today
from kiosk.staff.visits_had import VisitsHad
from kiosk.touch.latency import DeviceLatency
from kiosk.visits.actions import AskWhy, CourseAction
from kiosk.visits.staff import ROLES, StaffRow

VISIT = UUID(int=3)
ROW = StaffRow(UUID(int=1), "M2", frozenset(ROLES))
READY = Ready(Intake({"language": "en"}), {"language": "en"})
PERSON = PersonPart(VISIT)
PAGE = PageScreen(Results())
LATENCY = DeviceLatency(70.0, 3.0, 1.3, "camera", (70.0,), 240.0)
EVERY = (
    FirstPin(), FirstPinAgain("481516"), Locked(), Unlock(None, Locked()), ClockBack(), Today(), Find(),
    Found(()), LookAlike(()), NewCode(), SecondIdentifier("K1"), BirthDate("K1"), READY.intake, READY,
    PowerLow(READY), HandOver(READY), PERSON, StaffChoices((CourseAction.GO_ON,), PERSON), Paused(VISIT),
    LeftOpen(VISIT), Observations(), Concluding(), Results(), Why(AskWhy("low")), Replay(), Compare(),
    VisitsHad(), PAGE, CopyLine(PAGE), Signer(PAGE), SignOff(PAGE, "AB"), Amend(PAGE),
    Printing(Paper.PAGE, PAGE), Printed(Paper.PAGE, PAGE, "Room 4"), NotPrinted(Paper.PAGE, PAGE),
    Saved(Paper.PAGE, PAGE, "7F-KD.pdf"), GiveLeaflet(Paper.LEAFLET, PAGE), Kept(PAGE), Site(), Tablet(),
    Card((503.3, 317.4)), Crosses(), CheckDevice(), Latency(), Slide(), Slide((60.0, 70.0), 25.0),
    Lines(), Figures(LATENCY),
    DailyOffer(), DailyCrosses(), DailySlide(), Trend((("mean_mm", 4.0, 1.0), ("rate_hz", 118.0, None))),
    Tables(), Languages(), Accounts((ROW,)), Account(ROW), OwnAccount(), Backup(), CannotGoOn(),
    HelpComes(CannotGoOn(READY)),
)
