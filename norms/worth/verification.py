"""Verification of a table by local healthy people: their places in it, the verdicts, the signed statement.

Signing changes datapackage.json only, and with it the table's own hash. A new statement for the same panel
and input takes the place of the old one. A verdict of not_used is signed too: that a table does not fit here
is worth knowing.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from norms.judge.lookup import ByHand
from norms.judge.standing import Standing, standing
from norms.table.bridging_rule import LEVEL
from norms.table.datapackage import hash_of, with_reference
from norms.table.distributions import binomial_at_most, chi_square_below, chi_square_point, normal_below
from norms.table.folder import folder_bytes, read_files, write_folder
from norms.table.reasons import Fault, TableFaults
from norms.table.schema import CSV_FILES, PACKAGE
from norms.table.table import Table
from norms.table.verification import (
    LEAST_SD,
    MARGIN_MEAN,
    MARGIN_SD,
    NOT_USED,
    OUTSIDE_Z,
    LocalPeople,
    Verification,
    VerificationStatement,
    Verified,
    as_json,
    most_outside,
    verifications_of,
    verify,
)
from norms.worth.bridging import power


class LocalScore(NamedTuple):
    """One score of one local person, in the measure's unit."""

    measure: str
    value: float
    age_years: float
    sex: str


@dataclass(frozen=True)
class LocalVerification:
    """Each measure judged, and how many scores were left out for which reason (codes of refusals)."""

    device_class: str
    input: str
    measures: Mapping[str, Verification]
    left_out: Mapping[str, int]
    sample_sha256: str

    @property
    def usable(self) -> bool:
        """Whether any measure may be used."""
        return any(one.verdict != NOT_USED for one in self.measures.values())


class Power(NamedTuple):
    """Of 100 samples of n people whose true mean lies `shift` SD off: how many pass each rule."""

    n: int
    shift: float
    count_passes: float
    mean_equivalent: float
    sd_equivalent: float


def verify_table(table: Table, device_class: str, scores: Iterable[LocalScore],
                 sample_sha256: str) -> LocalVerification:
    """Judge each measure; raises TableFaults where no person is answered, or all are alike."""
    z: dict[str, list[float]] = {}
    left_out: Counter[str] = Counter()
    for score in scores:
        person = ByHand(score.age_years, score.sex, device_class)
        found = standing(table, score.measure, score.value, person)
        if isinstance(found, Standing):
            z.setdefault(score.measure, []).append(found.z_star)
        else:
            left_out[found.code] += 1
    told = ", ".join(f"{count} {code}" for code, count in left_out.items()) or None
    faults = [] if z else [Fault("sample", None, None, "must hold people whom the table answers", told)]
    faults += [Fault("sample", None, name, "must differ between two people or more", len(of))
               for name, of in z.items() if len(of) < 2 or np.std(of, ddof=1) < LEAST_SD]
    if faults:
        raise TableFaults(faults)
    judged = {name: verify(_people(np.array(of))) for name, of in z.items()}
    return LocalVerification(device_class, table.input, judged, left_out, sample_sha256)


def sign_verification(folder: Path, found: LocalVerification, role: str, date: str) -> VerificationStatement:
    """Write the statement into the folder; `date` is a day YYYY-MM-DD."""
    files = folder_bytes(folder)
    table = read_files(files)
    of = {name: hash_of(data) for name, data in files.items() if name in CSV_FILES}
    measures = tuple(Verified(name, one.verdict, one.people) for name, one in found.measures.items())
    said = VerificationStatement(found.device_class, found.input, measures, role, date,
                                 found.sample_sha256, of)
    kept = [one for one in verifications_of(table.about)
            if (one.device_class, one.input) != (said.device_class, said.input)]
    described = with_reference(files[PACKAGE], "verified", [as_json(one) for one in [*kept, said]])
    read_files({**files, PACKAGE: described})
    write_folder(folder, {PACKAGE: described})
    return said


def power_of_verification(n: int, shift: float) -> Power:
    """How often each rule is passed by n people whose true mean lies `shift` SD off, of the same SD.

    >>> fits, shifted = power_of_verification(20, 0.0), power_of_verification(20, 0.5)
    >>> round(fits.count_passes, 1), round(shifted.count_passes, 1)
    (92.5, 79.3)
    """
    outside = float(normal_below(-OUTSIDE_Z - shift) + normal_below(-OUTSIDE_Z + shift))
    df = n - 1
    low, high = float(chi_square_point(1 - LEVEL, df)) / MARGIN_SD**2, \
        float(chi_square_point(LEVEL, df)) * MARGIN_SD**2
    narrow = max(0.0, float(chi_square_below(high, df) - chi_square_below(low, df))) if high > low else 0.0
    return Power(n, shift, 100 * float(binomial_at_most(most_outside(n), n, outside)),
                 100 * power(n**-0.5, df, shift, MARGIN_MEAN), 100 * narrow)


def _people(z: np.ndarray) -> LocalPeople:
    outside = int((np.abs(z) > OUTSIDE_Z).sum())
    return LocalPeople(len(z), outside, float(z.mean()), float(z.std(ddof=1)))
