"""The staff's features: the one list that a further staff screen is registered in.

SCREENS are all screens there are; TILES stand under Site, in this order. A further feature is one module
with its screens and, where the site lead opens it, a tile; DEVELOPERS.md walks through one.
"""

from typing import Final

from kiosk.staff import (
    accounts,
    amend,
    backup,
    concluding,
    daily,
    find,
    intake,
    languages,
    lock,
    new_person,
    observations,
    page,
    person_part,
    printing,
    ready,
    results,
    session,
    sign,
    site,
    tables,
    tablet,
    today,
    visits_had,
)
from kiosk.staff.screen import Screen, SiteTile

SCREENS: Final[tuple[type[Screen], ...]] = (
    lock.FirstPin, lock.FirstPinAgain, lock.Locked, lock.Unlock, lock.ClockBack,
    today.Today, find.Find, find.Found, find.LookAlike,
    new_person.NewCode, new_person.SecondIdentifier, new_person.BirthDate,
    intake.Intake, ready.Ready, ready.PowerLow, ready.HandOver,
    person_part.PersonPart, person_part.StaffChoices, person_part.Paused, person_part.LeftOpen,
    observations.Observations, concluding.Concluding,
    results.Results, results.Why, results.Replay, results.Compare, visits_had.VisitsHad,
    page.PageScreen, page.CopyLine, sign.Signer, sign.SignOff, amend.Amend,
    printing.Printing, printing.Printed, printing.NotPrinted, printing.Saved, printing.GiveLeaflet,
    printing.Kept,
    site.Site, tablet.Tablet, tablet.Card, tablet.Crosses, tablet.CheckDevice, tablet.Latency, tablet.Slide,
    tablet.Lines, tablet.Figures,
    daily.DailyOffer, daily.DailyCrosses, daily.DailySlide, daily.Trend,
    tables.Tables, languages.Languages, accounts.Accounts, accounts.Account, accounts.OwnAccount,
    backup.Backup, session.CannotGoOn, session.HelpComes,
)
TILES: Final[tuple[SiteTile, ...]] = (
    tablet.TILE, tables.TILE, backup.TILE, accounts.TILE, languages.TILE, accounts.OWN_TILE,
)
