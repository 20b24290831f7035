"""Why the kiosk refuses a request or a command, in words."""

from kiosk.wording.reasons_comparison import Sentences

KIOSK: Sentences = {
    "paper_unknown": lambda say, v: say("There is no paper %(paper)s; known: %(known)s.", **v),
    "characters_not_in_font": lambda say, v: say(
        "The font of the script %(script)s has no sign for %(characters)s.", **v
    ),
    "calibration_for_other_window": lambda say, v: say(
        "The calibration is for a window of %(calibrated_px)s pixels, this one has %(window_px)s.", **v
    ),
    "file_is_faulty": lambda say, v: say("%(file)s cannot be read: %(count)s faults.", **v),
    "system_packages_missing": lambda say, v: say("System packages are missing: %(names)s.", **v),
    "font_not_cut": lambda say, v: say(
        "The font file %(file)s is missing; set-up makes it: python -m kiosk.i18n.fonts.", **v
    ),
    "no_speaker": lambda say, v: say("Draft speech needs %(program)s, which is not installed here.", **v),
    "speaker_has_no_voice": lambda say, v: say("%(program)s has no voice for the language %(tag)s.", **v),
    "script_unknown": lambda say, v: say(
        "There is no font for the script %(script)s; known: %(known)s.", **v
    ),
    "weight_unknown": lambda say, v: say("There is no font of weight %(weight)s; known: %(known)s.", **v),
    "language_unknown": lambda say, v: say("There is no catalogue for the language %(tag)s.", **v),
    "no_recordings": lambda say, v: say(
        "The folder %(folder)s holds no recording that bears a trial's name.", **v
    ),
    "not_named_as_a_trial": lambda say, v: say(
        "%(file)s does not bear a trial's name, such as v1-02-steady-preferred-1.csv.", **v
    ),
    "plot_kind_unknown": lambda say, v: say("%(file)s must end in one of %(known)s.", **v),
    "plot_folder_as_pdf": lambda say, v: say(
        "%(file)s must end in .pdf: a folder gives one page for each trial.", **v
    ),
    "nothing_to_plot": lambda say, v: say("%(file)s does not cover the scored time of a trial.", **v),
    "findings_unreadable": lambda say, v: say("%(file)s does not hold findings.", **v),
    "wrong_usage": lambda say, v: say("%(command)s: %(message)s.", **v),
    "trial_not_named": lambda say, v: say("A single recording needs %(option)s.", **v),
    "unknown_block": lambda say, v: say(
        "There is no block %(block)s with the %(hand)s hand; known: %(known)s.", **v
    ),
    "unknown_trial": lambda say, v: say("%(block)s has trials 1 to %(trials)s, not %(trial)s.", **v),
    "cannot_write": lambda say, v: say("%(file)s cannot be written: %(why)s.", **v),
    "demo_table_faulty": lambda say, v: say(
        "The demonstration table in %(folder)s cannot be read: %(faults)s faults; norms check names them.",
        **v,
    ),
    "catalogue_has_faults": lambda say, v: say(
        "The catalogue %(tag)s has %(count)s faults; languages check names them.", **v
    ),
    "initials_wanted": lambda say, v: say("%(initials)s are not initials: one to four letters.", **v),
    "adaptation_part_missing": lambda say, v: say("%(part)s is not recorded yet; it comes before this.", **v),
    "adaptation_not_independent": lambda say, v: say(
        "%(initials)s translated forward; this part needs someone else.", **v
    ),
    "no_display": lambda say, v: say("There is no display to open a window on.", **v),
    "no_touch_device": lambda say, v: say("No touch panel was found.", **v),
    "touch_devices_closed": lambda say, v: say(
        "Input devices are there (%(count)s), but none may be read by this user.", **v
    ),
    "touch_device_missing": lambda say, v: say("There is no touch panel %(name)s; found: %(known)s.", **v),
    "several_touch_devices": lambda say, v: say(
        "There are several touch panels; name one of them: %(known)s.", **v
    ),
    "no_touch_pipe": lambda say, v: say("%(file)s is no named pipe to read touches from.", **v),
    "touch_wanted": lambda say, v: say("--touch-ranges goes with --touch and the path of a named pipe.", **v),
    "no_window": lambda say, v: say("No window could be opened.", **v),
    "window_size_fixed": lambda say, v: say(
        "The window has %(window_px)s pixels where %(wanted_px)s are wanted.", **v
    ),
    "too_few_touches": lambda say, v: say(
        "Too few touches while the finger moved (%(moving_intervals)s, at least %(least)s are needed).", **v
    ),
}
STORE: Sentences = {
    "unknown_person": lambda say, v: say("This person is not in the store.", **v),
    "unknown_device": lambda say, v: say("This tablet is not in the store.", **v),
    "unknown_visit": lambda say, v: say("There is no visit %(visit)s in the store.", **v),
    "unknown_calibration": lambda say, v: say("This calibration is not in the store.", **v),
    "unknown_findings": lambda say, v: say("These findings are not in the store.", **v),
    "unknown_reference_table": lambda say, v: say("The reference table %(sha256)s is not in the store.", **v),
    "page_tag_on_several": lambda say, v: say(
        "The page tag %(page_tag)s belongs to %(visits)s visits; name the visit by its id.", **v
    ),
    "device_known_otherwise": lambda say, v: say("This tablet is in the store with other properties.", **v),
    "visit_not_scored": lambda say, v: say("The visit %(visit)s has not been scored.", **v),
    "no_such_store": lambda say, v: say("There is no store %(file)s.", **v),
    "not_our_file": lambda say, v: say("%(file)s is not a store of this kiosk.", **v),
    "newer_schema": lambda say, v: say(
        "%(file)s was written by a newer kiosk (layout %(file_has)s; %(known)s is known here).", **v
    ),
    "store_unreadable": lambda say, v: say("The store cannot be read: %(found)s.", **v),
    "store_read_only": lambda say, v: say("The store cannot be written to.", **v),
    "store_busy": lambda say, v: say("Another program holds the store.", **v),
    "immutable": lambda say, v: say("What is kept is not changed: %(found)s.", **v),
    "refers_to_unknown": lambda say, v: say("The entry refers to one that is not in the store.", **v),
    "already_kept": lambda say, v: say("The store holds this entry already.", **v),
    "samples_format_unknown": lambda say, v: say(
        "The samples are kept in format %(found)s; %(known)s is known here.", **v
    ),
    "samples_unreadable": lambda say, v: say("The samples of a trial cannot be read (%(found)s).", **v),
    "samples_not_from_raw": lambda say, v: say(
        "The samples of %(block)s, trial %(trial)s do not follow from its raw touch.", **v
    ),
    "trial_without_raw_touch": lambda say, v: say(
        "%(block)s, trial %(trial)s has no raw touch, so it is not kept.", **v
    ),
    "trial_without_calibration": lambda say, v: say(
        "%(block)s, trial %(trial)s has no calibration, so it is not kept.", **v
    ),
}
