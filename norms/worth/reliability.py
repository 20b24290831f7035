"""How well a measurement repeats itself: correlation, ICC, error of measurement, limits of agreement.

Pairs go in (the same people measured twice, any unit or scale); every number comes with its 95 % interval.
Mean squares are those of the two-way layout people x visits: BMS between people, JMS between visits, EMS
what is left. ICC(2,1) counts a shift between visits as error (agreement), ICC(3,1) does not (consistency).

`read_repeats` reads the file of pairs: person, first, second, one line a person (CSV, any one unit). Its
faults are told all together.

References
----------
Shrout PE, Fleiss JL (1979), Psychological Bulletin 86:420-428.
McGraw KO, Wong SP (1996), Psychological Methods 1:30-46 (intervals).
Bland JM, Altman DG (1986), Lancet 327:307-310; (1999), Statistical Methods in Medical Research 8:135-160.
Satterthwaite FE (1946), Biometrics Bulletin 2:110-114 (interval of the error of agreement).
Koo TK, Li MY (2016), Journal of Chiropractic Medicine 15:155-163 (words, by the interval).
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.table.csv_reading import read_csv
from norms.table.distributions import normal_point, t_point
from norms.table.reasons import Fault, TableFaults
from norms.table.scale import Floats
from norms.table.schema import Column, CsvFile

LEAST_PAIRS = 4
WORDS = ((0.5, "poor"), (0.75, "moderate"), (0.9, "good"), (float("inf"), "excellent"))
AGREEMENT_WIDTH = 1.96


@dataclass(frozen=True)
class Estimate:
    """A number and its 95 % interval."""

    value: float
    low: float
    high: float


class MeanSquares(NamedTuple):
    """n people x k visits: between people, between visits, what is left; within people."""

    n: int
    k: int
    bms: float
    jms: float
    ems: float
    wms: float


@dataclass(frozen=True)
class Reliability:
    """Everything about n pairs; in the unit of the values but for r and the ICCs. `words`: by the interval of
    ICC(2,1), from its lower to its upper end. Limits of agreement: second minus first."""

    n: int
    mean_first: float
    mean_second: float
    sd_first: float
    sd_second: float
    r: Estimate
    icc_2_1: Estimate
    icc_3_1: Estimate
    words: str
    sem_consistency: Estimate
    sem_agreement: Estimate
    mdc_95_consistency: Estimate
    mdc_95_agreement: Estimate
    within_person_sd: float
    bias: Estimate
    sd_of_differences: float
    agreement_lower: Estimate
    agreement_upper: Estimate


def reliability(first: npt.ArrayLike, second: npt.ArrayLike) -> Reliability:
    """All of it from the two values of each person."""
    pairs = np.stack([np.asarray(first, float), np.asarray(second, float)], axis=1)
    _check(pairs)
    squares = mean_squares(pairs)
    icc_2_1 = icc_agreement(squares)
    consistency, agreement = sem_consistency(squares), sem_agreement(squares)
    bias, lower, upper = bland_altman(pairs[:, 1] - pairs[:, 0])
    means, sds = pairs.mean(axis=0), pairs.std(axis=0, ddof=1)
    return Reliability(
        n=len(pairs), mean_first=float(means[0]), mean_second=float(means[1]), sd_first=float(sds[0]),
        sd_second=float(sds[1]), r=fisher(float(np.corrcoef(pairs.T)[0, 1]), len(pairs)), icc_2_1=icc_2_1,
        icc_3_1=icc_consistency(squares), words=word_of(icc_2_1), sem_consistency=consistency,
        sem_agreement=agreement, mdc_95_consistency=_mdc(consistency), mdc_95_agreement=_mdc(agreement),
        within_person_sd=float(np.sqrt(squares.wms)), bias=bias,
        sd_of_differences=float(np.std(pairs[:, 1] - pairs[:, 0], ddof=1)), agreement_lower=lower,
        agreement_upper=upper)


def mean_squares(values: npt.ArrayLike) -> MeanSquares:
    """Mean squares of people (rows) x visits (columns).

    >>> squares = mean_squares([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9],
    ...                         [6, 2, 4, 7]])
    >>> [round(part, 2) for part in squares[2:]]
    [11.24, 32.49, 1.02, 6.26]
    """
    x = np.asarray(values, float)
    n, k = x.shape
    people, visits = x.mean(axis=1, keepdims=True), x.mean(axis=0, keepdims=True)
    left = x - people - visits + x.mean()
    return MeanSquares(n, k, float(k * people.var(ddof=1)), float(n * visits.var(ddof=1)),
                       float((left**2).sum() / ((n - 1) * (k - 1))),
                       float(((x - people) ** 2).sum() / (n * (k - 1))))


def icc_agreement(squares: MeanSquares) -> Estimate:
    """ICC(2,1) = (BMS - EMS) / (BMS + (k - 1) EMS + k (JMS - EMS) / n).

    >>> round(icc_agreement(MeanSquares(6, 4, 11.241667, 32.486111, 1.019444, 6.263889)).value, 4)
    0.2898
    """
    from scipy.special import fdtri
    n, k, bms, jms, ems, _ = squares
    value = (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n)
    a = k * value / (n * (1 - value))
    b = 1 + k * value * (n - 1) / (n * (1 - value))
    df = (a * jms + b * ems) ** 2 / ((a * jms) ** 2 / (k - 1) + (b * ems) ** 2 / ((n - 1) * (k - 1)))
    below, above = fdtri(n - 1, df, 0.975), fdtri(df, n - 1, 0.975)
    rest = k * jms + (k * n - k - n) * ems
    return Estimate(value, float(n * (bms - below * ems) / (below * rest + n * bms)),
                    float(n * (above * bms - ems) / (rest + n * above * bms)))


def icc_consistency(squares: MeanSquares) -> Estimate:
    """ICC(3,1) = (BMS - EMS) / (BMS + (k - 1) EMS).

    >>> round(icc_consistency(MeanSquares(6, 4, 11.241667, 32.486111, 1.019444, 6.263889)).value, 4)
    0.7148
    """
    from scipy.special import fdtri
    n, k, bms, _, ems, _ = squares
    f, df = bms / ems, (n - 1) * (k - 1)
    below, above = f / fdtri(n - 1, df, 0.975), f * fdtri(df, n - 1, 0.975)
    return Estimate((f - 1) / (f + k - 1), float((below - 1) / (below + k - 1)),
                    float((above - 1) / (above + k - 1)))


def sem_consistency(squares: MeanSquares) -> Estimate:
    """sqrt(EMS): a shift common to all people at the second visit is no error."""
    return _root(squares.ems, (squares.n - 1) * (squares.k - 1))


def sem_agreement(squares: MeanSquares) -> Estimate:
    """sqrt(EMS + (JMS - EMS) / n): a shift between visits counts as error."""
    n, k, _, jms, ems, _ = squares
    parts = ((n - 1) / n * ems, jms / n)
    df = sum(parts) ** 2 / (parts[0] ** 2 / ((n - 1) * (k - 1)) + parts[1] ** 2 / (k - 1))
    return _root(sum(parts), df)


def bland_altman(differences: npt.ArrayLike, width: float = AGREEMENT_WIDTH) -> tuple[Estimate, ...]:
    """Bias, lower and upper limit of agreement (bias -+ width SD), each with its interval (t, n - 1).

    SE of a limit = SD sqrt(1/n + width^2 / (2 (n - 1))).
    """
    d = np.asarray(differences, float)
    n, bias, sd = len(d), float(d.mean()), float(d.std(ddof=1))
    t = float(t_point(0.975, n - 1))
    of_bias, of_limit = (t * sd * (1 / n + w**2 / (2 * (n - 1))) ** 0.5 for w in (0.0, width))
    return tuple(Estimate(at, at - reach, at + reach) for at, reach in (
        (bias, of_bias), (bias - width * sd, of_limit), (bias + width * sd, of_limit)))


def fisher(r: float, n: int) -> Estimate:
    """95 % interval of a correlation by Fisher's z.

    >>> found = fisher(0.8, 50)
    >>> round(found.low, 4), round(found.high, 4)
    (0.6711, 0.882)
    """
    reach = float(normal_point(0.975)) / (n - 3) ** 0.5
    at = float(np.arctanh(r)) if abs(r) < 1 else float(np.copysign(np.inf, r))
    return Estimate(r, float(np.tanh(at - reach)), float(np.tanh(at + reach)))


def averaged(r: float, k: int) -> float:
    """Reliability of the mean of k trials: k r / (1 + (k - 1) r) (Spearman 1910, Brown 1910).

    >>> round(averaged(0.7, 3), 3)
    0.875
    """
    return k * r / (1 + (k - 1) * r)


def word_of(icc: Estimate) -> str:
    """The words of Koo & Li for the interval: one word, or from the lower end's to the upper end's.

    >>> word_of(Estimate(0.8, 0.55, 0.92))
    'moderate to excellent'
    """
    low, high = (next(word for top, word in WORDS if end < top or top == float("inf"))
                 for end in (icc.low, icc.high))
    return low if low == high else f"{low} to {high}"


def _check(pairs: Floats) -> None:
    if len(pairs) < LEAST_PAIRS:
        raise ValueError(f"pairs, must be {LEAST_PAIRS} or more, {len(pairs)}")
    if not np.all(np.isfinite(pairs)):
        raise ValueError("pairs, must be finite numbers, not a number")
    if not np.all(np.ptp(pairs, axis=0) > 0):
        raise ValueError("pairs, must differ between people at each visit, all the same")
    if not np.ptp(pairs[:, 1] - pairs[:, 0]) > 0:
        raise ValueError("differences, must not be the same in all people, all the same")


def _root(square: float, df: float) -> Estimate:
    """Root of a mean square; its interval by chi-square."""
    from scipy.special import chdtri
    high, low = (float(np.sqrt(square * df / chdtri(df, above))) for above in (0.975, 0.025))
    return Estimate(square**0.5, low, high)


def _mdc(sem: Estimate) -> Estimate:
    """1.96 sqrt(2) SEM, the interval likewise."""
    factor = float(normal_point(0.975)) * 2**0.5
    return Estimate(factor * sem.value, factor * sem.low, factor * sem.high)


REPEATS = CsvFile("pairs", (Column("person", "string"), Column("first", "number", minimum=-1e9, maximum=1e9),
                            Column("second", "number", minimum=-1e9, maximum=1e9)), ("person",))


class Repeats(NamedTuple):
    """First and second value of each person, in the order of the file."""

    first: Floats
    second: Floats


def read_repeats(name: str, data: bytes) -> Repeats:
    """Read a file of pairs; raises TableFaults with all that is wrong."""
    faults: list[Fault] = []
    rows = read_csv(REPEATS, data, faults)
    if not faults:
        pairs = np.array([(row.number_of("first"), row.number_of("second")) for row in rows])
        faults += _unfit(pairs.reshape(-1, 2))
    if faults:
        raise TableFaults([Fault(name, one.row, one.column, one.rule, one.value) for one in faults])
    return Repeats(pairs[:, 0], pairs[:, 1])


def _unfit(pairs: Floats) -> list[Fault]:
    if len(pairs) < LEAST_PAIRS:
        return [Fault("pairs", None, None, f"must hold {LEAST_PAIRS} persons or more", len(pairs))]
    return [Fault("pairs", None, what, "must differ between people", float(values[0]))
            for what, values in (("first", pairs[:, 0]), ("second", pairs[:, 1]),
                                 ("second - first", pairs[:, 1] - pairs[:, 0]))
            if not np.ptp(values) > 1e-9 * np.abs(pairs).max()]
