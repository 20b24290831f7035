"""Scoring's codes in words: why a trial is not scored, why a figure is missing, what to mind."""

from typing import Final

from kiosk.i18n.message import N_, Messages

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
    "prediction_needs_both": N_("Prediction needs delay and lag, and one is missing."),
}
RECORDING: Final[Messages] = {**INVALID, **CAUTIONS, **MISSING}
