"""Values on the command line: what is out of bounds is wrong usage."""

import argparse
from collections.abc import Callable
from typing import Final

PAPERS: Final = ("A4", "Letter")


def positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"must be 1 or more, got {number}")
    return number


def number_in(low: float, high: float) -> Callable[[str], float]:
    """Reads a number inside these bounds; others (nan, inf too) are wrong usage."""

    def number(text: str) -> float:
        value = float(text)
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"must be a number from {low:g} to {high:g}, got {text}")
        return value

    return number


latency = number_in(0.0, 1000.0)
px_per_mm = number_in(1.0, 100.0)
