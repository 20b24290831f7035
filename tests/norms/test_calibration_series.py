"""False alarms of a whole chart of K comparisons in people who have not changed, nominal 10 in 100."""

import numpy as np
import pytest

from norms.judge.joint_rule import outside
from norms.judge.series_rule import comparison_limits, widened_level
from tests.norms.drawn import studies

SEED, DRAWS = 20_261_128, 20_000


def families(n: int, r: float, level: float | None, widen: bool) -> list[float]:
    """% with any of K comparisons outside, K 1 to 5; a new study and person in every draw, gain .3."""
    rng = np.random.default_rng([SEED, n, int(10 * r)])
    study = studies(rng, DRAWS, n, r, gain=0.3)
    own = np.sqrt(r) * rng.standard_normal(DRAWS) if level is None else np.full(DRAWS, level)
    z = own[:, None] + np.sqrt(1 - r) * rng.standard_normal((DRAWS, 6))
    z[:, 1:] += 0.3
    rates = []
    for comparisons in range(1, 6):
        a = widened_level(comparisons) if widen else 0.90
        out = [
            outside(z[:, m], comparison_limits(z[:, :m], study, a)) != 0 for m in range(1, comparisons + 1)
        ]
        rates.append(100 * float(np.mean(np.any(out, axis=0))))
    return rates


@pytest.mark.parametrize("level", [None, -2.0], ids=["healthy", "true -2"])
@pytest.mark.parametrize("r", [0.5, 0.7, 0.9])
@pytest.mark.parametrize("n", [50, 100])
def test_a_chart_of_one_to_five_comparisons_raises_10_false_alarms_in_100_at_most(
    n: int, r: float, level: float | None
) -> None:
    rates = families(n, r, level, widen=True)
    print(f"n {n}, r {r}, true {level}, seed {SEED}, {DRAWS} draws (SE .2): {rates}")
    assert all(4 <= rate <= 10.5 for rate in rates)


def test_without_widening_the_chart_raises_far_more() -> None:
    # Norm rules H: 12 to 16 / 19 to 23 / 31 to 36 in 100 at K 2, 3, 5.
    rates = families(50, 0.7, None, widen=False)
    assert not all(4 <= rate <= 10.5 for rate in rates)
    for comparisons, lowest, highest in ((2, 12, 16), (3, 17, 23), (5, 27, 36)):
        assert lowest - 1 <= rates[comparisons - 1] <= highest + 1
