"""Who is at work: a kiosk opened by a passphrase, taken over, put down when the key is dropped."""

from dataclasses import replace

from kiosk.app.dependencies import Kit
from kiosk.app.driver import Clinic
from kiosk.staff.accounts import Accounts, ListAccounts
from kiosk.staff.lock import Locked, PassphraseGiven
from kiosk.staff.screen import ShowToday


def in_trial(clinic: Clinic) -> bool:
    """Whether a trial runs, or one that has just ended is not kept yet: the key may not be dropped now."""
    return clinic.sitting is not None and clinic.sitting.in_trial


def put_down(clinic: Clinic) -> None:
    """The key is gone: a running trial stays in the journal as far as it came; the window is let go of."""
    if clinic.sitting is not None:
        clinic.sitting.put_down()
    clinic.sitting = None
    clinic.stage.close()


def unlocked(clinic: Clinic) -> None:
    """Someone has given a passphrase: no PIN is asked now; one is chosen where there is none."""
    if isinstance(clinic.state.screen, Locked):
        clinic.carry_out(ShowToday())


def come_back(clinic: Clinic, kit: Kit, *, passed: bool) -> None:
    """Back from sign-in over the open kiosk. passed: a passphrase was given there, perhaps another's."""
    other = kit.at_work.id != clinic.kit.at_work.id
    clinic.kit = kit
    clinic.know(replace(clinic.context, at_work=kit.at_work))
    if clinic.sitting is not None:
        clinic.sitting.archive = kit.archive
        clinic.sitting.show_again()
    clinic.stage.on_action = clinic.act
    clinic.draw_anew()
    if passed:
        clinic.on_result(PassphraseGiven(other, kit.pins.known()))
    elif isinstance(clinic.state.screen, Accounts):
        clinic.carry_out(ListAccounts())
