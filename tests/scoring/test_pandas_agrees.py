"""The same scores in plain pandas (tests/benchmarks/scores_in_pandas.py): the same numbers."""

import numpy as np
import pandas as pd
import pytest

from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.score import score_trial
from tests.benchmarks.scores_in_pandas import scores
from tests.scoring.hands import plan_of


@pytest.mark.parametrize(("block", "number"), [("steady", 2), ("brisk", 1), ("wander", 1)])
def test_plain_pandas_gives_the_same_numbers(block, number):
    plan, rng = plan_of(block, number=number), np.random.default_rng(6)
    samples = move(typical_hand(75, rng), plan, rng)
    kept = rng.random(samples.t_s.size) > 0.05
    frame = pd.DataFrame({"t_s": samples.t_s, "x_mm": samples.x_mm, "y_mm": samples.y_mm,
                          "contact": samples.contact.astype(int)})
    kept |= ~samples.contact | ~np.roll(samples.contact, 1) | ~np.roll(samples.contact, -1)
    frame = frame[kept].reset_index(drop=True)
    thinned = type(samples)(*(frame[name] for name in ("t_s", "x_mm", "y_mm")), frame["contact"] == 1)
    values = score_trial(TrialRecord(plan, thinned, TrialFacts())).values
    plain = scores(frame, plan.describe()["path"], plan.window_s)
    assert len(plain) == 4
    for name, value in plain.items():
        assert values[name].value == pytest.approx(value, rel=1e-6), name
