"""The tablet in words: finding its touch panel, calibrating it, checking it. Said to staff."""

from typing import Final

from kiosk.i18n.message import N_, Messages

PANEL: Final[Messages] = {
    "no_touch_device": N_("This machine has no touch panel that can be read."),
    "touch_devices_closed": N_(
        "The input devices may not be read; the kiosk's user must belong to the group that may."
    ),
    "touch_device_missing": N_("There is no touch panel %(name)s; found: %(known)s."),
    "touch_device_gone": N_(
        "The touch panel does not answer. Check its cable; the visit goes on by itself when it is back."
    ),
    "several_touch_devices": N_("There are several touch panels (%(known)s); the settings must name one."),
}
CALIBRATION: Final[Messages] = {
    "calibration_round_missing": N_(
        "The size must be set twice, each time from the start (%(rounds)s done)."
    ),
    "calibration_readings_differ": N_(
        "The two rounds differ by %(differ_percent)s; at most %(most_percent)s is accepted. Set both again."
    ),
    "pixel_density_not_plausible": N_(
        "This size would mean %(px_per_mm)s pixels a millimetre; tablets have %(least)s to %(most)s. Fit the "
        "outline to the card's outer edge."
    ),
    "pixels_stretched": N_(
        "Width and height do not go together (%(across_px_per_mm)s and %(up_px_per_mm)s pixels a "
        "millimetre). Lay the card with its long side across."
    ),
    "ruler_length_short": N_(
        "A length of %(length_mm)s mm is too short to measure by; %(least_mm)s mm or more is needed."
    ),
}
CROSSES: Final[Messages] = {
    "cross_not_touched": N_("%(touched)s of %(needed)s crosses were touched."),
    "touch_off_cross": N_(
        "A touch lay %(worst_mm)s mm from its cross; beyond %(most_mm)s mm a finger on the disc misses it."
    ),
    "touch_beside_cross": N_("A touch lay %(worst_mm)s mm from its cross."),
    "touches_shifted": N_("All touches are shifted the same way, by %(mean_mm)s mm on average."),
    "touches_scattered": N_(
        "The touches scatter around the crosses (%(sd_mm)s mm). Touch them once more, without haste."
    ),
    "touches_stretched": N_("The touch panel and the picture differ in size by %(stretch_percent)s."),
}
CHECK: Final[Messages] = {
    "touch_too_noisy": N_(
        "Touches tremble by %(noise_mm)s mm on their own; at most %(most_mm)s mm is accepted."
    ),
    "touch_noisy": N_("Touches tremble by %(noise_mm)s mm on their own."),
    "touches_missing": N_("%(missing_percent)s of the touches did not come."),
    "refresh_too_slow": N_("The display shows %(refresh_hz)s pictures a second; %(least_hz)s are needed."),
    "refresh_slow": N_("The display shows only %(refresh_hz)s pictures a second."),
    "field_too_small": N_(
        "The window is %(width_mm)s by %(height_mm)s mm; %(needed_width_mm)s by %(needed_height_mm)s mm are "
        "needed."
    ),
    "too_few_flips": N_(
        "Too few pictures were shown to judge the display (%(flips)s, at least %(least)s are needed)."
    ),
}
LATENCY: Final[Messages] = {
    "camera_too_slow": N_(
        "The camera takes %(camera_hz)s pictures a second; %(least_hz)s or more are needed."
    ),
    "too_few_passes": N_("%(passes)s passes were counted; at least %(least)s are needed."),
    "latency_not_plausible": N_(
        "A pass of %(found_ms)s ms cannot be right; tablets need %(least_ms)s to %(most_ms)s ms."
    ),
    "passes_differ": N_(
        "The passes differ too much (by %(sd_ms)s ms; at most %(most_ms)s ms). Count them again."
    ),
}
GLASS: Final[Messages] = {**PANEL, **CALIBRATION, **CROSSES, **CHECK, **LATENCY}
