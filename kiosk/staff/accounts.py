"""Accounts of staff: who there is, what each may do, and one's own passphrase and PIN.

Names and passphrases are typed at sign-in, which lies over these screens then.
"""

from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar, Final
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.lock import FirstPin
from kiosk.staff.rights import Right
from kiosk.staff.roles import PickRole, roles_row, roles_words
from kiosk.staff.screen import Effect, Moved, Result, Screen, SiteTile, StaffContext, back, site_head
from kiosk.staff.site import Site
from kiosk.visits.actions import Action
from kiosk.visits.staff import AtWork, StaffRow
from kiosk.wording.staff_parts import ChoiceView, Control, Head, ListRow, ListView, TextView

HOLD_S: Final = 0.6


class AccountAction(Action, Enum):
    """What may be done about accounts."""

    ADD = "add"
    CLOSE = "close"
    NEW_PASSPHRASE = "new_passphrase"
    NEW_PIN = "new_pin"


@dataclass(frozen=True)
class PickAccount(Action):
    """One of the accounts."""

    account_id: UUID


@dataclass(frozen=True)
class ListAccounts(Effect):
    """Look up every account of this kiosk."""


@dataclass(frozen=True)
class AddAccount(Effect):
    """Take the name and passphrase of a further account."""


@dataclass(frozen=True)
class ChangePassphrase(Effect):
    """Take another passphrase for the account at work."""


@dataclass(frozen=True)
class SetRoles(Effect):
    """Keep other roles for an account."""

    account_id: UUID
    roles: frozenset[str]


@dataclass(frozen=True)
class CloseAccount(Effect):
    """The account may no longer do anything."""

    account_id: UUID


@dataclass(frozen=True)
class AtWorkChanged(Result):
    """What the account at work may do after roles were changed."""

    at_work: AtWork

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Screens go by it from now on."""
        return Moved(screen, (), replace(context, at_work=self.at_work))


@dataclass(frozen=True)
class Accounts(Screen):
    """Every account of this kiosk."""

    rows: tuple[StaffRow, ...] = ()
    name: ClassVar[str] = "staff"
    needs: ClassVar[Right | None] = Right.LEAD_SITE
    on_return: ClassVar[Effect | None] = ListAccounts()

    def step(self, action: Action, context: StaffContext) -> Moved:
        """One is looked at, or a further one made."""
        match action:
            case StaffAction.BACK:
                return Moved(Site())
            case AccountAction.ADD:
                return self.stay(AddAccount())
            case PickAccount(account_id):
                chosen = [one for one in self.rows if one.id == account_id and one.active]
                return Moved(Account(chosen[0])) if chosen else self.stay()
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ListView:
        """The accounts with their names and what each does."""
        say = language.say
        rows = tuple(ListRow(PickAccount(one.id), (one.name, _does(one, language))) for one in self.rows)
        add = Control(AccountAction.ADD, language.say_in("button", "New account"), "main")
        return ListView(site_head(context, say("Staff"), language), (say("Account"), say("Does")), rows,
                        (back(language), add), self.note_in(language))


@dataclass(frozen=True)
class Account(Screen):
    """One account's roles."""

    account: StaffRow
    name: ClassVar[str] = "account"
    needs: ClassVar[Right | None] = Right.LEAD_SITE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Change the roles, keep them, or close the account."""
        account = self.account
        match action:
            case StaffAction.BACK:
                return self.stay(ListAccounts())
            case PickRole(role):
                return Moved(replace(self, account=replace(account, roles=account.roles ^ {role}), note=None))
            case StaffAction.NEXT if not account.roles:
                return self.noted("role_needed")
            case StaffAction.NEXT:
                return self.stay(SetRoles(account.id, account.roles))
            case AccountAction.CLOSE:
                return self.stay(CloseAccount(account.id))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ChoiceView:
        """What it does, and what closing means."""
        say, say_in, account = language.say, language.say_in, self.account
        controls = (back(language),
                    Control(AccountAction.CLOSE, say_in("button", "Close account"), hold_s=HOLD_S),
                    Control(StaffAction.NEXT, say_in("button", "Keep"), "main", bool(account.roles)))
        row = roles_row(account.roles, language,
                        say("A closed account signs in no more. What it did stays. Hold to close it."))
        return ChoiceView(Head(say("Account"), account.name), (row,), controls, self.note_in(language))


@dataclass(frozen=True)
class OwnAccount(Screen):
    """The account at work: its passphrase and PIN."""

    name: ClassVar[str] = "own"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Ask for another passphrase, or choose another PIN."""
        match action:
            case StaffAction.BACK:
                return Moved(Site())
            case AccountAction.NEW_PASSPHRASE:
                return self.stay(ChangePassphrase())
            case AccountAction.NEW_PIN:
                return Moved(FirstPin())
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> TextView:
        """What it does, and what passphrase and PIN are for."""
        say, say_in = language.say, language.say_in
        controls = (back(language), Control(AccountAction.NEW_PASSPHRASE, say_in("button", "New passphrase")),
                    Control(AccountAction.NEW_PIN, say_in("button", "New PIN")))
        return TextView(Head(say("My account"), context.at_work.name), (
            roles_words(context.at_work.roles, language),
            say("The passphrase opens the store. The PIN re-opens the screen while the store is open: for 15 "
                "minutes after the last touch, and until five wrong PINs.")),
            controls, self.note_in(language))


def _does(account: StaffRow, language: Language) -> str:
    return roles_words(account.roles, language) if account.active else language.say("closed")


TILE: Final = SiteTile(ListAccounts(), lambda context, language: (language.say("Staff"), ""))
OWN_TILE: Final = SiteTile(OwnAccount(), lambda context, language: (
    language.say("My account"), context.at_work.name), right=None)
