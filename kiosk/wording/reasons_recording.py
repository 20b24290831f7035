"""Scoring's codes in words: why a trial is not scored, why a figure is missing, what to mind."""

from kiosk.wording.reasons_comparison import Sentences

INVALID: Sentences = {
    "window_cut_short": lambda say, v: say("The recording does not cover the scored time.", **v),
    "little_contact": lambda say, v: say(
        "The finger was on the glass %(contact_percent)s of the time; %(least_percent)s is needed.", **v
    ),
    "low_touch_rate": lambda say, v: say(
        "The glass gave %(rate_hz)s touches a second; %(least_hz)s are needed.", **v
    ),
    "frame_gap": lambda say, v: say("The picture stood still for %(gap_ms)s ms.", **v),
    "frames_dropped": lambda say, v: say("%(dropped_percent)s of the pictures were not shown.", **v),
    "not_calibrated": lambda say, v: say("The screen was not calibrated.", **v),
    "finger_lost": lambda say, v: say("The finger that began was lost.", **v),
    "finger_jumped": lambda say, v: say("The finger jumped by %(jump_mm)s mm.", **v),
    "second_contact": lambda say, v: say("Something else touched the glass %(percent)s of the time.", **v),
    "wrong_hand": lambda say, v: say("Staff saw the wrong hand.", **v),
    "helped_by_touch": lambda say, v: say("Staff saw that the hand was helped by touch.", **v),
}
CAUTIONS: Sentences = {
    "contact_below_95": lambda say, v: say(
        "The finger was on the glass %(contact_percent)s of the time.", **v
    ),
    "uneven_sampling": lambda say, v: say(
        "Touches came unevenly (%(p95_ms)s ms apart at times, usually %(median_ms)s ms).", **v
    ),
    "touches_lost": lambda say, v: say("Touches of %(lost_ms)s ms were lost before they were read.", **v),
    "did_not_follow": lambda say, v: say("The hand hardly followed the disc.", **v),
    "delay_may_be_longer": lambda say, v: say(
        "The delay is not sure: more than %(limit_ms)s ms behind cannot be told from less.", **v
    ),
}
MISSING: Sentences = {
    "contact_below_80": lambda say, v: say(
        "The finger was on the glass too little to tell scatter and time from each other.", **v
    ),
    "hand_did_not_move": lambda say, v: say("The hand did not move with the disc.", **v),
    "no_contact": lambda say, v: say("The finger was not on the glass.", **v),
    "block_not_run": lambda say, v: say("This part was not done.", **v),
    "not_on_its_scale": lambda say, v: say("A trial's value cannot be put on the scale of comparison.", **v),
    "too_few_valid_trials": lambda say, v: say("Too few trials are fit to be scored.", **v),
    "lag_needs_both": lambda say, v: say("Lag needs both circles, and one is missing.", **v),
    "no_regular_shake": lambda say, v: say("No regular shake stands out.", **v),
    "shake_not_judged": lambda say, v: say(
        "The finger was on the glass too little at a time to tell a regular shake.", **v
    ),
    "shake_needs_rate": lambda say, v: say("The glass gave too few touches a second to tell its size.", **v),
    "shake_needs_filter": lambda say, v: say("What the glass smooths away is not known.", **v),
    "prediction_needs_both": lambda say, v: say("Prediction needs delay and lag, and one is missing.", **v),
}
RECORDING: Sentences = {**INVALID, **CAUTIONS, **MISSING}
