"""Rows of the profile in scripts whose letters reach far down, and on narrow scales: nothing touches."""

from itertools import pairwise

import numpy as np
import pytest

from kiosk.demo.picture_day import staff_shots
from kiosk.i18n.language import load_language
from kiosk.screens.screen import ShowView
from kiosk.screens.theme import READ

LABELS = 4  # the column of labels: the word, and on a line of its own the English one in brackets


@pytest.fixture(scope="module")
def profiles(tmp_path_factory):
    """The results of the simulated day by language."""
    languages = [load_language(tag) for tag in ("en", "de", "ar", "hi")]
    shots = staff_shots(languages, tmp_path_factory.mktemp("pages"))
    return {shot.language.tag: shot for shot in shots if shot.name == "results"}


def part(room, shot, name):
    """A part of the profile, drawn."""
    shot.put(room.stage)
    room.stage.choose(ShowView(1))
    room.stage.draw()
    return next(one for one in room.stage.screen.parts if one.name == name)


def blank_rows(room, table, row):
    """Whether each row of pixels of a label is without ink, from its lowest ink to its highest."""
    panel = room.stage.screen.scene.panel
    left, width = table.places[LABELS]
    middle = table.row_y(row)
    x0, y0 = panel.px(left, middle - table.row_mm / 2 + 0.4)
    x1, y1 = panel.px(left + width, middle + table.row_mm / 2 - 0.4)
    area = room.shot()[round(y0):round(y1), round(x0):round(x1)]
    ink = (abs(area - area[0, 0]).sum(axis=2) > 60).any(axis=1)
    inked = np.flatnonzero(ink)
    return ~ink[inked[0]:inked[-1] + 1]


@pytest.mark.parametrize("tag", ["ar", "hi"])
def test_two_lines_of_a_label_stand_clear_of_each_other(room, profiles, tag):
    table = part(room, profiles[tag], "table")
    blank = blank_rows(room, table, 1)
    third = len(blank) // 3
    assert len(blank) > 40  # two lines
    assert blank[third:-third].any()


@pytest.mark.parametrize(("tag", "step"), [("en", 1), ("de", 2)])
def test_numbers_below_the_scale_stand_apart(room, profiles, tag, step):
    scale = part(room, profiles[tag], "scale")
    letters, ticks = scale.scene.painter.letters, profiles[tag].results[0].profile.ticks
    told = {tick.text: tick.z for tick in ticks}
    lowest = min(box.bottom for box in scale.words)
    shown = sorted((box for box in scale.words if box.bottom < lowest + 1.0), key=lambda box: box.left)
    assert len(shown) == sum(z % step == 0 for z in told.values())
    widest = max(letters.width_mm(text, READ) for text in told)
    assert all(after.x - before.x >= widest + 2.0 for before, after in pairwise(shown))
