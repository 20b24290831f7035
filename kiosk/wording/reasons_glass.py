"""The tablet in words: finding its touch panel, calibrating it, checking it. Said to staff."""

from kiosk.wording.reasons_comparison import Sentences

PANEL: Sentences = {
    "no_touch_device": lambda say, v: say("This machine has no touch panel that can be read.", **v),
    "touch_devices_closed": lambda say, v: say(
        "The input devices may not be read; the kiosk's user must belong to the group that may.", **v
    ),
    "touch_device_missing": lambda say, v: say("There is no touch panel %(name)s; found: %(known)s.", **v),
    "touch_device_gone": lambda say, v: say(
        "The touch panel does not answer. Check its cable; the visit goes on by itself when it is back."
    ),
    "several_touch_devices": lambda say, v: say(
        "There are several touch panels (%(known)s); the settings must name one.", **v
    ),
}
CALIBRATION: Sentences = {
    "calibration_round_missing": lambda say, v: say(
        "The size must be set twice, each time from the start (%(rounds)s done).", **v
    ),
    "calibration_readings_differ": lambda say, v: say(
        "The two rounds differ by %(differ_percent)s; at most %(most_percent)s is accepted. Set both again.",
        **v,
    ),
    "pixel_density_not_plausible": lambda say, v: say(
        "This size would mean %(px_per_mm)s pixels a millimetre; tablets have %(least)s to %(most)s. "
        "Fit the outline to the card's outer edge.",
        **v,
    ),
    "pixels_stretched": lambda say, v: say(
        "Width and height do not go together (%(across_px_per_mm)s and %(up_px_per_mm)s pixels a "
        "millimetre). Lay the card with its long side across.",
        **v,
    ),
    "ruler_length_short": lambda say, v: say(
        "A length of %(length_mm)s mm is too short to measure by; %(least_mm)s mm or more is needed.", **v
    ),
}
CROSSES: Sentences = {
    "cross_not_touched": lambda say, v: say("%(touched)s of %(needed)s crosses were touched.", **v),
    "touch_off_cross": lambda say, v: say(
        "A touch lay %(worst_mm)s mm from its cross; beyond %(most_mm)s mm a finger on the disc misses it.",
        **v,
    ),
    "touch_beside_cross": lambda say, v: say("A touch lay %(worst_mm)s mm from its cross.", **v),
    "touches_shifted": lambda say, v: say(
        "All touches are shifted the same way, by %(mean_mm)s mm on average.", **v
    ),
    "touches_scattered": lambda say, v: say(
        "The touches scatter around the crosses (%(sd_mm)s mm). Touch them once more, without haste.", **v
    ),
    "touches_stretched": lambda say, v: say(
        "The touch panel and the picture differ in size by %(stretch_percent)s.", **v
    ),
}
CHECK: Sentences = {
    "touch_too_noisy": lambda say, v: say(
        "Touches tremble by %(noise_mm)s mm on their own; at most %(most_mm)s mm is accepted.", **v
    ),
    "touch_noisy": lambda say, v: say("Touches tremble by %(noise_mm)s mm on their own.", **v),
    "touches_missing": lambda say, v: say("%(missing_percent)s of the touches did not come.", **v),
    "refresh_too_slow": lambda say, v: say(
        "The display shows %(refresh_hz)s pictures a second; %(least_hz)s are needed.", **v
    ),
    "refresh_slow": lambda say, v: say("The display shows only %(refresh_hz)s pictures a second.", **v),
    "field_too_small": lambda say, v: say(
        "The window is %(width_mm)s by %(height_mm)s mm; %(needed_width_mm)s by %(needed_height_mm)s mm "
        "are needed.",
        **v,
    ),
    "too_few_flips": lambda say, v: say(
        "Too few pictures were shown to judge the display (%(flips)s, at least %(least)s are needed).", **v
    ),
}
LATENCY: Sentences = {
    "camera_too_slow": lambda say, v: say(
        "The camera takes %(camera_hz)s pictures a second; %(least_hz)s or more are needed.", **v
    ),
    "too_few_passes": lambda say, v: say(
        "%(passes)s passes were counted; at least %(least)s are needed.", **v
    ),
    "latency_not_plausible": lambda say, v: say(
        "A pass of %(found_ms)s ms cannot be right; tablets need %(least_ms)s to %(most_ms)s ms.", **v
    ),
    "passes_differ": lambda say, v: say(
        "The passes differ too much (by %(sd_ms)s ms; at most %(most_ms)s ms). Count them again.", **v
    ),
}
GLASS: Sentences = {**PANEL, **CALIBRATION, **CROSSES, **CHECK, **LATENCY}
