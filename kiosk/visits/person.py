"""Who is tested: everything about a person is a version of their details; staff are named by role."""

from dataclasses import dataclass
from typing import Literal
from uuid import UUID

Sex = Literal["female", "male", "other", "not_asked"]
ToolHand = Literal["right", "left", "either", "not_known"]


@dataclass(frozen=True)
class Person:
    """A person's details as last known. birth_date is 'YYYY-MM-DD', 'YYYY-MM' or 'YYYY'."""

    id: UUID
    code: str
    birth_date: str
    tool_hand: ToolHand
    language: str
    sex: Sex = "not_asked"
    second_identifier: str = ""
    family_name: str | None = None
    given_name: str | None = None
    education_years: float | None = None
