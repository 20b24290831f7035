"""Where marks stand on the paper, found again in the drawing commands of the file itself."""

import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from kiosk.report.page import fitting_spacing, lay_out, render
from kiosk.report.paper import PAPERS
from kiosk.report.sheet import Sheet
from tests.wording.page_samples import STARTED, Z_STAR, content, findings, standing

POINTS_IN_MM = 72 / 25.4
DATA_COLOUR = (0x0B / 255, 0x46 / 255, 0x5B / 255)  # #0B465B

WHITE = (1.0, 1.0, 1.0)


def commands(pdf):
    return re.sub(r"\s+", " ", PdfReader(BytesIO(pdf)).pages[0].get_contents().get_data().decode("latin-1"))


def discs(pdf, radius_mm, colour=DATA_COLOUR):
    """Centres in points of filled discs of a radius and colour, read from the file."""
    found, fill = [], None
    pattern = re.compile(
        r"(?P<fill>[\d.]+ [\d.]+ [\d.]+) rg|n (?P<path>(?:[\d.-]+ ){2}m (?:(?:[\d.-]+ ){6}c ?){4})"
    )
    for one in pattern.finditer(commands(pdf)):
        if one["fill"]:
            fill = tuple(float(part) for part in one["fill"].split())
            continue
        numbers = np.array([float(n) for n in re.findall(r"-?[\d.]+", one["path"])]).reshape(-1, 2)
        low, high = numbers.min(axis=0), numbers.max(axis=0)
        if (
            np.allclose(fill, colour, atol=0.002)
            and abs((high - low)[0] / 2 - radius_mm * POINTS_IN_MM) < 0.02
        ):
            found.append(tuple((low + high) / 2))
    return found


def ticks_of_profile(found, paper="A4"):
    """x in points of the numbers below the profile scale, by number."""
    sheet = Sheet(PAPERS[paper], "latin", fitting_spacing(found, PAPERS[paper]))
    lay_out(sheet, found)
    texts = {tick.text: tick.z for tick in found.profile.ticks}
    level = [box for box in sheet.boxes if box.text in texts]
    row = next(
        box.top_mm for box in level if sum(abs(one.top_mm - box.top_mm) < 0.01 for one in level) == len(texts)
    )
    at = {texts[box.text]: (box.left_mm + box.right_mm) / 2 for box in level if abs(box.top_mm - row) < 0.01}
    return {z: (x + PAPERS[paper].side_mm) * POINTS_IN_MM for z, x in at.items()}


def test_the_dots_stand_at_their_z_between_the_numbers_of_the_axis():
    found = content(findings())
    ticks = ticks_of_profile(found)
    per_z = (ticks[2.0] - ticks[-3.0]) / 5
    dots = discs(render(found), 1.35)
    assert len(dots) == 6
    from_top = sorted(dots, key=lambda dot: -dot[1])
    for (x, _), z in zip(from_top, Z_STAR.values(), strict=True):
        assert (x - ticks[0.0]) / per_z == pytest.approx(z, abs=0.01)


def test_a_dot_that_moves_is_seen_to_move():
    moved = findings(
        standings={
            **findings().standings,
            "brisk.preferred.scatter": standing("brisk.preferred.scatter", -0.5),
        }
    )
    still = sorted(discs(render(content(findings())), 1.35))
    assert sorted(discs(render(content(moved)), 1.35)) != still


def test_a_z_beyond_the_scale_is_a_triangle_with_its_number():
    far = {**findings().standings, "brisk.preferred.scatter": standing("brisk.preferred.scatter", -4.2)}
    page = render(content(findings(standings=far)))
    assert len(discs(page, 1.35)) == 5
    assert "\N{MINUS SIGN}4.2" in PdfReader(BytesIO(page)).pages[0].extract_text()


def test_an_unscored_measure_has_words_and_no_dot():
    from norms import Refusal

    refused = {**findings().standings, "brisk.preferred.scatter": Refusal("too_few_valid_trials", {})}
    page = render(content(findings(standings=refused)))
    assert len(discs(page, 1.35)) == 5
    assert "not compared" in PdfReader(BytesIO(page)).pages[0].extract_text()


def test_the_chart_is_true_to_time():
    history = findings().history
    starts = [STARTED - timedelta(days=days) for days in (400, 300, 0)]
    uneven = tuple(replace(point, started_at=start) for point, start in zip(history, starts, strict=True))
    page = render(content(findings(history=uneven, compared_with=uneven[1])))
    (latest,) = discs(page, 0.95 * 1.25)
    first, second = sorted(discs(page, 0.95 + 0.3, WHITE))
    assert (second[0] - first[0]) / (latest[0] - first[0]) == pytest.approx(0.25, abs=0.002)


def test_the_chart_stands_the_visits_at_their_z():
    page, chart = render(content(findings())), content(findings()).change.chart
    (latest,) = discs(page, 0.95 * 1.25)
    first, second = sorted(discs(page, 0.95 + 0.3, WHITE))
    z = [point.z for point in chart.points]
    assert (latest[1] - first[1]) / (second[1] - first[1]) == pytest.approx(
        (z[2] - z[0]) / (z[1] - z[0]), rel=0.01
    )
