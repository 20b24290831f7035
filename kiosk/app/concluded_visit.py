"""A visit concluded: scored, its page made, put out, signed, compared and corrected, as staff ask for it."""

from dataclasses import replace
from typing import Final
from uuid import UUID

from kiosk import __version__
from kiosk.app.conclusion import Conclusion, Imprint, page_pdf, remake
from kiosk.app.driver import Clinic
from kiosk.app.leaflet import Leaflet, leaflet_of
from kiosk.app.printing import save_page
from kiosk.app.replay import replay_of
from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.staff.answers import answer_words
from kiosk.staff.concluded import Concluded
from kiosk.staff.concluding import Correct, Notes
from kiosk.staff.observations import CHIPS, HANDS_NOT_AS_ASKED, noted
from kiosk.staff.printing import Paper, PaperNotPrinted
from kiosk.staff.results import VisitConcluded
from kiosk.staff.screen import ShowToday
from kiosk.staff.sign import STATEMENT, PageSigned, SignPage
from kiosk.visits.desk_archive import Amendment, SignOff
from kiosk.visits.earlier import local_date
from kiosk.visits.visit import Visit, VisitEnd
from norms import Refusal

_IN_AUDIT: Final = {Paper.PAGE: "", Paper.LEAFLET: "_leaflet"}  # after print or save


def visit_of(clinic: Clinic) -> Visit:
    """The visit at hand."""
    if clinic.visit is None:
        raise Refused("unknown_visit", {"visit": ""})
    return clinic.visit


def conclude(clinic: Clinic, notes: Notes) -> None:
    """What staff saw, how the visit ended, then its scores and page."""
    visit, archive = visit_of(clinic), clinic.kit.archive
    if archive.visit_end(visit.id) is None:
        course = None if clinic.sitting is None else clinic.sitting.course
        for code in () if course is None else course.observations:
            archive.add_observation(visit.id, Observation(code))
        _keep_notes(clinic, visit, notes)
        how = "abandoned" if course is None or course.how is None else course.how
        archive.end_visit(VisitEnd(visit.id, how, clinic.kit.now_local(), pain_after=notes.pain_after))
    clinic.sitting = None
    _conclude(clinic, visit, None)


def show_again(clinic: Clinic) -> None:
    """The page of a visit concluded before, as it was made."""
    visit, archive, room = visit_of(clinic), clinic.kit.archive, clinic.room()
    imprint = Imprint(room.place, room.kiosk_name, __version__, clinic.kit.now_local(),
                      archive.audit_head(), room.paper)
    _take(clinic, visit, remake(archive, visit, clinic.language, imprint, clinic.kit.new_id))


def compare_with(clinic: Clinic, visit_id: UUID) -> None:
    """The page anew, compared with the visit chosen."""
    clinic.compared = visit_id
    _conclude(clinic, visit_of(clinic), None if clinic.made is None else clinic.made.report_id)


def correct(clinic: Clinic, effect: Correct) -> None:
    """The correction with its reason; where the page changes, a new one stands beside the old."""
    visit, archive = visit_of(clinic), clinic.kit.archive
    what, reason = effect.correction.what, effect.correction.reason
    if what in ("void_visit", "restore_visit"):
        archive.amend(Amendment("visit", visit.id, "void" if what == "void_visit" else "restore", reason))
        clinic.carry_out(ShowToday())
        return
    if what == "birth_date":
        person = replace(archive.person(visit.person_id), birth_date=effect.birth_date)
        archive.add_person(person)
        archive.amend(Amendment("person", person.id, "correct", reason))
        clinic.know(replace(clinic.context, person=person))
    else:
        archive.withdraw_observations(visit.id, (*CHIPS, HANDS_NOT_AS_ASKED))
        _keep_notes(clinic, visit, effect.notes)
        archive.amend(Amendment("visit", visit.id, "correct", reason))
    old = _made(clinic).report_id
    _conclude(clinic, visit, old)
    archive.amend(Amendment("report", old, "correct", reason, _made(clinic).report_id))


def sign(clinic: Clinic, effect: SignPage) -> None:
    """The signature under the page, kept and shown."""
    signature = SignOff(_made(clinic).report_id, effect.initials, effect.role, STATEMENT)
    clinic.kit.archive.sign(signature)
    if clinic.context.concluded is not None:
        clinic.on_result(PageSigned(_signed(clinic, clinic.context.concluded, signature)))


def print_paper(clinic: Clinic, paper: Paper) -> None:
    """Page or leaflet to the printer; what does not go is said on the screen."""
    try:
        name, pdf = _file(clinic, paper)
        printer = clinic.kit.find_printer()
    except Refused as refusal:
        clinic.on_result(PaperNotPrinted(Refusal(refusal.code, dict(refusal.values))))
        return
    clinic.printing = paper, clinic.kit.print_page(pdf, name, printer, clinic.kit.now_ns() / 1e9)


def save_paper(clinic: Clinic, paper: Paper) -> str:
    """Page or leaflet as a file; its name."""
    name, pdf = _file(clinic, paper)
    place = save_page(clinic.kit.pages_folder, name, pdf)
    note_output(clinic, "save", paper)
    return place.name


def note_output(clinic: Clinic, how: str, paper: Paper) -> None:
    """In the audit: the page at hand, or its leaflet, was put out (how: print, save)."""
    clinic.kit.archive.note_output(_made(clinic).report_id, f"{how}{_IN_AUDIT[paper]}")


def leaflet(clinic: Clinic) -> Leaflet:
    """The person's leaflet, in the language they were instructed in."""
    visit, kit = visit_of(clinic), clinic.kit
    if visit.language not in kit.languages:
        raise Refused("language_unknown", {"tag": visit.language})
    return leaflet_of(kit.archive, visit, kit.languages[visit.language], kit.place, kit.rights(), kit.paper)


def _keep_notes(clinic: Clinic, visit: Visit, notes: Notes) -> None:
    for one in noted(notes):
        clinic.kit.archive.add_observation(visit.id, one)


def _conclude(clinic: Clinic, visit: Visit, replaces: UUID | None) -> None:
    room = clinic.room(training=visit.purpose == "training")
    room = replace(room, device=clinic.kit.archive.device(visit.device_id))
    _take(clinic, visit, room.conclude(visit, clinic.language, clinic.compared, replaces))


def _take(clinic: Clinic, visit: Visit, made: Conclusion) -> None:
    """The conclusion to hand, with the paths of the first visit beside its own."""
    archive = clinic.kit.archive
    scored = [one for one in archive.visits_of(visit.person_id)
              if archive.scores_of(one.id) is not None and not archive.is_void(one.id)]
    first = scored[0] if scored and scored[0].id != visit.id else None
    dates = ("" if first is None else clinic.language.date(local_date(first)),
             clinic.language.date(local_date(visit)))
    clinic.made = made
    concluded = Concluded(made.content, made.findings, visit.language, False,
                          replay_of(archive, visit, first), dates, made.pdf)
    signature = archive.sign_off_of(made.report_id)
    if signature is not None:
        concluded = _signed(clinic, concluded, signature)
    clinic.on_result(VisitConcluded(concluded))


def _signed(clinic: Clinic, concluded: Concluded, signature: SignOff) -> Concluded:
    """The page says who reviewed it, on the screen and where it is printed again."""
    made, language = _made(clinic), clinic.language
    said = language.say("Reviewed by %(initials)s, %(role)s", initials=signature.initials,
                        role=answer_words("role", signature.role, language))
    content = replace(made.content, sign_off=replace(made.content.sign_off, state=said))
    clinic.made = replace(made, content=content, pdf=page_pdf(content, clinic.kit.paper))
    return replace(concluded, content=content, pdf=clinic.made.pdf, reviewed=True)


def _made(clinic: Clinic) -> Conclusion:
    if clinic.made is None:
        raise Refused("visit_not_scored", {"visit": ""})
    return clinic.made


def _file(clinic: Clinic, paper: Paper) -> tuple[str, bytes]:
    """What goes out: its file's name and its bytes."""
    tag = _made(clinic).content.page_tag
    if paper is Paper.LEAFLET:
        return f"{tag}-leaflet", leaflet(clinic).pdf
    return tag, _made(clinic).pdf
