"""Accounts of staff, and what their roles allow. Details of an account are versions; the newest counts.

Roles: `administer` (run visits), `interpret` (read and sign pages), `site_lead` (accounts, backups, erasure,
server). There is no default account and no default passphrase: the first account is made at set-up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.column_types import Query, Row
from kiosk.storage.rows import Ledger, latest
from kiosk.visits.staff import ROLES, Role


@dataclass(frozen=True)
class Account:
    """One member of staff as last known."""

    id: UUID
    display_name: str
    roles: tuple[str, ...]
    active: bool = True


def add_account(ledger: Ledger, staff_id: UUID, display_name: str, roles: Sequence[str]) -> Account:
    """A new account, or new roles of a known one; Refused `role_unknown`, `role_not_held`."""
    ledger.allow("site_lead")
    unknown = [role for role in roles if role not in ROLES]
    if unknown or not roles:
        raise Refused("role_unknown", {"role": ", ".join(unknown), "known": ", ".join(ROLES)})
    return _keep(ledger, "add_account", Account(staff_id, display_name, tuple(sorted(set(roles)))))


def change_roles(ledger: Ledger, staff_id: UUID, roles: Sequence[str]) -> Account:
    """Other roles for a known account; Refused `role_unknown` or `last_site_lead`."""
    known = account(ledger, staff_id)
    if may(known, "site_lead") and "site_lead" not in roles:
        _check_another_leads(ledger, staff_id)
    return add_account(ledger, staff_id, known.display_name, roles)


def close_account(ledger: Ledger, staff_id: UUID) -> Account:
    """The account may no longer do anything; what it did stays. Refused `last_site_lead`."""
    ledger.allow("site_lead")
    known = account(ledger, staff_id)
    if may(known, "site_lead"):
        _check_another_leads(ledger, staff_id)
    return _keep(ledger, "close_account", Account(known.id, known.display_name, known.roles, active=False))


def _check_another_leads(ledger: Ledger, staff_id: UUID) -> None:
    if not any(one.id != staff_id and may(one, "site_lead") for one in accounts(ledger)):
        raise Refused("last_site_lead")


def account(ledger: Ledger, staff_id: UUID) -> Account:
    """The account as last known; Refused `unknown_account`."""
    row = ledger.one(_made_here(ledger, tables.staff_details.c.staff_id == staff_id))
    if row is None:
        raise Refused("unknown_account", {"staff": str(staff_id)})
    return _from(row)


def accounts(ledger: Ledger) -> tuple[Account, ...]:
    """Every account of this kiosk that holds a role, by name; closed ones too."""
    newest: dict[UUID, Account] = {}
    for row in reversed(ledger.all(_made_here(ledger))):
        newest[row["staff_id"]] = _from(row)
    held = [one for one in newest.values() if set(one.roles) & set(ROLES)]
    return tuple(sorted(held, key=lambda one: (one.display_name, str(one.id))))


def may(known: Account, role: Role) -> bool:
    """Whether an account is open and holds a role."""
    return known.active and role in known.roles


def require(known: Account, role: Role) -> None:
    """Refused `role_not_held` where the account may not."""
    if not may(known, role):
        raise Refused("role_not_held", {"role": role})


def require_open(known: Account) -> Account:
    """The account, Refused `account_closed` where it is closed."""
    if not known.active:
        raise Refused("account_closed")
    return known


def _keep(ledger: Ledger, action: str, known: Account) -> Account:
    details = tables.staff_details
    with ledger.writing() as writing:
        if not writing.exists(tables.staff, known.id):
            writing.add(tables.staff, {"id": known.id})
        of_staff = latest(details, details.c.staff_id == known.id).limit(1)
        before = writing.connection.execute(of_staff).mappings().first()
        row = writing.add(details, {
            "staff_id": known.id, "supersedes": None if before is None else before["id"],
            "display_name": known.display_name, "roles": " ".join(known.roles), "active": known.active})
        writing.note(action, details, row)
    return known


def _made_here(ledger: Ledger, *where: sa.ColumnElement[bool]) -> Query:
    """Details of this kiosk's accounts, the newest first; accounts of other kiosks have no rights here."""
    return latest(tables.staff_details, tables.staff_details.c.kiosk_id == ledger.kiosk_id, *where)


def _from(row: Row) -> Account:
    return Account(row["staff_id"], row["display_name"], tuple(row["roles"].split()), row["active"])


def staff_named(ledger: Ledger, display_name: str) -> Account:
    """The open account of this name; Refused `unknown_account`."""
    wanted = display_name.casefold()
    found = [one for one in accounts(ledger) if one.active and one.display_name.casefold() == wanted]
    if not found:
        raise Refused("unknown_account", {"staff": display_name})
    return found[0]
