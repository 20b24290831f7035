"""Own rows for women and men: one additive term in the mean, the same curve and SD for both.

They are made only where both are floor_n people or more, the term is sure, and only for the ages at which
they are as good as floor_n people; everybody else, and every other age, is read by the rows of any sex.
"""

from dataclasses import replace

import numpy as np
from numpy.random import Generator

from norms.build.age_rows import AgeRows, Making, rows_of_curve
from norms.build.bootstrap import refits_of_people
from norms.build.curve_fit import Curve, curve_of_people
from norms.build.fitting import fit_people
from norms.build.sample import SEXES, People
from norms.table.scale import Floats
from norms.table.table import Measure

SURE_T = 2.58
OWN_SEXES = ("female", "male")


def sexes_differ(people: People, z: Floats, making: Making) -> bool:
    """Whether z of women and men surely differ, and both are enough people."""
    women, men = (z[people.sex == SEXES.index(sex)] for sex in OWN_SEXES)
    if min(len(women), len(men)) < making.floor_n:
        return False
    se = np.sqrt(women.var(ddof=1) / len(women) + men.var(ddof=1) / len(men))
    return bool(abs(men.mean() - women.mean()) > SURE_T * se)


def own_rows(measure: Measure, people: People, making: Making, rng: Generator) -> list[AgeRows]:
    """Rows for women and men, by one additive term; none where refits leave it unsure."""
    known = people.of((people.sex == SEXES.index("female")) | (people.sex == SEXES.index("male")))
    beside = (known.sex == SEXES.index("male"))[:, None] - 0.5
    counts = [int((beside[:, 0] < 0).sum()), int((beside[:, 0] > 0).sum())]
    plain = curve_of_people(known.age_years, known.scaled)
    x = np.concatenate([plain.shape.mean.at(known.age_years), beside], axis=1)
    s = plain.shape.log_sd.at(known.age_years)
    curve = Curve(plain.shape, fit_people(x, s, known.scaled, np.ones((1, len(x)))))
    refits = refits_of_people(curve, known.age_years, known.scaled, rng, making.refits, beside)
    if refits is None or abs(curve.fits[0][0, -1]) < SURE_T * refits.fits[0][:, -1].std(ddof=1):
        return []
    made = [
        rows_of_curve(measure, sex, known.age_years, curve, refits, side, count)
        for sex, side, count in zip(OWN_SEXES, (-0.5, 0.5), counts, strict=True)
    ]
    held = [_held(rows, making.floor_n) for rows in made]
    return [rows for rows in held if rows is not None] if all(rows is not None for rows in held) else []


def _held(rows: AgeRows, floor_n: int) -> AgeRows | None:
    """The longest run of rows that reach the floor."""
    enough = rows.n_mean >= floor_n if rows.n_mean is not None else np.zeros(len(rows.mean), bool)
    if not enough.any():
        return None
    first, last = int(np.argmax(enough)), len(enough) - int(np.argmax(enough[::-1]))
    if not enough[first:last].all():
        return None
    kept = slice(first, last)
    return replace(
        rows,
        edges=rows.edges[first : last + 1],
        n=rows.n[kept],
        mean=rows.mean[kept],
        sd=rows.sd[kept],
        n_mean=None if rows.n_mean is None else rows.n_mean[kept],
        df_sd=None if rows.df_sd is None else rows.df_sd[kept],
    )
