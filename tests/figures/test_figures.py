"""Profile scale, change chart and path pictures as they are laid out for page and screen alike."""

from itertools import pairwise

import numpy as np
import pytest

from kiosk.figures import change_chart, path_picture, profile_scale
from kiosk.figures.change_chart import Plot
from kiosk.figures.marks import Area, Box, Curve, Disc, Hatch, Line, Ring, Triangle, Words, unbroken
from kiosk.figures.profile_scale import USUAL_Z, ProfileScale, change_mark
from kiosk.wording.page_parts import ChangeChart, ChartPoint, MeasureRow, PathFigure, ScaleWords, Tick
from norms import LABEL_EDGES_Z

MEDIA = ("PAPER", "SCREEN")
TICKS = tuple(Tick(float(z), str(z)) for z in range(-3, 3))


class TwoWide:
    """Letters two millimetres wide each."""

    def width_mm(self, text, strong=False):
        return 2.0 * len(text)

    def lines(self, text, width_mm):
        lines = [""]
        for word in text.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.width_mm(longer) > width_mm:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines


def row(z_star, interval_z=None, z_before=None, short_reason=""):
    """A row whose own interval is given; that of the reference group is half as wide about z_star."""
    group = None if interval_z is None else tuple((z_star + z) / 2 for z in interval_z)
    return MeasureRow("m", "", "", "", "", "", "", "", z_star, group, z_before, own_z=interval_z, z_text="z",
                      short_reason=short_reason)


def scale(medium, left=0.0, right=56.0):
    return ProfileScale(left, right, getattr(profile_scale, medium))


def of(kind, marks):
    return [mark for mark in marks if isinstance(mark, kind)]


# The scale


# Edges where the uniform labels change when 100 + 15 z is rounded half away from zero; the standard scores
# are those of Guilmette et al. (2020): 70, 80, 90, 110, 120, 130 begin a new row.
def test_the_dashed_edges_lie_where_the_labels_change():
    assert pytest.approx((-2.0333, -1.3667, -0.7, 0.6333, 1.3, 1.9667), abs=5e-5) == LABEL_EDGES_Z
    for edge in LABEL_EDGES_Z:
        below, above = (int(np.floor(100 + 15 * (edge + shift) + 0.5)) for shift in (-0.001, 0.001))
        assert above == below + 1


@pytest.mark.parametrize("medium", MEDIA)
def test_screen_and_page_dash_the_same_edges(medium):
    dashed = [line for line in of(Line, scale(medium).ground(10.0, 0.0)) if line.dash_mm]
    assert [line.start[0] / 10.0 - 3.2 for line in dashed] == pytest.approx(LABEL_EDGES_Z)


def test_the_usual_band_holds_eighty_of_a_hundred():
    assert pytest.approx(1.2816, abs=5e-5) == USUAL_Z  # standard normal table, 90th percentile


@pytest.mark.parametrize("medium", MEDIA)
def test_z_rises_evenly_to_the_right_from_the_scale_s_left_end_to_its_right_one(medium):
    steps = np.diff([scale(medium).x(z) for z in (-3, -2, -1, 0, 1, 2)])
    assert np.allclose(steps, 10.0)
    assert scale(medium).x(-3.2) == 0.0 and scale(medium).x(2.4) == pytest.approx(56.0)


@pytest.mark.parametrize("medium", MEDIA)
def test_dot_ring_and_whisker_stand_at_their_z(medium):
    marks = scale(medium).row(row(-1.0, (-1.5, -0.4), z_before=0.5), 7.0, TwoWide())
    (ring,), dot = of(Ring, marks), of(Disc, marks)[-1]
    whisker, *ends = of(Line, marks)
    assert dot.centre == pytest.approx((22.0, 7.0)) and dot.role == "accent"
    assert ring.centre[0] == pytest.approx(37.0) and ring.centre[1] < 7.0
    assert (whisker.start[0], whisker.end[0]) == pytest.approx((17.0, 28.0))
    assert [end.start[0] for end in ends] == pytest.approx([17.0, 28.0])


@pytest.mark.parametrize("medium", MEDIA)
def test_the_reference_group_s_interval_is_a_band_below_the_dot_and_ends_with_the_scale(medium):
    marks = scale(medium).row(row(-1.0, (-1.5, -0.4)), 7.0, TwoWide())
    (band,) = of(Area, marks)
    assert (band.box.left, band.box.right) == pytest.approx((19.5, 25.0))
    assert marks.index(band) < marks.index(of(Line, marks)[0])
    (cut,) = of(Area, scale(medium).row(row(-3.0, (-5.0, -2.0)), 0.0, TwoWide()))
    assert cut.box.left == 0.0


@pytest.mark.parametrize("medium", MEDIA)
def test_a_low_score_s_mark_is_a_square_that_points_nowhere(medium):
    mark = profile_scale.low_mark((3.0, 2.0), getattr(profile_scale, medium))
    assert mark.box.width == pytest.approx(mark.box.height) and mark.role == "text"
    assert (mark.box.left + mark.box.right) / 2 == pytest.approx(3.0)


@pytest.mark.parametrize("medium", MEDIA)
def test_an_interval_that_goes_on_beyond_the_scale_has_no_bar_there(medium):
    whisker, *ends = of(Line, scale(medium).row(row(-2.9, (-3.9, -2.2)), 0.0, TwoWide()))
    assert whisker.start[0] == 0.0
    assert [end.start[0] for end in ends] == pytest.approx([10.0])


@pytest.mark.parametrize("medium", MEDIA)
@pytest.mark.parametrize(("z", "interval", "tip"), [(-4.2, (-5.5, -2.2), 0.0), (3.0, (1.4, 4.0), 56.0)])
def test_a_z_beyond_the_scale_is_a_triangle_whose_number_is_clear_of_the_whisker(medium, z, interval, tip):
    marks = scale(medium).row(row(z, interval), 0.0, TwoWide())
    (triangle,), (number,), whisker = of(Triangle, marks), of(Words, marks), of(Line, marks)[0]
    assert not of(Disc, marks)
    assert triangle.centre[0] + triangle.corners[0][0] == pytest.approx(tip, abs=0.3)
    if z < 0:
        assert number.align == "left" and number.x > whisker.end[0]
    else:
        assert number.align == "right" and number.x < whisker.start[0]


@pytest.mark.parametrize("medium", MEDIA)
def test_without_a_standing_the_reason_stands_on_the_scale_in_as_many_lines_as_it_needs(medium):
    marks = scale(medium).row(row(None, short_reason="not compared"), 0.0, TwoWide())
    assert [mark.text for mark in marks] == ["not compared"]
    narrow = scale(medium, 0.0, 20.0).row(row(None, short_reason="not compared"), 0.0, TwoWide())
    assert [(mark.text, mark.x) for mark in narrow] == [("not", 10.0), ("compared", 10.0)]
    assert narrow[0].baseline > narrow[1].baseline


@pytest.mark.parametrize("medium", MEDIA)
def test_numbers_that_would_touch_are_every_second_one_about_zero(medium):
    wide, close = (scale(medium, 0.0, right).ticks(TICKS, 0.0, TwoWide()) for right in (56.0, 20.0))
    assert [mark.text for mark in wide] == ["-3", "-2", "-1", "0", "1", "2"]
    assert [mark.text for mark in close] == ["-2", "0", "2"]


@pytest.mark.parametrize("medium", MEDIA)
def test_the_words_above_take_as_many_lines_as_keep_them_apart(medium):
    words = ScaleWords("", "", "", "poorer", "usual", "better", "", "")
    found = [scale(medium, 0.0, right).head_lines(words, TwoWide()) for right in (60.0, 30.0, 20.0)]
    assert found == [1, 2, 3]
    poorer, usual, better = scale(medium, 0.0, 20.0).heads(words, 0.0, 20.0, 3)
    assert usual.baseline < better.baseline < poorer.baseline


def test_poorer_points_down_and_better_up():
    for medium in (profile_scale.PAPER, profile_scale.SCREEN):
        for change, way in (("poorer", -1), ("better", 1)):
            tip, one, other = change_mark(change, (0.0, 0.0), medium).corners
            assert tip[1] * way > 0 > one[1] * way and one[1] == other[1] and one[0] == -other[0]
    with pytest.raises(ValueError, match="change, must be one of poorer, better, got 'ahead'"):
        change_mark("ahead", (0.0, 0.0), profile_scale.PAPER)


# The chart


def chart(days, z=-1.0, limits=None):
    points = tuple(ChartPoint(float(day), z, f"day {day}") for day in days)
    return ChangeChart("", TICKS, points, limits, "")


@pytest.mark.parametrize("medium", MEDIA)
def test_visits_stand_true_to_time_and_the_latest_alone_is_solid(medium):
    marks = change_chart.change_chart(chart((0, 100, 400)), Box(0.0, 0.0, 120.0, 80.0),
                                      getattr(change_chart, medium), TwoWide())
    rings, latest = of(Ring, marks), of(Disc, marks)[-1]
    first, second = (ring.centre[0] for ring in rings)
    assert (second - first) / (latest.centre[0] - first) == pytest.approx(0.25)
    assert latest.role == "accent" and latest.radius_mm > rings[0].radius_mm


@pytest.mark.parametrize("medium", MEDIA)
def test_the_hatched_column_stands_at_the_latest_visit_between_its_limits(medium):
    box = Box(10.0, 20.0, 120.0, 80.0)
    marks = change_chart.change_chart(chart((0, 90), 0.0, (-1.0, 1.0)), box, getattr(change_chart, medium),
                                      TwoWide())
    (hatch,), latest = of(Hatch, marks), of(Disc, marks)[-1]
    assert (hatch.box.x, hatch.box.y) == pytest.approx(latest.centre)
    assert hatch.box.height == pytest.approx(2 / 5.6 * (box.height - getattr(change_chart, medium).foot))


@pytest.mark.parametrize("medium", MEDIA)
def test_dates_that_would_touch_are_left_out_but_never_the_first_and_the_latest(medium):
    marks = change_chart.change_chart(chart((0, 5, 200, 395, 400)), Box(0.0, 0.0, 120.0, 80.0),
                                      getattr(change_chart, medium), TwoWide())
    dates = sorted((mark.x, mark.text) for mark in of(Words, marks) if mark.text.startswith("day"))
    assert [text for _, text in dates] == ["day 0", "day 200", "day 400"]
    assert all(right - left > 2.0 * len(text) for (left, text), (right, _) in pairwise(dates))


def test_a_z_beyond_the_scale_stands_at_the_chart_s_edge():
    plot = Plot(Box(0.0, 0.0, 110.0, 56.0), 0.0, 5.0)
    assert plot.y(-9.0) == 0.0 and plot.y(9.0) == 56.0 and plot.x(0.0) == 55.0


# The paths


@pytest.mark.parametrize("medium", MEDIA)
def test_paths_of_one_place_lie_over_each_other_and_a_far_hand_stays_at_the_edge(medium):
    target = np.array([[40.0, 0.0], [0.0, 40.0]])
    hand = np.array([[40.0, 0.0], [0.0, 90.0]])
    sizes = getattr(path_picture, medium)
    disc, drawn = path_picture.path_picture(PathFigure("", target, hand), (5.0, 6.0), sizes.span, sizes)
    assert disc.points[0] == pytest.approx(drawn.points[0])
    assert disc.points[0] + (disc.box.left, disc.box.bottom) == pytest.approx((45.0, 6.0))
    assert drawn.points[1, 1] == drawn.box.height == pytest.approx(112.0)


def test_a_curve_cannot_be_changed_by_who_draws_it():
    curve = Curve(np.zeros((3, 2)), Box(0.0, 0.0, 1.0, 1.0), 0.3, "line")
    with pytest.raises(ValueError, match="read-only"):
        curve.points[0, 0] = 1.0


def test_a_hand_off_the_screen_leaves_a_gap_in_its_path():
    points = np.column_stack([np.arange(100.0), np.zeros(100)])
    points[40:60] = np.nan
    found = list(unbroken(points))
    assert len(found) == 2
    assert found[0][-1, 0] == 39 and found[1][0, 0] == 60


def test_a_path_keeps_its_ends_when_it_is_thinned():
    points = np.column_stack([np.arange(5000.0), np.zeros(5000)])
    (one,) = unbroken(points, 600)
    assert len(one) < 700 and one[0, 0] == 0 and one[-1, 0] == 4999
