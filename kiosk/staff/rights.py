"""What an account may do, by its roles. The store refuses the same (kiosk.storage).

A screen, or an action on it, names the right it needs; which roles hold a right stands here alone. What an
account may not do is not offered; where it is asked for all the same, the screen says whose it is.

Decisions page-11, security-5.
"""

from collections.abc import Mapping
from enum import Enum
from typing import Final

from kiosk.visits.staff import AtWork, Role


class Right(Enum):
    """Something that not every account may do."""

    GIVE_VISITS = "give_visits"
    FIND_PEOPLE = "find_people"
    READ_RESULTS = "read_results"
    LEAD_SITE = "lead_site"


HOLDERS: Final[Mapping[Right, tuple[Role, ...]]] = {
    Right.GIVE_VISITS: ("administer",),
    Right.FIND_PEOPLE: ("administer", "interpret"),  # to give a visit, or to read one they have had
    Right.READ_RESULTS: ("interpret",),
    Right.LEAD_SITE: ("site_lead",),
}


def may(at_work: AtWork, right: Right | None) -> bool:
    """Whether the account holds a role that has the right; None is everybody's."""
    return right is None or any(role in at_work.roles for role in HOLDERS[right])


def refusal_code(right: Right) -> str:
    """Why an action is not carried out for an account without the right: whose it is."""
    return f"needs_{HOLDERS[right][0]}"
