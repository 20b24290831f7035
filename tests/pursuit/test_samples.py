"""Touch samples are read-only, of one type and of one length."""

import numpy as np
import pytest

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.samples import Samples


def test_the_columns_of_samples_are_read_only_copies():
    t_s = np.array([0.0, 1.0])
    samples = Samples(t_s, [1, 2], [3, 4], [1, 0])
    t_s[0] = 9.0
    assert samples.t_s[0] == 0.0 and samples.contact.dtype == np.bool_
    with pytest.raises(ValueError, match="read-only"):
        samples.x_mm[0] = 5.0


def test_columns_of_different_lengths_are_refused_by_name():
    with pytest.raises(ValueError, match=r"equally long.*x_mm.*\(1,\)"):
        Samples([0.0, 1.0], [1.0], [3.0, 4.0], [True, True])


def test_an_observation_of_an_unknown_code_is_refused_with_the_codes_there_are():
    with pytest.raises(ValueError, match=r"must be one of talked.*got 'yawned'"):
        Observation("yawned")
