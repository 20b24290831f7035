"""What the staff's part says when something does not go: codes, PINs, power, clock, printer."""

from kiosk.wording.reasons_comparison import Sentences

DESK: Sentences = {
    "wrong_pin": lambda say, v: say("This is not the PIN."),
    "pin_waits": lambda say, v: say("Too many wrong PINs. Wait %(wait_s)s s, then try again.", **v),
    "pin_short": lambda say, v: say("A PIN has %(least)s digits or more.", **v),
    "pin_easily_guessed": lambda say, v: say("This PIN is easily guessed. Choose another."),
    "pins_differ": lambda say, v: say("The two PINs differ. Choose one again."),
    "no_pin_yet": lambda say, v: say("No staff PIN has been chosen yet."),
    "pin_file_unreadable": lambda say, v: say("The file %(file)s does not hold a PIN.", **v),
    "nobody_found": lambda say, v: say("Nobody here has the code %(code)s.", **v),
    "code_known": lambda say, v: say("The code %(code)s is taken. Check whether this is the person.", **v),
    "code_does_not_check": lambda say, v: say(
        "The check character of %(code)s does not fit. Type the code again, or use two identifiers.", **v
    ),
    "second_identifier_needed": lambda say, v: say(
        "A code that cannot be checked needs a second identifier."
    ),
    "not_a_birth_date": lambda say, v: say("%(entered)s is not a birth date: year, month, day.", **v),
    "birth_not_plausible": lambda say, v: say("%(entered)s cannot be the birth date of a person here.", **v),
    "birth_not_known": lambda say, v: say("The birth date is not known, so nothing is compared with others."),
    "clock_earlier_than_record": lambda say, v: say(
        "The clock is earlier than the newest record (%(newest)s). Put the clock right; until then no visit "
        "begins.",
        **v,
    ),
    "initials_needed": lambda say, v: say("Initials have %(least)s letters or more.", **v),
    "role_needed": lambda say, v: say("Choose a role."),
    "needs_administer": lambda say, v: say("This is for an account that gives visits."),
    "needs_interpret": lambda say, v: say("This is for an account that reads and signs pages."),
    "needs_site_lead": lambda say, v: say("This is for an account that leads the site."),
    "tablet_not_calibrated": lambda say, v: say("The tablet is not calibrated. Site, Tablet, Card."),
    "leaflet_too_long": lambda say, v: say(
        "The leaflet does not fit on half a page: the site's own sentence is too long.", **v),
    "page_too_full": lambda say, v: say(
        "The page does not fit on one sheet of %(paper)s in this language. The scores are kept: choose "
        "another language (Site, Languages) and open the visit again.", **v),
    "no_folder_to_save": lambda say, v: say("The page could not be saved: %(why)s.", **v),
    "no_printer": lambda say, v: say("No printer is set up on this machine."),
    "printer_did_not_answer": lambda say, v: say(
        "The printer did not answer. Nothing is waiting in it. Save, or try again."
    ),
    "print_cancelled": lambda say, v: say("Printing was cancelled. Nothing is waiting in the printer."),
    "job_not_cancelled": lambda say, v: say(
        "The printer did not answer, and the page may still be waiting in it (%(job)s). Take it out there.",
        **v,
    ),
    "kiosk_keeps_ending": lambda say, v: say(
        "The kiosk ended by itself %(times)s times within a minute and was not started again.", **v
    ),
    "table_for_other": lambda say, v: say("This folder does not hold a reference table."),
    "already_signed": lambda say, v: say("This page is signed already."),
    "visit_voided": lambda say, v: say("This visit was taken out."),
}
