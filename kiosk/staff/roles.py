"""What the roles of an account do, in words, and the row they are chosen from."""

from dataclasses import dataclass
from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.visits.actions import Action
from kiosk.visits.staff import ROLES, Role
from kiosk.wording.staff_parts import Choices, Option

ROLE_WORDS: Final[Messages] = {
    "administer": N_("Gives visits"),
    "interpret": N_("Reads and signs pages"),
    "site_lead": N_("Leads the site"),
}


@dataclass(frozen=True)
class PickRole(Action):
    """The account has this role, or no longer."""

    role: Role


def roles_row(roles: frozenset[str], language: Language, hint: str) -> Choices:
    """The roles to choose from."""
    options = tuple(Option(PickRole(role), language.say_message(ROLE_WORDS[role]), role in roles)
                    for role in ROLES)
    return Choices(language.say("What this account does"), options, hint)


def roles_words(roles: frozenset[str], language: Language) -> str:
    """What an account with these roles does."""
    return ", ".join(language.say_message(ROLE_WORDS[role]) for role in ROLES if role in roles)
