"""What staff saw: codes attached to a visit or to one of its trials. No words here."""

from dataclasses import dataclass
from typing import Final
from uuid import UUID

CODES: Final = (
    "talked", "interrupted", "pain", "helped_by_touch", "told_where", "wrong_hand", "glove_or_nail",
    "glass_wet", "hands_as_asked_no", "not_understood",
)


@dataclass(frozen=True)
class Observation:
    """One observation: a code of CODES, the trial it belongs to (None: the visit), a note in own words."""

    code: str
    trial_id: UUID | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"observation code must be one of {', '.join(CODES)}, got {self.code!r}")
