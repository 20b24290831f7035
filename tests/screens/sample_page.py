"""A page's content for the results screen: an invented person in an invented clinic."""

from kiosk.wording.page_parts import (
    ChangeRow,
    ChangeSection,
    Fit,
    Headline,
    Labelled,
    MeasureRow,
    PageContent,
    PathSection,
    Profile,
    ScaleWords,
    SignOff,
    Tick,
    ValueTable,
)

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


def measure_row(name, value, percentile, interval, label, score, z, interval_z, before):
    return MeasureRow(
        measure=name,
        name=name,
        value=value,
        usual="",
        percentile=percentile,
        interval=interval,
        label=label,
        standard_score=score,
        z_star=z,
        interval_z=interval_z,
        z_before=before,
        mark="",
        z_text="\u22123.4" if z and z < -3 else "",
        short_reason="" if z else "not scored",
    )


def profile() -> Profile:
    words = ScaleWords(
        "Profile", "today", "usual (80 of 100)", "poorer", "usual", "better", "percentile", "standing"
    )
    ticks = tuple(Tick(float(z), str(z).replace("-", "\u2212")) for z in (-3, -2, -1, 0, 1, 2))
    rows = tuple(measure_row(*row) for row in ROWS)
    return Profile(words, ticks, rows, (), (), "Reference: ages 70\u201379, n 84, right hand, finger.")


def change() -> ChangeSection:
    rows = tuple(
        ChangeRow(
            name,
            name,
            "4.9 mm",
            value,
            "5.0 mm",
            "3.9\u20136.4 mm",
            "Within what chance and practice allow",
            "",
        )
        for name, value, *_ in ROWS[:5]
    )
    return ChangeSection(
        "Change",
        ("measure", "then", "today", "expected", "unchanged lies within", "reading"),
        rows,
        None,
        ("Compared with visit 2.",),
    )


def page(*, compared: bool = True) -> PageContent:
    values = ValueTable(
        "Values",
        "No reference group fits this visit, so no comparison is shown.",
        ("Visit 1",),
        tuple(row[0] for row in ROWS),
        tuple((row[1],) for row in ROWS),
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
        fit=Fit("Fit to read?", "Yes, with a note.", (), (), ()),
        headlines=(
            Headline(
                "Today",
                "2 of 6 scores are low for age 72.",
                "About 13 in 100 people of the reference group have 2 or more this low.",
            ),
            Headline(
                "Change",
                "1 of 6 is reliably poorer than at visit 2 (brisk circle). None reliably better.",
                "At most about 20 in 100 people who have not changed show 1 or more poorer.",
            ),
        ),
        profile=profile() if compared else None,
        values=None if compared else values,
        change=change() if compared else None,
        paths=PathSection("", "", ()),
        conditions=(),
        cautions_title="",
        cautions=CAUTIONS,
        sign_off=SignOff("", "", "", ""),
        footer="",
    )
