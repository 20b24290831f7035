"""A visit concluded: scored, its page made, put out, signed, compared and corrected, as staff ask for it."""

from dataclasses import replace
from typing import Final
from uuid import UUID

from kiosk import __version__
from kiosk.app.conclusion import Conclusion, Imprint, page_pdf, remake
from kiosk.app.driver import KioskDriver
from kiosk.app.leaflet import Leaflet, leaflet_of
from kiosk.app.printing import save_page
from kiosk.app.replay import replay_of
from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.staff.concluded import Concluded
from kiosk.staff.concluding import Correct, Notes
from kiosk.staff.observations import CHIPS, HANDS_NOT_AS_ASKED, noted
from kiosk.staff.printing import Paper, PaperNotPrinted
from kiosk.staff.results import VisitConcluded
from kiosk.staff.screen import ShowToday
from kiosk.staff.sign import ROLES, STATEMENT, PageSigned, SignPage
from kiosk.visits.earlier import local_date
from kiosk.visits.staff_archive import Amendment, SignOff
from kiosk.visits.visit import Visit, VisitEnd
from norms import Refusal

_IN_AUDIT: Final = {Paper.PAGE: "", Paper.LEAFLET: "_leaflet"}  # after print or save


def visit_of(driver: KioskDriver) -> Visit:
    if driver.visit is None:
        raise Refused("unknown_visit", {"visit": ""})
    return driver.visit


def conclude(driver: KioskDriver, notes: Notes) -> None:
    """What staff saw, how the visit ended, then its scores and page."""
    visit, archive = visit_of(driver), driver.deps.archive
    if archive.visit_end(visit.id) is None:
        course = None if driver.runner is None else driver.runner.course
        for code in () if course is None else course.observations:
            archive.add_observation(visit.id, Observation(code))
        _keep_notes(driver, visit, notes)
        how = "abandoned" if course is None or course.how is None else course.how
        archive.end_visit(VisitEnd(visit.id, how, driver.deps.now_local(), pain_after=notes.pain_after))
    driver.runner = None
    _conclude(driver, visit, None)


def show_again(driver: KioskDriver) -> None:
    """The page of a visit concluded before, as it was made."""
    visit, archive, context = visit_of(driver), driver.deps.archive, driver.visit_context()
    imprint = Imprint(context.place, context.kiosk_name, __version__, driver.deps.now_local(),
                      archive.audit_head(), context.paper)
    _take(driver, visit, remake(archive, visit, driver.language, imprint, driver.deps.new_id))


def compare_with(driver: KioskDriver, visit_id: UUID) -> None:
    """The page anew, compared with the visit chosen."""
    driver.compared = visit_id
    _conclude(driver, visit_of(driver), None if driver.made is None else driver.made.report_id)


def correct(driver: KioskDriver, effect: Correct) -> None:
    """The correction with its reason; where the page changes, a new one stands beside the old."""
    visit, archive = visit_of(driver), driver.deps.archive
    what, reason = effect.correction.what, effect.correction.reason
    if what in ("void_visit", "restore_visit"):
        archive.amend(Amendment("visit", visit.id, "void" if what == "void_visit" else "restore", reason))
        driver.carry_out(ShowToday())
        return
    if what == "birth_date":
        person = replace(archive.person(visit.person_id), birth_date=effect.birth_date)
        archive.add_person(person)
        archive.amend(Amendment("person", person.id, "correct", reason))
        driver.know(replace(driver.context, person=person))
    else:
        archive.withdraw_observations(visit.id, (*CHIPS, HANDS_NOT_AS_ASKED))
        _keep_notes(driver, visit, effect.notes)
        archive.amend(Amendment("visit", visit.id, "correct", reason))
    old = _made(driver).report_id
    _conclude(driver, visit, old)
    archive.amend(Amendment("report", old, "correct", reason, _made(driver).report_id))


def sign(driver: KioskDriver, effect: SignPage) -> None:
    """The signature under the page, kept and shown."""
    signature = SignOff(_made(driver).report_id, effect.initials, effect.role, STATEMENT)
    driver.deps.archive.sign(signature)
    if driver.context.concluded is not None:
        driver.on_result(PageSigned(_signed(driver, driver.context.concluded, signature)))


def print_paper(driver: KioskDriver, paper: Paper) -> None:
    """Page or leaflet to the printer; what does not go is said on the screen."""
    try:
        name, pdf = _file(driver, paper)
        printer = driver.deps.find_printer()
    except Refused as refusal:
        driver.on_result(PaperNotPrinted(Refusal(refusal.code, dict(refusal.values))))
        return
    driver.printing = paper, driver.deps.print_page(pdf, name, printer, driver.deps.now_ns() / 1e9)


def save_paper(driver: KioskDriver, paper: Paper) -> str:
    """Page or leaflet as a file; its name."""
    name, pdf = _file(driver, paper)
    place = save_page(driver.deps.pages_folder, name, pdf)
    note_output(driver, "save", paper)
    return place.name


def note_output(driver: KioskDriver, how: str, paper: Paper) -> None:
    """In the audit: the page at hand, or its leaflet, was put out (how: print, save)."""
    driver.deps.archive.note_output(_made(driver).report_id, f"{how}{_IN_AUDIT[paper]}")


def leaflet(driver: KioskDriver) -> Leaflet:
    """The person's leaflet, in the language they were instructed in."""
    visit, deps = visit_of(driver), driver.deps
    if visit.language not in deps.languages:
        raise Refused("language_unknown", {"tag": visit.language})
    return leaflet_of(deps.archive, visit, deps.languages[visit.language], deps.place, deps.rights(),
                      deps.paper)


def _keep_notes(driver: KioskDriver, visit: Visit, notes: Notes) -> None:
    for one in noted(notes):
        driver.deps.archive.add_observation(visit.id, one)


def _conclude(driver: KioskDriver, visit: Visit, replaces: UUID | None) -> None:
    context = driver.visit_context(training=visit.purpose == "training")
    context = replace(context, device=driver.deps.archive.device(visit.device_id))
    _take(driver, visit, context.conclude(visit, driver.language, driver.compared, replaces))


def _take(driver: KioskDriver, visit: Visit, made: Conclusion) -> None:
    """The conclusion to hand, with the paths of the first visit beside its own."""
    archive = driver.deps.archive
    scored = [one for one in archive.visits_of(visit.person_id)
              if archive.scores_of(one.id) is not None and not archive.is_void(one.id)]
    first = scored[0] if scored and scored[0].id != visit.id else None
    dates = ("" if first is None else driver.language.date(local_date(first)),
             driver.language.date(local_date(visit)))
    driver.made = made
    concluded = Concluded(made.content, made.findings, visit.language, False,
                          replay_of(archive, visit, first), dates, made.pdf)
    signature = archive.sign_off_of(made.report_id)
    if signature is not None:
        concluded = _signed(driver, concluded, signature)
    driver.on_result(VisitConcluded(concluded))


def _signed(driver: KioskDriver, concluded: Concluded, signature: SignOff) -> Concluded:
    """The page says who reviewed it, on the screen and where it is printed again."""
    made, language = _made(driver), driver.language
    said = language.say("Reviewed by %(initials)s, %(role)s", initials=signature.initials,
                        role=language.say_message(ROLES[signature.role]))
    content = replace(made.content, sign_off=replace(made.content.sign_off, state=said))
    driver.made = replace(made, content=content, pdf=page_pdf(content, driver.deps.paper))
    return replace(concluded, content=content, pdf=driver.made.pdf, reviewed=True)


def _made(driver: KioskDriver) -> Conclusion:
    if driver.made is None:
        raise Refused("visit_not_scored", {"visit": ""})
    return driver.made


def _file(driver: KioskDriver, paper: Paper) -> tuple[str, bytes]:
    """What goes out: its file's name and its bytes."""
    tag = _made(driver).content.page_tag
    if paper is Paper.LEAFLET:
        return f"{tag}-leaflet", leaflet(driver).pdf
    return tag, _made(driver).pdf
