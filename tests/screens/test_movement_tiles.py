"""The results' pictures of movement: one scale for all trials, every curve where its values put it."""

from dataclasses import replace

import numpy as np
import pytest

from kiosk.screens.screen import OwnAction, ShowView
from kiosk.screens.trial_tiles import both_ways, powers, spectrum_lines, speeds
from tests.screens.sample_page import controls, curves, page, trials

ACCENT_RED = 90  # the curve's red is below, those of ground and lines above


def test_along_and_across_share_one_scale_as_far_up_as_down():
    small, large = curves(), replace(curves(), across_mm=np.array([np.nan, -7.0, 2.0]))
    scale = both_ways([small, large])
    assert (scale.low, scale.high, scale.level) == (-7.0, 7.0, 0.0)
    assert both_ways([replace(small, along_mm=np.full(3, np.nan), across_mm=np.full(3, np.nan))]).high == 1.0


def test_a_single_dash_does_not_set_the_scale_of_speed():
    dash = np.full(960, 30.0)
    dash[5] = 4000.0
    assert speeds([replace(curves(), hand_mm_s=dash)]).high == pytest.approx(31.4)


def test_the_spectrum_rises_between_whole_powers_of_ten():
    scale, lines = powers([curves()]), spectrum_lines(curves())
    assert (scale.low, scale.high) == (-3.0, 1.0)
    peak = lines[0].x[np.argmax(lines[0].y - np.log10(2.0 * curves().f_hz**-2.0))]
    assert peak == pytest.approx(np.log(5.0 / 0.5) / np.log(20.0 / 0.5))
    assert len(lines[1].x) == np.sum((curves().f_hz >= 3.0) & (curves().f_hz <= 12.0))


def test_where_there_was_too_little_contact_no_spectrum_is_drawn():
    none = np.empty(0)
    bare = replace(curves(), f_hz=none, power=none, fitted_power=none)
    assert spectrum_lines(bare) == []
    assert powers([bare]) == powers([])


def sheet_of(room, english, given):
    room.stage.show_results(page(), english, controls(), given)
    room.stage.choose([one for one in room.stage.actions() if isinstance(one, ShowView)][-1])
    while not any(part.name == "curve tile" for part in room.stage.screen.parts):
        room.stage.choose(OwnAction.MORE_SHEETS)
    room.stage.draw()
    return [part.box for part in room.stage.screen.parts if part.name == "curve tile"]


def test_a_hand_ahead_is_drawn_above_the_middle_and_one_behind_below_it(room, english):
    ahead = [replace(one, curves=replace(one.curves, along_mm=np.full(960, height)))
             for one, height in zip(trials(), (4.0, -4.0), strict=False)]
    extent = replace(trials()[2], curves=replace(curves(), across_mm=np.full(960, 8.0)))
    tiles = sheet_of(room, english, (*ahead, extent))
    shot, panel = room.shot(), room.stage._panel
    for box, share in zip(tiles, (0.75, 0.25), strict=False):
        x, _ = panel.px(box.x, 0.0)
        rows = [row for row in range(int(panel.px(0, box.bottom)[1]) + 2, int(panel.px(0, box.top - 8.0)[1]))
                if shot[row, int(x), 0] < ACCENT_RED]
        plot = box.height - 7.0
        middle_mm = (np.mean(rows) - panel.px(0, box.bottom)[1]) / panel.calibration.px_per_mm_y
        assert middle_mm == pytest.approx(share * plot, abs=1.0)


def test_every_trial_has_its_tile_for_each_way_of_looking(room, english):
    seen = len(sheet_of(room, english, trials()))
    for _ in range(3):
        room.stage.choose(OwnAction.MORE_SHEETS)
        seen += sum(part.name == "curve tile" for part in room.stage.screen.parts)
    assert seen == 4 * len(trials())
