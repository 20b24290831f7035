"""Why the kiosk refuses a request or a command, in words."""

from typing import Final

from kiosk.i18n.message import N_, Messages

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
