"""A plain sentence for every reason code and for every fault of a file.

Codes come from kiosk.base.errors (refused, wrong usage), from norms (refusals, warnings), from scoring
(reasons and cautions of validity) and from touch (what a check of the tablet finds). An unknown code is an
error in the code and raises.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

import norms
from kiosk.base.errors import Fault
from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Message, Messages
from kiosk.wording.facts_worded import plain, worded
from kiosk.wording.tablet_reasons import TOUCH_PANEL


def sentence(code: str, values: Mapping[str, object], language: Language) -> str:
    """The reason in one plain sentence; ValueError for a code without words."""
    if code not in SENTENCES:
        raise ValueError(f"code, must be one that has a sentence, got {code!r}")
    return language.say_message(SENTENCES[code], **worded(values, language))


def fault_sentence(fault: Fault, language: Language) -> str:
    """One fault of a file with its place, rule and value."""
    say = language.say
    place = Path(fault.file).name
    if fault.row is not None:
        place = say("%(place)s, row %(row)s", place=place, row=fault.row)
    if fault.column is not None:
        place = say("%(place)s, column %(column)s", place=place, column=fault.column)
    rule = rule_words(fault.rule, language)
    if fault.value is None:
        return say("%(place)s: %(rule)s.", place=place, rule=rule)
    return say("%(place)s: %(rule)s, got %(value)s.", place=place, rule=rule, value=plain(fault.value))


def rule_words(rule: str, language: Language) -> str:
    """What a file must hold, as a phrase; ValueError for a rule without words."""
    if rule not in RULES:
        raise ValueError(f"rule, must be one that has words, got {rule!r}")
    return language.say_message(RULES[rule])


REFUSALS: Final[Messages] = {
    "no_table_loaded": N_("No table is loaded."),
    "earlier_was_training": N_("A visit for training is not compared with."),
    **{code: Message(text) for code, text in norms.REFUSALS.items()},
}
WARNINGS: Final[Messages] = {code: Message(text) for code, text in norms.WARNINGS.items()}


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
    "date_doubted": N_("The date is in doubt, as the clock was wrong, so nothing is compared until the site "
                       "lead confirms it."),
    "earlier_date_doubted": N_("The date of the earlier visit is in doubt, so it is not compared with."),
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


RULES: Final[Messages] = {
    "cannot_be_read": N_("cannot be read"),
    "is_empty": N_("is empty"),
    "must_be_utf8_text": N_("must be UTF-8 text"),
    "must_be_comma_separated": N_("must be separated by commas"),
    "must_have_the_columns_of_a_recording": N_("must begin with the columns t_s, x_mm, y_mm and contact"),
    "column_missing": N_("the column is missing"),
    "column_unknown": N_("the column is not known"),
    "column_twice": N_("the column stands twice"),
    "must_have_as_many_fields_as_the_header": N_("must have as many fields as the header"),
    "must_have_two_samples": N_("must hold at least two samples"),
    "must_be_a_number": N_("must be a number"),
    "must_be_finite": N_("must be a finite number"),
    "must_be_0_or_1": N_("must be 0 or 1"),
    "must_be_within_a_million": N_("must lie within a million"),
    "must_not_run_backwards": N_("time must not run backwards"),
    "not_a_message_catalogue": N_("must be a message catalogue"),
    "must_keep_the_placeholders": N_("must keep the placeholders of the message"),
    "must_be_a_literal_message": N_("a message must stand as a literal in its call"),
    "must_hold_every_message": N_("must hold every message of the source"),
    "must_stand_in_the_source": N_("must stand in the source"),
    "must_be_translated": N_("must be translated"),
    "must_be_looked_at_again": N_("must be looked at again, since the English has changed"),
    "must_have_every_plural_form": N_("must have every plural form"),
    "must_be_in_letters_of_the_font": N_("must be in letters that the font has"),
    "must_not_hold_a_forbidden_word": N_("must not hold a word that is never said"),
    "must_write_digits_0_to_9": N_("must write its digits as 0 to 9"),
    "must_keep_the_spaces_at_its_ends": N_("must keep the spaces at its ends"),
    "must_differ_from_the_source": N_("must differ from the English"),
    "must_keep_the_marks": N_("must keep the marks of the message"),
    "must_not_steer_the_order_of_letters": N_("must hold no sign that turns letters round"),
    "must_say_how_people_are_addressed": N_("must say in its header how people are addressed"),
    "must_be_saved_as_csv": N_("must be saved from the spreadsheet as CSV, in UTF-8 or UTF-16"),
    "must_have_the_columns": N_("must have its columns as they were written"),
    "must_stand_in_the_catalogue": N_("must stand in the catalogue"),
    "must_be_left_as_it_was": N_("must be left as it was"),
    "must_be_spoken_anew": N_("must be spoken anew, since its words have changed"),
    "must_fit_its_button": N_("must fit its button"),
    "must_fit_its_place": N_("must fit its place on the screen"),
    "must_stay_on_the_glass": N_("must stay on the glass"),
    "must_lie_clear": N_("must lie clear of what stands beside it"),
    "must_pass_msgfmt": N_("must pass msgfmt"),
    "must_be_a_language_and_a_sentence": N_("must be a language, a colon and a sentence (en: ...)"),
    "must_name_a_language_once": N_("the language stands twice"),
    "must_be_short_enough": N_("must be at most 200 characters long"),
    "must_be_a_known_status": N_("must be a known status"),
}


KIOSK: Final[Messages] = {
    "paper_unknown": N_("There is no paper %(paper)s; known: %(known)s."),
    "characters_not_in_font": N_("The font of the script %(script)s has no sign for %(characters)s."),
    "calibration_for_other_window": N_(
        "The calibration is for a window of %(calibrated_px)s pixels, this one has %(window_px)s."
    ),
    "file_is_faulty": N_("%(file)s cannot be read: %(count)s faults."),
    "system_packages_missing": N_("System packages are missing: %(names)s."),
    "font_missing": N_("The font file %(file)s is missing: the program has to be installed again."),
    "no_speaker": N_("Draft speech needs %(program)s, which is not installed here."),
    "speaker_has_no_voice": N_("%(program)s has no voice for the language %(tag)s."),
    "script_unknown": N_("There is no font for the script %(script)s; known: %(known)s."),
    "weight_unknown": N_("There is no font of weight %(weight)s; known: %(known)s."),
    "language_unknown": N_("There is no catalogue for the language %(tag)s."),
    "no_recordings": N_("The folder %(folder)s holds no recording that bears a trial's name."),
    "not_named_as_a_trial": N_(
        "%(file)s does not bear a trial's name, such as v1-02-steady-preferred-1.csv."
    ),
    "plot_kind_unknown": N_("%(file)s must end in one of %(known)s."),
    "plot_folder_as_pdf": N_("%(file)s must end in .pdf: a folder gives one page for each trial."),
    "nothing_to_plot": N_("%(file)s does not cover the scored time of a trial."),
    "findings_unreadable": N_("%(file)s does not hold findings."),
    "wrong_usage": N_("%(command)s: %(message)s."),
    "trial_not_named": N_("A single recording needs %(option)s."),
    "unknown_block": N_("There is no block %(block)s with the %(hand)s hand; known: %(known)s."),
    "unknown_trial": N_("%(block)s has trials 1 to %(trials)s, not %(trial)s."),
    "cannot_write": N_("%(file)s cannot be written: %(why)s."),
    "exists_already": N_("%(file)s exists already. Name a new one, or move it away."),
    "identified_is_for_one_visit": N_("--identified is for one visit, not for all."),
    "one_visit_goes_out_as_fhir": N_("One visit goes out as a FHIR bundle (--to fhir), got --to %(to)s."),
    "not_agreed_to_research": N_(
        "The person has not agreed to research use of the visit %(visit)s. Name --identified to file it in a "
        "record system."
    ),
    "demo_table_faulty": N_(
        "The demonstration table in %(folder)s cannot be read: %(faults)s faults; norms check names them."
    ),
    "catalogue_has_faults": N_("The catalogue %(tag)s has %(count)s faults; languages check names them."),
    "initials_wanted": N_("%(initials)s are not initials: one to four letters."),
    "adaptation_part_missing": N_("%(part)s is not recorded yet; it comes before this."),
    "adaptation_not_independent": N_("%(initials)s translated forward; this part needs someone else."),
    "no_display": N_("There is no display to open a window on."),
    "no_touch_device": N_("No touch panel was found."),
    "touch_devices_closed": N_("Input devices are there (%(count)s), but none may be read by this user."),
    "touch_device_missing": N_("There is no touch panel %(name)s; found: %(known)s."),
    "several_touch_devices": N_("There are several touch panels; name one of them: %(known)s."),
    "no_touch_pipe": N_("%(file)s is no named pipe to read touches from."),
    "touch_wanted": N_("--touch-ranges goes with --touch and the path of a named pipe."),
    "no_window": N_("No window could be opened."),
    "window_size_fixed": N_("The window has %(window_px)s pixels where %(wanted_px)s are wanted."),
    "too_few_touches": N_(
        "Too few touches while the finger moved (%(moving_intervals)s, at least %(least)s are needed)."
    ),
}
STORE: Final[Messages] = {
    "unknown_person": N_("This person is not in the store."),
    "unknown_device": N_("This tablet is not in the store."),
    "unknown_visit": N_("There is no visit %(visit)s in the store."),
    "unknown_calibration": N_("This calibration is not in the store."),
    "unknown_findings": N_("These findings are not in the store."),
    "unknown_reference_table": N_("The reference table %(sha256)s is not in the store."),
    "page_tag_on_several": N_(
        "The page tag %(page_tag)s belongs to %(visits)s visits; name the visit by its id."
    ),
    "device_known_otherwise": N_("This tablet is in the store with other properties."),
    "visit_not_scored": N_("The visit %(visit)s has not been scored."),
    "no_such_store": N_("There is no store %(file)s."),
    "not_our_file": N_("%(file)s is not a store of this kiosk."),
    "newer_schema": N_(
        "%(file)s was written by a newer kiosk (layout %(file_has)s; %(known)s is known here)."
    ),
    "store_unreadable": N_("The store cannot be read: %(found)s."),
    "store_read_only": N_("The store cannot be written to."),
    "store_busy": N_("Another program holds the store."),
    "immutable": N_("What is kept is not changed: %(found)s."),
    "refers_to_unknown": N_("The entry refers to one that is not in the store."),
    "already_kept": N_("The store holds this entry already."),
    "samples_format_unknown": N_("The samples are kept in format %(found)s; %(known)s is known here."),
    "samples_unreadable": N_("The samples of a trial cannot be read (%(found)s)."),
    "samples_not_from_raw": N_("The samples of %(block)s, trial %(trial)s do not follow from its raw touch."),
    "trial_without_raw_touch": N_("%(block)s, trial %(trial)s has no raw touch, so it is not kept."),
    "trial_without_calibration": N_("%(block)s, trial %(trial)s has no calibration, so it is not kept."),
}


INVALID: Final[Messages] = {
    "window_cut_short": N_("The recording does not cover the scored time."),
    "little_contact": N_(
        "The finger was on the glass %(contact_percent)s of the time; %(least_percent)s is needed."
    ),
    "low_touch_rate": N_("The glass gave %(rate_hz)s touches a second; %(least_hz)s are needed."),
    "frame_gap": N_("The picture stood still for %(gap_ms)s ms (at most %(most_ms)s ms)."),
    "frames_dropped": N_("%(dropped_percent)s of the pictures were not shown."),  # told until 0.1
    "pictures_late": N_(
        "The picture was late by %(age)s ms on average (at most %(most)s ms), "
        "for %(late_percent)s of the time."
    ),
    "not_calibrated": N_("The screen was not calibrated."),
    "finger_lost": N_("The finger that began was lost."),
    "finger_jumped": N_("The finger jumped by %(jump_mm)s mm."),
    "second_contact": N_("Something else touched the glass %(percent)s of the time."),
    "wrong_hand": N_("Staff saw the wrong hand."),
    "helped_by_touch": N_("Staff saw that the hand was helped by touch."),
}
CAUTIONS: Final[Messages] = {
    "contact_below_95": N_("The finger was on the glass %(contact_percent)s of the time."),
    "uneven_sampling": N_("Touches came unevenly (%(p95_ms)s ms apart at times, usually %(median_ms)s ms)."),
    "touches_lost": N_("Touches of %(lost_ms)s ms were lost before they were read."),
    "did_not_follow": N_("The hand hardly followed the disc."),
    "delay_may_be_longer": N_(
        "The delay is not sure: more than %(limit_ms)s ms behind cannot be told from less."
    ),
}
MISSING: Final[Messages] = {
    "contact_below_80": N_(
        "The finger was on the glass too little to tell scatter and time from each other."
    ),
    "hand_did_not_move": N_("The hand did not move with the disc."),
    "no_contact": N_("The finger was not on the glass."),
    "block_not_run": N_("This part was not done."),
    "not_on_its_scale": N_("A trial's value cannot be put on the scale of comparison."),
    "too_few_valid_trials": N_("Too few trials are fit to be scored."),
    "lag_needs_both": N_("Lag needs both circles, and one is missing."),
    "no_regular_shake": N_("No regular shake stands out."),
    "shake_not_judged": N_("The finger was on the glass too little at a time to tell a regular shake."),
    "shake_needs_rate": N_("The glass gave too few touches a second to tell its size."),
    "shake_needs_filter": N_("What the glass smooths away is not known."),
    "shake_smoothed": N_("The glass smooths touches too much to tell its size."),
    "prediction_needs_both": N_("Prediction needs delay and lag, and one is missing."),
}
RECORDING: Final[Messages] = {**INVALID, **CAUTIONS, **MISSING}


DEPLOYMENT: Final[Messages] = {
    "needs_root": N_("This changes the machine and needs the rights of root (sudo)."),
    "settings_unreadable": N_("The settings in %(file)s cannot be read: %(found)s."),
    "settings_wrong": N_(
        "%(file)s has settings that are not known or hold a value of another kind: %(names)s; known: "
        "%(known)s."
    ),
    "wheel_unreadable": N_("%(file)s is no package that can be unpacked."),
    "package_not_made": N_("%(program)s did not make its part: %(found)s."),
    "no_checkout": N_("A bundle is made from the project's folder, which is not here."),
    "bundle_folder_used": N_("The folder %(folder)s must be empty or new."),
    "architecture_unknown": N_("There is no bundle for %(found)s machines; known: %(known)s."),
    "key_unreadable": N_("%(file)s holds no Ed25519 key that can be read."),
    "update_unreadable": N_("%(file)s is no update, or not a whole one."),
    "update_not_signed": N_("%(file)s is not signed with the key that this machine knows."),
    "update_changed": N_("%(file)s was changed after it was signed, or is not whole."),
    "update_not_newer": N_("Version %(found)s is not later than %(running)s, which runs here."),
    "update_for_other_machine": N_("The update is for %(found)s; this machine has %(wanted)s."),
    "update_changes_store": N_(
        "Version %(version)s changes the store's layout: name who opens it (--name, --passphrase-file)."
    ),
    "update_proves_nothing": N_(
        "Version %(version)s did not come through a demo visit (exit %(code)s); the old one goes on."
    ),
    "update_store_not_changed": N_(
        "Version %(version)s could not bring a copy of the store to its layout; the old one goes on."
    ),
    "update_one_thing": N_("update takes one of: a file, --back, --new-key."),
    "no_version_before": N_("There is no version before this one to go back to."),
    "record_unreadable": N_("The record of changes in %(file)s cannot be read."),
}


STORAGE: Final[Messages] = {
    "key_of_other_store": N_("%(file)s was not locked with this key."),
    "store_damaged": N_(
        "A part of the store has been damaged; nothing more is written. Restore the newest backup."
    ),
    "store_cut_short": N_(
        "The end of %(file)s is missing; nothing more is written. Restore the newest backup."
    ),
    "older_schema": N_("%(file)s has the older layout %(file_has)s; kiosk upgrade brings it to %(known)s."),
    "store_full": N_(
        "The disk is full, so nothing new is kept. What was kept is safe. Make room, then go on."
    ),
    "disk_in_trouble": N_("The disk does not work as it should, so nothing new is kept. Call the site lead."),
    "store_without_keys": N_("%(file)s is there without its key file; put the key file back beside it."),
    "no_keys": N_("There is no key file %(file)s; set the store up first."),
    "keys_exist": N_("There is a key file %(file)s already."),
    "keys_unreadable": N_("The key file %(file)s cannot be read."),
    "wrong_passphrase": N_("This name and passphrase do not open %(file)s."),
    "wrong_recovery_code": N_("This recovery code does not open %(file)s."),
    "wait_to_try": N_("Wait %(wait_s)s s, then try again."),
    "passphrase_short": N_("A passphrase has %(least)s letters or more; a few words make a good one."),
    "passphrase_long": N_("A passphrase has %(most)s letters or fewer."),
    "passphrase_easily_guessed": N_("A passphrase has %(least)s different letters or more."),
    "passphrases_differ": N_("The two passphrases differ. Choose one again."),
    "code_not_written_down": N_("This is not the last group of the code. Look at it again."),
    "passphrase_file_unreadable": N_("No passphrase can be read from %(file)s."),
    "name_taken": N_("The name %(name)s is taken."),
    "last_slot": N_("This is the last passphrase that opens the store; add another first."),
    "role_unknown": N_("There is no role %(role)s; known: %(known)s."),
    "role_not_held": N_("This needs the role %(role)s."),
    "last_site_lead": N_("This is the last site lead; name another first."),
    "unknown_account": N_("There is no account %(staff)s."),
    "no_accounts": N_("This kiosk keeps nothing, so it has no accounts."),
    "account_closed": N_("This account is closed."),
    "store_locked": N_("The store is locked; a passphrase opens it."),
    "not_an_anchor": N_("%(found)s is not the audit's head as a page bears it."),
    "audit_broken": N_("The audit does not hold: %(count)s breaks."),
    "backup_incomplete": N_("%(file)s is not a whole backup: %(missing)s is missing."),
    "backup_unsound": N_("The backup %(file)s is not sound: %(found)s."),
    "backup_stopped": N_("The backup was not made: %(found)s."),
    "store_in_the_way": N_("%(file)s is there already; nothing is put over it."),
    "visit_in_progress": N_("A visit is in progress; this waits until it has ended."),
    "nothing_for_research": N_(
        "No scored visit of purpose reference or retest whose person agreed to research use."
    ),
    "unknown_code": N_("Nobody in the store has the code %(code)s."),
    "code_on_several": N_("%(count)s people have the code %(code)s; name one by id."),
    "erasure_reason_unknown": N_("There is no reason %(reason)s; known: %(known)s."),
    "migration_undone": N_("The store keeps its layout: %(found)s."),
    "server_away": N_("The server does not answer; everything stays here until it does."),
    "server_file_unreadable": N_("The server's address cannot be read from %(file)s."),
    "server_login_name": N_("A login of the server has lower-case letters, digits and underscores only, "
                            "got %(found)s."),
    "sync_not_enrolled": N_("%(kiosk)s is not on a trust list of the site; see kiosk trust in the handbook "
                            "for clinic IT."),
    "signing_key_needed": N_("Name the key file with --key."),
    "signing_key_unreadable": N_("%(file)s is not a key file for signing."),
    "trust_list_unreadable": N_("%(file)s is not a trust list."),
    "trust_list_not_signed": N_("%(file)s is not signed by the site that it names."),
    "trust_list_of_other_site": N_("The list is signed by %(found)s: load it with that --fingerprint."),
    "trust_list_older": N_("The list has number %(found)s, and number %(known)s is known."),
    "server_not_ours": N_("The server has not been set up for this layout of the store."),
    "server_without_tls": N_(
        "The server %(host)s is not on this machine: name the file of the certificate that vouches for it."
    ),
    "server_not_vouched_for": N_(
        "The server shows a certificate that the one you named does not vouch for; nothing was sent."
    ),
    "server_other_name": N_("The server shows a certificate of another name; nothing was sent."),
    "server_speaks_plainly": N_("The server does not encrypt; nothing was sent."),
    "server_login_refused": N_("The server does not let this user in; look at user, password and database."),
    "site_pack_unreadable": N_("%(file)s is not a site pack."),
    "site_pack_changed": N_("%(file)s does not hold what it says it holds."),
    "fingerprint_differs": N_("The fingerprint is %(found)s, not %(wanted)s."),
}

SENTENCES: Final[Messages] = {
    **WARNINGS, **REFUSALS, **RECORDING, **TOUCH_PANEL, **KIOSK, **STORE, **STORAGE, **DESK,
    **DEPLOYMENT,
}  # fmt: skip
