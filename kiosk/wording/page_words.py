"""From Findings to everything the page shows, in one language: the page's content, worded and rounded."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from kiosk.i18n.language import Language
from kiosk.pursuit.battery import load_battery
from kiosk.visits.device_record import Device
from kiosk.visits.findings import Findings
from kiosk.visits.person import Person
from kiosk.wording.cautions import conditional_cautions, fixed_cautions
from kiosk.wording.findings_words import headlines
from kiosk.wording.page_change import change_section
from kiosk.wording.page_fit import fit, identity, visit_line, visit_moment
from kiosk.wording.page_foot import conditions, footer
from kiosk.wording.page_parts import PageContent, PathFigure, PathSection, SignOff
from kiosk.wording.page_profile import profile
from kiosk.wording.page_values import value_table
from norms import Standing

Paths = Sequence[tuple[str, NDArray[np.float64], NDArray[np.float64]]]


def page_content(
    findings: Findings,
    person: Person,
    device: Device,
    paths: Paths,
    language: Language,
    *,
    made_at: datetime,
    place: str,
    page_tag: str,
    report_id: UUID,
    kiosk_name: str,
    app_version: str,
    audit_head: str,
) -> PageContent:
    """Everything the page shows.

    `paths`: (label, target xy, hand xy) of each trial in order of testing, mm, shape (n, 2), NaN where the
    finger was off the glass. `audit_head` may be empty.
    """
    say = language.say
    compared = any(isinstance(one, Standing) for one in findings.standings.values())
    return PageContent(
        language=language.tag,
        script=language.script,
        direction=language.direction,
        title=say("Visually guided hand movement"),
        subtitle=say("Summary for a qualified clinician"),
        place=place,
        when=visit_moment(findings.visit, language),
        tag_label=say("Page tag"),
        page_tag=page_tag,
        page_number=say("Page 1 of 1"),
        identity=identity(findings, person, device, language),
        visit_line=visit_line(findings, language),
        fit=fit(findings, load_battery(), device, language),
        headlines=headlines(findings, language),
        profile=profile(findings, language) if compared else None,
        values=None if compared else value_table(findings, language),
        change=change_section(findings, language) if compared else None,
        paths=_paths(paths, language),
        conditions=conditions(findings, device, language),
        cautions_title=say("Cautions"),
        cautions=(*fixed_cautions(language), *conditional_cautions(findings.cautions, language)),
        sign_off=SignOff(say("Reviewed by"), say("Signature"), say("Date"), say("Not yet reviewed")),
        footer=footer(findings, report_id, made_at, kiosk_name, app_version, audit_head, language),
        watermark=_watermark(findings, language),
    )


def _paths(paths: Paths, language: Language) -> PathSection:
    figures = tuple(PathFigure(label, target, hand) for label, target, hand in paths)
    return PathSection(
        language.say("Paths"),
        language.say("hand (dark) over the disc's path (grey), in order of testing"),
        figures,
    )


def _watermark(findings: Findings, language: Language) -> tuple[str, ...]:
    if findings.table is None or findings.table.status != "synthetic":
        return ()
    return (language.say_in("watermark", "SIMULATED"), language.say_in("watermark", "REFERENCE"))
