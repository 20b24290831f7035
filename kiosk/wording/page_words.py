"""From Findings to everything the page shows, in one language: the page's content, worded and rounded."""

from kiosk.wording.page_parts import (
    BeadGroup,
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
    ValueTable,
)

__all__ = [
    "BeadGroup", "ChangeChart", "ChangeRow", "ChangeSection", "ChartPoint", "Fit", "Headline", "Labelled",
    "MeasureRow", "PageContent", "PathFigure", "PathSection", "Profile", "ScaleWords", "SignOff", "ValueTable",
]
