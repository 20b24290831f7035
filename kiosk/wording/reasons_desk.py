"""What the staff's part says when something does not go: codes, PINs, power, clock, printer."""

from typing import Final

from kiosk.i18n.message import N_, Messages

DESK: Final[Messages] = {
    "wrong_pin": N_("This is not the PIN."),
    "pin_waits": N_("Too many wrong PINs. Wait %(wait_s)s s, then try again."),
    "pin_short": N_("A PIN has %(least)s digits or more."),
    "pin_easily_guessed": N_("This PIN is easily guessed. Choose another."),
    "pins_differ": N_("The two PINs differ. Choose one again."),
    "no_pin_yet": N_("No staff PIN has been chosen yet."),
    "pin_file_unreadable": N_("The file %(file)s does not hold a PIN."),
    "nobody_found": N_("Nobody here has the code %(code)s."),
    "code_known": N_("The code %(code)s is taken. Check whether this is the person."),
    "code_does_not_check": N_(
        "The check character of %(code)s does not fit. Type the code again, or use two identifiers."
    ),
    "second_identifier_needed": N_("A code that cannot be checked needs a second identifier."),
    "not_a_birth_date": N_("%(entered)s is not a birth date: year, month, day."),
    "birth_not_plausible": N_("%(entered)s cannot be the birth date of a person here."),
    "birth_not_known": N_("The birth date is not known, so nothing is compared with others."),
    "clock_earlier_than_record": N_(
        "The clock is earlier than the newest record (%(newest)s). Put the clock right; until then no visit "
        "begins."
    ),
    "initials_needed": N_("Initials have %(least)s letters or more."),
    "role_needed": N_("Choose a role."),
    "needs_administer": N_("This is for an account that gives visits."),
    "needs_interpret": N_("This is for an account that reads and signs pages."),
    "needs_site_lead": N_("This is for an account that leads the site."),
    "tablet_not_calibrated": N_("The tablet is not calibrated. Site, Tablet, Card."),
    "leaflet_too_long": N_("The leaflet does not fit on half a page: the site's own sentence is too long."),
    "page_too_full": N_(
        "The page does not fit on one sheet of %(paper)s in this language. The scores are kept: choose "
        "another language (Site, Languages) and open the visit again."
    ),
    "no_folder_to_save": N_("The page could not be saved: %(why)s."),
    "no_printer": N_("No printer is set up on this machine."),
    "printer_did_not_answer": N_("The printer did not answer. Nothing is waiting in it. Save, or try again."),
    "print_cancelled": N_("Printing was cancelled. Nothing is waiting in the printer."),
    "job_not_cancelled": N_(
        "The printer did not answer, and the page may still be waiting in it (%(job)s). Take it out there."
    ),
    "kiosk_keeps_ending": N_(
        "The kiosk ended by itself %(times)s times within a minute and was not started again."
    ),
    "table_for_other": N_("This folder does not hold a reference table."),
    "already_signed": N_("This page is signed already."),
    "visit_voided": N_("This visit was taken out."),
}
