"""Why the kiosk refuses a request or a command, in words."""

from kiosk.wording.reasons_comparison import Sentences

KIOSK: Sentences = {
    "paper_unknown": lambda say, v: say("There is no paper %(paper)s; known: %(known)s.", **v),
    "script_not_on_page": lambda say, v: say("The page cannot be written in the script %(script)s yet.", **v),
    "characters_not_in_font": lambda say, v: say(
        "The font of the script %(script)s has no sign for %(characters)s.", **v
    ),
    "calibration_for_other_window": lambda say, v: say(
        "The calibration is for a window of %(calibrated_px)s pixels, this one has %(window_px)s.", **v
    ),
    "file_is_faulty": lambda say, v: say("%(file)s cannot be read: %(count)s faults.", **v),
    "system_packages_missing": lambda say, v: say("System packages are missing: %(names)s.", **v),
    "font_not_cut": lambda say, v: say(
        "The font file %(file)s is missing; set-up makes it: python -m kiosk.fonts.", **v
    ),
    "script_unknown": lambda say, v: say(
        "There is no font for the script %(script)s; known: %(known)s.", **v
    ),
    "weight_unknown": lambda say, v: say("There is no font of weight %(weight)s; known: %(known)s.", **v),
    "language_unknown": lambda say, v: say("There is no catalogue for the language %(tag)s.", **v),
    "no_recordings": lambda say, v: say(
        "The folder %(folder)s holds no recording that bears a trial's name.", **v
    ),
    "findings_unreadable": lambda say, v: say("%(file)s does not hold findings.", **v),
    "wrong_usage": lambda say, v: say("%(command)s: %(message)s.", **v),
    "trial_not_named": lambda say, v: say("A single recording needs %(option)s.", **v),
    "unknown_block": lambda say, v: say(
        "There is no block %(block)s with the %(hand)s hand; known: %(known)s.", **v
    ),
    "unknown_trial": lambda say, v: say("%(block)s has trials 1 to %(trials)s, not %(trial)s.", **v),
    "unknown_person": lambda say, v: say("This person is not in the store.", **v),
    "unknown_device": lambda say, v: say("This tablet is not in the store.", **v),
    "unknown_visit": lambda say, v: say("There is no visit %(visit)s in the store.", **v),
}
