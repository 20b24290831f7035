"""Simulated retest studies, people and norm samples for the calibration tests: a new one in every draw.

Scores are z with mean 0 and SD 1 in the reference population; r is the retest correlation. Studies are made
from people, not from the sampling law of their summaries.
"""

import numpy as np

from norms.judge.joint_rule import Study

SCENARIOS = (("healthy", 0.0), ("observed", -2.0), ("true", -1.0), ("true", -2.0), ("true", -3.0))
CORRELATIONS = np.array(  # of six measures at one visit: of the size of a motor battery, invented
    [
        [1.00, 0.65, 0.35, 0.30, 0.55, 0.60],
        [0.65, 1.00, 0.40, 0.35, 0.60, 0.50],
        [0.35, 0.40, 1.00, 0.55, 0.30, 0.25],
        [0.30, 0.35, 0.55, 1.00, 0.40, 0.25],
        [0.55, 0.60, 0.30, 0.40, 1.00, 0.45],
        [0.60, 0.50, 0.25, 0.25, 0.45, 1.00],
    ]
)
OF_CHANGE = 0.45 * CORRELATIONS + 0.55 * np.eye(6)


def summary(first: np.ndarray, second: np.ndarray) -> Study:
    """Each draw's study from its own people (people along axis 1)."""
    n = first.shape[1]
    away = [part - part.mean(axis=1, keepdims=True) for part in (first, second)]
    sd = [np.sqrt((part**2).sum(axis=1) / (n - 1)) for part in away]
    r = (away[0] * away[1]).sum(axis=1) / ((n - 1) * sd[0] * sd[1])
    return Study(n, r, first.mean(axis=1), sd[0], second.mean(axis=1), sd[1])


def studies(rng: np.random.Generator, draws: int, n: int, r: float, gain: float = 0.0) -> Study:
    """Summaries of `draws` studies of n people each."""
    first = rng.standard_normal((draws, n))
    second = gain + r * first + np.sqrt(1 - r**2) * rng.standard_normal((draws, n))
    return summary(first, second)


def person(
    rng: np.random.Generator, draws: int, r: float, scenario: tuple[str, float], gain: float = 0.0
) -> tuple[np.ndarray, np.ndarray]:
    """An unchanged person in every draw: of the population, seen at a first score, or of a true score."""
    kind, at = scenario
    noise = rng.standard_normal((2, draws))
    if kind == "true":
        first, second = at + np.sqrt(1 - r) * noise
        return first, second + gain
    first = noise[0] if kind == "healthy" else np.full(draws, at)
    return first, gain + r * first + np.sqrt(1 - r**2) * noise[1]


def norm_samples(rng: np.random.Generator, draws: int, n: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean and SD of `draws` samples of n people."""
    people = rng.standard_normal((draws, n))
    return people.mean(axis=1), people.std(axis=1, ddof=1)
