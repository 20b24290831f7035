"""One measured figure with its budget: what every benchmark gives, and how it is told."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """`value` in `unit` ("x" for a ratio in one run), against a `baseline`; at most `limit`, or at least."""

    what: str
    value: float
    unit: str
    limit: float
    baseline: str = ""
    at_least: bool = False

    @property
    def met(self) -> bool:
        """Whether it lies within its budget."""
        return self.value >= self.limit if self.at_least else self.value <= self.limit

    @property
    def budget(self) -> str:
        """As it stands in the table: "at most 2 x"."""
        return f"at {'least' if self.at_least else 'most'} {self.limit:g} {self.unit}"


def print_figures(figures: Iterable[Figure]) -> None:
    """A line each, as soon as it is measured."""
    for one in figures:
        against = f" of {one.baseline}" if one.baseline else ""
        print(f"{one.what}: {one.value:.3g} {one.unit}{against}; {one.budget}, "
              f"{'met' if one.met else 'MISSED'}", flush=True)
