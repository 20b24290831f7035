"""Screens shown again and again do not grow: visits with a language switch each, memory after warm-up."""

import os
from pathlib import Path

import pytest

from tests.screens.sample_languages import arabic, lengthened


def resident_mb():
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.long
def test_twenty_visits_with_a_language_switch_each_grow_less_than_5_mb(room, steps, english):
    languages, warm = (english, lengthened(), arabic()), 0.0
    for visit in range(26):
        for step in steps["right"].values():
            room.stage.show(step, languages[visit % 3])
            room.clock.pass_time(0.5)
            room.stage.draw()
        if visit == 5:
            warm = resident_mb()
    assert resident_mb() - warm < 5.0
