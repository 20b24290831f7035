"""Wishes about a concluded visit: its scores and page, the page put out, signed and amended."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final
from uuid import UUID

from kiosk import __version__
from kiosk.app.conclusion import Conclusion, Imprint, page_pdf, remake
from kiosk.app.driver import Clinic
from kiosk.app.leaflet import Leaflet, leaflet_of
from kiosk.app.listed import earlier_rows, tiles_of
from kiosk.app.printing import save_page
from kiosk.app.replay import replay_of
from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.visits import desk_after, desk_page
from kiosk.visits.desk_archive import Amendment, SignOff
from kiosk.visits.desk_pad import on
from kiosk.visits.desk_state import PageFacts
from kiosk.visits.earlier import local_date
from kiosk.visits.visit import Visit, VisitEnd
from kiosk.wording.staff_options import answer_words
from kiosk.wording.staff_shown import Shown
from norms import Refusal

_PAPERS: Final = {"page": "", "leaflet": "_leaflet"}  # after print or save, in the audit


def visit_of(clinic: Clinic) -> Visit:
    """The visit on the desk."""
    if clinic.visit is None:
        raise Refused("unknown_visit", {"visit": ""})
    return clinic.visit


def _conclude(clinic: Clinic, _: str) -> None:
    """What staff saw, how the visit ended, then its scores and page."""
    visit, archive = visit_of(clinic), clinic.kit.archive
    if archive.visit_end(visit.id) is None:
        course = None if clinic.sitting is None else clinic.sitting.course
        for code in () if course is None else course.observations:
            archive.add_observation(visit.id, Observation(code))
        _keep_notes(clinic, visit)
        how = "abandoned" if course is None or course.how is None else course.how
        archive.end_visit(VisitEnd(visit.id, how, clinic.kit.now_local(),
                                   pain_after=clinic.state.notes.pain_after))
    clinic.sitting = None
    _concluded(clinic, visit, None)


def _keep_notes(clinic: Clinic, visit: Visit) -> None:
    for one in desk_after.noted(clinic.state.notes):
        clinic.kit.archive.add_observation(visit.id, one)


def _concluded(clinic: Clinic, visit: Visit, replaces: UUID | None) -> None:
    room = clinic.room(training=visit.purpose == "training")
    room = replace(room, device=clinic.kit.archive.device(visit.device_id))
    _take(clinic, visit, room.conclude(visit, clinic.language, clinic.compared, replaces))


def _take(clinic: Clinic, visit: Visit, made: Conclusion) -> None:
    """The conclusion on the desk, with the paths of the first visit beside its own."""
    archive = clinic.kit.archive
    scored = [one for one in archive.visits_of(visit.person_id)
              if archive.scores_of(one.id) is not None and not archive.is_void(one.id)]
    first = scored[0] if scored and scored[0].id != visit.id else None
    dates = tuple("" if one is None else clinic.language.date(local_date(one)) for one in (first, visit))
    replay = replay_of(archive, visit, first)
    signed = archive.sign_off_of(made.report_id)
    clinic.made = made
    clinic.shown = Shown(made.content, made.findings, replay, (dates[0], dates[1]), made.pdf)
    facts = PageFacts(made.content.page_tag, signed is not None, language=visit.language)
    clinic.state = desk_after.concluded(clinic.state, facts)
    if signed is not None:
        _show_signature(clinic, signed)


def show_again(clinic: Clinic) -> None:
    """The page of a visit concluded before, as it was made."""
    visit, archive = visit_of(clinic), clinic.kit.archive
    head = archive.audit_head() if hasattr(archive, "audit_head") else ""
    room = clinic.room()
    imprint = Imprint(room.place, room.kiosk_name, __version__, clinic.kit.now_local(), head, room.paper)
    _take(clinic, visit, remake(archive, visit, clinic.language, imprint, clinic.kit.new_id))


def _compare(clinic: Clinic, _: str) -> None:
    """The page anew, compared with the visit chosen."""
    chosen = next((one.visit_id for one in clinic.state.earlier if one.chosen), None)
    clinic.compared = chosen
    _concluded(clinic, visit_of(clinic), None if clinic.made is None else clinic.made.report_id)


def _earlier(clinic: Clinic, _: str) -> None:
    visit = visit_of(clinic)
    compared = None if clinic.made is None else clinic.made.findings.compared_with
    device = clinic.kit.archive.device(visit.device_id)
    rows = earlier_rows(clinic.kit.archive, visit, device.device_class,
                        None if compared is None else compared.visit_id)
    clinic.state = desk_after.earlier_told(clinic.state, rows)


def _replay(clinic: Clinic, _: str) -> None:
    """The paths came with the conclusion."""


def _made(clinic: Clinic) -> Conclusion:
    if clinic.made is None:
        raise Refused("visit_not_scored", {"visit": ""})
    return clinic.made


def _leaflet(clinic: Clinic) -> Leaflet:
    """The person's leaflet, in the language they were instructed in."""
    visit, kit = visit_of(clinic), clinic.kit
    if visit.language not in kit.languages:
        raise Refused("language_unknown", {"tag": visit.language})
    return leaflet_of(kit.archive, visit, kit.languages[visit.language], kit.place, kit.rights(), kit.paper)


def _paper(clinic: Clinic) -> tuple[str, bytes]:
    """What goes out: its file's name and its bytes."""
    tag = _made(clinic).content.page_tag
    if clinic.state.paper == "leaflet":
        return f"{tag}-leaflet", _leaflet(clinic).pdf
    return tag, _made(clinic).pdf


def _print(clinic: Clinic, _: str) -> None:
    try:
        name, pdf = _paper(clinic)
        printer = clinic.kit.find_printer()
    except Refused as refusal:
        clinic.state = desk_page.not_printed(clinic.state, Refusal(refusal.code, dict(refusal.values)))
        return
    clinic.printing = clinic.kit.print_page(pdf, name, printer, clinic.kit.now_ns() / 1e9)


def _follow_print(clinic: Clinic, _: str) -> None:
    """Once a frame: how far the page is on its way to the paper."""
    job = clinic.printing
    if job is None:
        return
    job.tick(clinic.kit.now_ns() / 1e9)
    if job.outcome is None:
        return
    clinic.printing = None
    if job.outcome == "printed":
        clinic.kit.archive.note_output(_made(clinic).report_id, f"print{_PAPERS[clinic.state.paper]}")
        clinic.told((desk_page.printed(clinic.state, job.printer.words), ()))
    else:
        clinic.told((desk_page.not_printed(clinic.state, job.outcome), ()))


def _cancel_print(clinic: Clinic, _: str) -> None:
    if clinic.printing is not None:
        clinic.printing.cancel(clinic.kit.now_ns() / 1e9)


def _save(clinic: Clinic, _: str) -> None:
    name, pdf = _paper(clinic)
    place = save_page(clinic.kit.pages_folder, name, pdf)
    clinic.kit.archive.note_output(_made(clinic).report_id, f"save{_PAPERS[clinic.state.paper]}")
    clinic.state = desk_page.saved(clinic.state, place.name)


def _sign(clinic: Clinic, _: str) -> None:
    state, made = clinic.state, _made(clinic)
    signature = SignOff(made.report_id, state.signer, state.role, desk_page.STATEMENT)
    clinic.kit.archive.sign(signature)
    _show_signature(clinic, signature)
    clinic.state = desk_page.signed(state)


def _show_signature(clinic: Clinic, signature: SignOff) -> None:
    """The page says who reviewed it, on the screen and where it is printed again."""
    made, language = _made(clinic), clinic.language
    said = language.say("Reviewed by %(initials)s, %(role)s", initials=signature.initials,
                        role=answer_words("role", signature.role, language))
    content = replace(made.content, sign_off=replace(made.content.sign_off, state=said))
    clinic.made = replace(made, content=content, pdf=page_pdf(content, clinic.kit.paper))
    if clinic.shown is not None:
        clinic.shown = replace(clinic.shown, content=content, pdf=clinic.made.pdf)


def _notes(clinic: Clinic, _: str) -> None:
    visit, archive = visit_of(clinic), clinic.kit.archive
    end = archive.visit_end(visit.id)
    notes = desk_after.notes_from(archive.observations_of(visit.id), "not_asked" if end is None else (
        end.pain_after))
    clinic.state = desk_after.notes_told(clinic.state, notes, tiles_of(archive.trials_of(visit.id)))


def _amend(clinic: Clinic, _: str) -> None:
    """The correction with its reason; where the page changes, a new one stands beside the old."""
    state, visit, archive = clinic.state, visit_of(clinic), clinic.kit.archive
    if state.amend_what in ("void_visit", "restore_visit"):
        action: Final = "void" if state.amend_what == "void_visit" else "restore"
        archive.amend(Amendment("visit", visit.id, action, state.amend_why))
        clinic.told((on(replace(state, amend_what="", amend_why=""), "today"), ("today",)))
        return
    if state.amend_what == "birth_date":
        person = replace(archive.person(visit.person_id), birth_date=state.draft.birth_date)
        archive.add_person(person)
        archive.amend(Amendment("person", person.id, "correct", state.amend_why))
        clinic.state = replace(state, person=person)
    else:
        archive.withdraw_observations(visit.id, (*desk_after.CHIPS, desk_after.HANDS_NOT_AS_ASKED))
        _keep_notes(clinic, visit)
        archive.amend(Amendment("visit", visit.id, "correct", state.amend_why))
    old = _made(clinic).report_id
    _concluded(clinic, visit, old)
    archive.amend(Amendment("report", old, "correct", state.amend_why, _made(clinic).report_id))


WISHES: Final[dict[str, Callable[[Clinic, str], None]]] = {
    "conclude": _conclude, "compare": _compare, "earlier": _earlier, "replay": _replay, "print": _print,
    "follow_print": _follow_print, "cancel_print": _cancel_print, "save": _save, "sign": _sign,
    "notes": _notes, "amend": _amend,
}
