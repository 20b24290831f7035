"""Why a tablet cannot be measured or is not as it should be: a sentence for each code."""

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
    "offset_drifts": N_("Touches lie %(mean_mm)s mm off the crosses, usually %(usual_mm)s mm."),
    "rate_drifts": N_("Touches come %(rate_hz)s times a second, usually %(usual_hz)s times."),
    "jitter_drifts": N_("Touches tremble by %(noise_mm)s mm, usually by %(usual_mm)s mm."),
    "jitter_in_motion": N_(
        "Touches tremble by %(moving_mm)s mm while the finger moves (%(still_mm)s mm at rest)."
    ),
    "lines_bowed": N_("Straight lines are bent by up to %(bow_mm)s mm."),
    "edges_pulled": N_("Near the edges touches lie up to %(edge_mm)s mm off the line."),
    "dead_zone": N_(
        "Nothing is felt over %(gap_mm)s mm, from %(x_mm)s mm across and %(y_mm)s mm up from the middle."
    ),
    "panel_smooths": N_("The panel smooths touches with a time constant of %(tau_ms)s ms."),
    "line_too_short": N_(
        "The line is %(way_mm)s mm long; at least %(least_mm)s mm are needed. Draw it again."
    ),
    "finger_did_not_rest": N_("The finger moved by %(moved_mm)s mm; let it rest, then lift it."),
    "contact_rate_low": N_(
        "The slowest touch came %(rate_hz)s times a second; %(least_hz)s are needed in every touch."
    ),
    "touch_gaps": N_(
        "The panel is silent for up to %(gap_ms)s ms while the finger moves, %(gap_percent)s of the time."
    ),
    "stamps_clustered": N_(
        "%(clustered_percent)s of the touches share their time with others; new times come every "
        "%(cluster_ms)s ms."
    ),
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
    "too_few_settings": N_("The line was set %(settings)s times; at least %(least)s are needed."),
    "settings_differ": N_(
        "The settings differ too much (standard error %(se_ms)s ms; at most %(most_ms)s ms). Set the line "
        "twice more."
    ),
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
TOUCH_PANEL: Final[Messages] = {**PANEL, **CALIBRATION, **CROSSES, **CHECK, **LATENCY}
