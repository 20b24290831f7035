"""Verification: whether a table from elsewhere fits local healthy people, and the signed statement of it.

Of each measure: how many of n local people lie outside the table's central 95 % (percentile 2.5 to 97.5),
and mean and SD of their z_star, which is 0 and 1 where the table fits. A statement in datapackage.json
(reference_table.verified) names measures, numbers and verdicts, who signed by role and when, the hashes of
the table's files and of the sample, and a hash over all of it. It holds only while all of that fits and the
numbers carry the verdicts.

verified    few enough lie outside, and mean and SD are shown to be equivalent to the table's
caution     few enough lie outside, but the people are too few to show that mean and SD are equivalent
not_used    too few people, too many outside, or mean or SD are shown to differ by more than the margin

References
----------
CLSI EP28-A3c (2010), section 11.2: a reference interval may be used where at most 2 of 20 local people lie
outside its central 95 %. For more people the limit is the lowest that refuses a table that fits no more often
than 2 of 20 does (7.5 in 100).
Schuirmann DJ (1987), Journal of Pharmacokinetics and Biopharmaceutics 15:657-680 (two one-sided tests).
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from norms.table.bridging_rule import LEVEL, Equivalence, RatioEquivalence, two_one_sided
from norms.table.datapackage import is_number
from norms.table.distributions import binomial_at_most, chi_square_below, chi_square_point
from norms.table.reasons import Fault
from norms.table.signed_statement import check_signer, faults_of, listed, seal_rules, text_of, with_digest

VERIFIED, CAUTION, NOT_USED = "verified", "caution", "not_used"
LEAST_PEOPLE, MOST_OUTSIDE_OF_20, SHARE_OUTSIDE = 20, 2, 0.05
OUTSIDE_Z = 1.959963984540054
MARGIN_MEAN, MARGIN_SD = 0.3, 1.25
AGAINST = ("too_few_people", "too_many_outside", "mean_differs", "sd_differs")
LEAST_SD = 1e-6
KEY = "verified"


@dataclass(frozen=True)
class LocalPeople:
    """Numbers of one measure from which everything is judged; mean and SD of z_star by the table."""

    n: int
    outside: int
    mean: float
    sd: float


@dataclass(frozen=True)
class Verification:
    """One measure judged: most people that may lie outside, both equivalences, and what stands against."""

    people: LocalPeople
    most_outside: int
    mean: Equivalence
    sd: RatioEquivalence
    verdict: str
    against: tuple[str, ...]


@dataclass(frozen=True)
class Verified:
    """One measure of a statement."""

    measure: str
    verdict: str
    people: LocalPeople


@dataclass(frozen=True)
class VerificationStatement:
    """The table judged on one panel and input by a local sample."""

    device_class: str
    input: str
    measures: tuple[Verified, ...]
    role: str
    date: str
    sample_sha256: str
    of: Mapping[str, str]


def most_outside(n: int) -> int:
    """Most of n people that may lie outside the central 95 %.

    >>> [most_outside(n) for n in (20, 40, 60, 120)]
    [2, 4, 6, 10]
    """
    refused = 1 - float(binomial_at_most(MOST_OUTSIDE_OF_20, 20, SHARE_OUTSIDE))
    return next(k for k in range(n + 1)
                if 1 - float(binomial_at_most(k, n, SHARE_OUTSIDE)) <= refused + 1e-12)


def sd_equivalence(n: int, sd: float, margin: float = MARGIN_SD) -> RatioEquivalence:
    """Two one-sided tests of a sample's SD against 1 / margin and margin: chi-square with n - 1.

    >>> found = sd_equivalence(100, 1.0)
    >>> [round(end, 3) for end in found.interval_90], round(found.p, 4)
    ([0.896, 1.134], 0.002)
    """
    df = n - 1
    squares = df * sd**2
    ends = (squares / float(chi_square_point(1 - LEVEL, df))) ** 0.5, \
        (squares / float(chi_square_point(LEVEL, df))) ** 0.5
    return RatioEquivalence(sd, margin, 1 - float(chi_square_below(squares * margin**2, df)),
                            float(chi_square_below(squares / margin**2, df)), ends)


def verify(people: LocalPeople) -> Verification:
    """Judge a measure by its numbers."""
    mean = two_one_sided(people.n, people.mean, people.sd, MARGIN_MEAN)
    sd = sd_equivalence(people.n, people.sd)
    most = most_outside(people.n)
    stands = (people.n < LEAST_PEOPLE, people.outside > most,
              mean.interval_90[0] > MARGIN_MEAN or mean.interval_90[1] < -MARGIN_MEAN,
              sd.interval_90[0] > MARGIN_SD or sd.interval_90[1] < 1 / MARGIN_SD)
    against = tuple(code for code, holds in zip(AGAINST, stands, strict=True) if holds)
    verdict = NOT_USED if against else VERIFIED if mean.shown and sd.shown else CAUTION
    return Verification(people, most, mean, sd, verdict, against)


def as_json(said: VerificationStatement) -> dict[str, object]:
    """As it stands in datapackage.json, with its own hash."""
    return with_digest(asdict(said))


def verifications_of(reference: Mapping[str, object]) -> tuple[VerificationStatement, ...]:
    """The statements of a table that has been read, all of which hold."""
    return tuple(_statement(one) for one in listed(reference, KEY))


def verification_faults(reference: Mapping[str, object], hashes: Mapping[str, str]) -> list[Fault]:
    """What is wrong with the statements of a table whose files have these hashes."""
    return faults_of(reference, KEY, lambda said: _broken(said, hashes))


def _broken(said: object, hashes: Mapping[str, str]) -> list[str]:
    try:
        statement = _statement(said)
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        return [f"must be as norms verify writes it ({type(error).__name__} {error})"]
    rules = {
        **seal_rules(said, statement.of, hashes),
        "must say no more than its numbers carry by the rule of today (norms verify signs anew)":
            any(one.verdict != verify(one.people).verdict for one in statement.measures),
        "must hold a measure": not statement.measures,
    }
    return [rule for rule, breaks in rules.items() if breaks]


def _statement(said: object) -> VerificationStatement:
    if not isinstance(said, dict):
        raise TypeError("an object is missing")
    check_signer(said["role"], said["input"], said["date"])
    return VerificationStatement(
        text_of(said["device_class"]), said["input"], tuple(_verified(one) for one in said["measures"]),
        said["role"], said["date"], text_of(said["sample_sha256"]),
        {str(name): str(of) for name, of in said["of"].items()})


def _verified(said: Mapping[str, object]) -> Verified:
    numbers = said["people"]
    if not isinstance(numbers, dict) or not all(map(is_number, numbers.values())):
        raise TypeError("people, must hold numbers")
    people = LocalPeople(**numbers)
    if not (people.n >= 2 and 0 <= people.outside <= people.n and people.sd >= LEAST_SD):
        raise ValueError("people, must be 2 or more who differ, of whom as many lie outside")
    return Verified(text_of(said["measure"]), text_of(said["verdict"]), people)
