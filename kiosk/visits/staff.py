"""Who is at work: an account of staff and its roles. What a role may do stands in kiosk.staff.rights.

administer: gives visits. interpret: reads results, signs and amends. site_lead: staff, tables, tablet,
backups, log and what is sent out.
"""

from dataclasses import dataclass
from typing import Final, Literal
from uuid import UUID

Role = Literal["administer", "interpret", "site_lead"]
ROLES: Final[tuple[Role, ...]] = ("administer", "interpret", "site_lead")


@dataclass(frozen=True)
class AtWork:
    """The account at work; without one (demo, training, in memory) nothing is kept from anybody."""

    id: UUID | None = None
    name: str = ""
    roles: frozenset[str] = frozenset(ROLES)

    def may(self, role: Role) -> bool:
        """Whether the account holds a role."""
        return role in self.roles


@dataclass(frozen=True)
class StaffRow:
    """One account as the site lead sees it."""

    id: UUID
    name: str
    roles: frozenset[str]
    active: bool = True
