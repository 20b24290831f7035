"""A page's content for the results screen: an invented person in an invented clinic."""

import numpy as np

from kiosk.staff.actions import StaffAction
from kiosk.staff.observations import ObservationAction
from kiosk.staff.results import ResultsAction
from kiosk.wording.page_parts import (
    ChangeChart,
    ChangeRow,
    ChangeSection,
    ChartPoint,
    Fit,
    Headline,
    Labelled,
    MeasureRow,
    PageContent,
    PathFigure,
    PathSection,
    Profile,
    ScaleWords,
    SignOff,
    Tick,
    ValueTable,
)
from kiosk.wording.staff_parts import Control, ReplayPath
from kiosk.wording.trial_curves import TrialCurves

ROWS = (
    ("Scatter, steady circle", "5.3 mm", "34", "26\u201342", "Average", "94", -0.41, (-0.64, -0.2), -0.1),
    (
        "Scatter, brisk circle",
        "11.6 mm",
        "7",
        "4\u201312",
        "Below average",
        "78",
        -1.47,
        (-1.75, -1.17),
        -0.4,
    ),
    ("Lag on circles", "105 ms behind", "9", "5\u201315", "Low average", "80", -1.34, (-1.64, -1.03), None),
    (
        "Delay, wandering path",
        "302 ms behind",
        "5",
        "2\u20139",
        "Below average",
        "75",
        -1.65,
        (-2.05, -1.3),
        -1.2,
    ),
    ("Scatter, wandering path", "30.4 mm", "<0.1", "", "Exceptionally low", "49", -3.4, (-3.6, -3.2), -0.6),
    ("Scatter, other hand", "not scored", "", "", "", "", None, None, None),
)
CAUTIONS = (
    "SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE.",
    "This page describes how one person followed a moving disc on this tablet on this day. It does not "
    "diagnose or rule out anything, and must not be the only reason for a decision.",
    "For a qualified clinician who knows the person. Low scores also come from tiredness, pain, poor sight, "
    "cold hands, worry, new surroundings or unclear instructions.",
    "One or two low scores are common in healthy people; the sentence at the top says how common.",
    "'Reliable' means larger than chance and practice usually produce. It does not say why, or whether it "
    "matters to the person. People whose performance varies more from day to day pass the limits more often.",
    "Compare only with visits on the same kind of tablet, with the same input, hand and battery version. "
    "Differences between visits in state or set-up are listed above.",
)


LOW = ("Scatter, brisk circle",)
TRIALS = ("Steady 1", "Steady 2", "Steady 3", "Other 1", "Other 2", "Brisk 1", "Brisk 2", "Brisk 3")
TRIALS += ("Wander 1", "Wander 2")


def as_it_is(text):
    return text


def measure_row(name, value, percentile, interval, label, score, z, interval_z, before, say):
    return MeasureRow(
        measure=name,
        name=say(name),
        value=say(value),
        usual="",
        percentile=percentile,
        interval=interval,
        label=say(label),
        standard_score=score,
        z_star=z,
        interval_z=interval_z,
        z_before=before,
        low=name in LOW,
        z_text="\u22123.4" if z and z < -3 else "",
        short_reason="" if z else say("not scored"),
    )


def ticks():
    return tuple(Tick(float(z), str(z).replace("-", "\u2212")) for z in (-3, -2, -1, 0, 1, 2))


def profile(say=as_it_is) -> Profile:
    words = ("Profile", "today", "usual (80 of 100)", "poorer", "usual", "better", "percentile", "standing")
    rows = tuple(measure_row(*row, say) for row in ROWS)
    reference = say("Reference: ages 70\u201379, n 84, right hand, finger.")
    return Profile(ScaleWords(*map(say, words)), ticks(), rows, (), (), reference)


def change(say=as_it_is) -> ChangeSection:
    reading = say("Within what chance and practice allow")
    rows = tuple(
        ChangeRow(name, say(name), "4.9 mm", say(value), "5.0 mm", "3.9\u20136.4 mm", reading, "")
        for name, value, *_ in ROWS[:5]
    )
    heads = ("measure", "then", "today", "expected", "unchanged lies within", "reading")
    points = (
        ChartPoint(0.0, -0.3, "14 Mar"),
        ChartPoint(80.0, -0.8, "2 Jun"),
        ChartPoint(256.0, -1.6, "25 Nov"),
    )
    chart = ChangeChart(say("Scatter, brisk circle"), ticks(), points, (-1.3, -0.1), say("unchanged"))
    return ChangeSection(
        say("Change since visit 2"), tuple(map(say, heads)), rows, chart, (say("Compared with visit 2."),)
    )


def circle(lag, count=120):
    turn = np.linspace(0.0, 4 * np.pi, count) - lag
    return 40.0 * np.column_stack([np.sin(turn), np.cos(turn)])


def paths(say=as_it_is) -> PathSection:
    hand = 1.1 * circle(0.1)
    hand[30:36] = np.nan
    figures = tuple(PathFigure(say(name), circle(0.0), hand) for name in TRIALS)
    return PathSection(say("Paths"), say("hand (dark) over the disc's path (grey)"), figures)


def trials(say=as_it_is):
    hand = circle(0.2) * np.linspace(1.0, 1.5, 120)[:, None]
    hand[30:36] = np.nan
    t_s = np.linspace(0.0, 16.0, len(hand))
    return tuple(ReplayPath(say(name), t_s, circle(0.0), hand, curves()) for name in TRIALS)


def curves():
    """A wobble of 5 Hz, 3 mm along and 1 mm across, at 60 Hz over 16 s; one second off the glass."""
    t_s, f_hz = np.arange(960) / 60.0, np.arange(2, 81) / 4.0
    wobble = np.sin(2 * np.pi * 5.0 * t_s)
    wobble[300:360] = np.nan
    line = 2.0 * f_hz**-2.0
    power = line * (1.0 + 30.0 * np.exp(-((f_hz - 5.0) ** 2) / 0.1))
    return TrialCurves(3.0 * wobble, 1.0 * wobble, 31.4 + 10.0 * np.nan_to_num(wobble), np.full(960, 31.4),
                       f_hz, power, line)


def controls(say=as_it_is):
    return (
        Control(StaffAction.TODAY, say("Today"), "quiet"),
        Control(ResultsAction.COMPARE, say("Other earlier visit")),
        Control(ResultsAction.REPLAY, say("Replay")),
        Control(ObservationAction.NOTHING, say("Observations")),
        Control(StaffAction.NEXT, say("Preview page"), "main"),
    )


def page(say=as_it_is, *, compared: bool = True) -> PageContent:
    values = ValueTable(
        say("Values"),
        say("No reference group fits this visit, so no comparison is shown."),
        (say("measure"), say("Visit 1")),
        tuple(say(row[0]) for row in ROWS),
        tuple((say(row[1]),) for row in ROWS),
    )
    return PageContent(
        language="en",
        script="latin",
        direction="ltr",
        title="",
        subtitle="",
        place="",
        when="",
        tag_label="",
        page_tag="7F-KD",
        page_number="",
        identity=(Labelled("Code", "K-0412-7"), Labelled("Age", "72")),
        visit_line="Visit 3 of 3 \u00b7 25 Nov 2026",
        fit=Fit(say("Fit to read?"), say("Yes, with a note."), (), (), ()),
        headlines=(
            Headline(
                say("Today"),
                say("2 of 6 scores are low for age 72."),
                say("About 13 in 100 people of the reference group have 2 or more this low."),
            ),
            Headline(
                say("Change"),
                say("1 of 6 is reliably poorer than at visit 2 (brisk circle). None reliably better."),
                say("At most about 20 in 100 people who have not changed show 1 or more poorer."),
            ),
        ),
        profile=profile(say) if compared else None,
        values=None if compared else values,
        change=change(say) if compared else None,
        paths=paths(say),
        conditions=(),
        cautions_title="",
        cautions=tuple(map(say, CAUTIONS)),
        sign_off=SignOff("", "", "", ""),
        footer="",
    )
