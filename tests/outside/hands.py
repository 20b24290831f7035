"""Hands at the kiosk from outside: the staff's clicks, the person's clicks and the person's finger."""

import time

import numpy as np

from kiosk.staff.intake import OPTIONS, STATE, subjects
from tests.outside import eyes
from tests.outside.kiosk_process import RATE_HZ, plan_of

PIN = "481516"
KEYS = {**{str(n): (977 + 106 * ((n - 1) % 3), 197 + 106 * ((n - 1) // 3)) for n in range(1, 10)},
        "0": (1014, 515)}
NEXT = (1145, 709)
STAFF_CORNER, STAFF_CORNER_MIRRORED = (1150, 677), (130, 677)
STOP, STOP_MIRRORED, END_HERE = (100, 95), (1180, 95), (1000, 675)
RING_MM = (0.0, -42.0)  # of the finger check; the panel must feel the finger, not the mouse
OTHER = {"right": "left", "left": "right"}
BLOCKS = [("familiarise", "preferred", 1), *(("steady", "preferred", n) for n in (1, 2, 3)),
          *(("steady", "other", n) for n in (1, 2)), *(("brisk", "preferred", n) for n in (1, 2, 3)),
          *(("wander", "preferred", n) for n in (1, 2))]


def type_digits(kiosk, digits):
    for digit in digits:
        kiosk.press(*KEYS[digit])
    wait_for(kiosk, eyes.staff_main)
    kiosk.tap(NEXT)


def first_run(kiosk):
    type_digits(kiosk, PIN)
    type_digits(kiosk, PIN)


def new_person(kiosk, birth):
    """From today: a person with a code made by the kiosk."""
    kiosk.tap(wait_for(kiosk, eyes.foot)[-1])
    kiosk.tap(wait_for(kiosk, eyes.foot)[0], NEXT)
    type_digits(kiosk, birth)


def intake(kiosk, **answers):
    """Every subject answered: as given, as it stands already, or with the first answer offered."""
    known = {"language": "en"} | answers
    for subject in subjects(known, ()):
        picture = kiosk.picture()
        if subject in answers or not eyes.chosen(picture):
            pick = OPTIONS[subject].index(answers[subject]) if subject in answers else 0
            offered = sorted([*eyes.choices(picture), *eyes.chosen(picture)], key=eyes.in_reading_order)
            kiosk.tap(offered[pick])
        kiosk.tap(NEXT)


def same_as_last_time(kiosk):
    """A repeat visit: all copied but the person's state, which is answered with the first answer."""
    kiosk.tap(eyes.foot(kiosk.picture())[0])
    for _ in STATE:
        kiosk.tap(eyes.choices(kiosk.picture())[0], NEXT)


def hand_over(kiosk):
    while ticks := eyes.choices(kiosk.picture()):
        kiosk.tap(ticks[0])
    kiosk.tap(eyes.staff_main(kiosk.picture())[0], hold_s=0.9)
    kiosk.tap((640, 400))


def to_the_demonstration(kiosk):
    kiosk.tap(eyes.person_main(kiosk.picture())[0])
    kiosk.follow(None, points_mm=np.tile(RING_MM, (RATE_HZ, 1)))
    wait_for(kiosk, eyes.is_demonstration)


def wait_for(kiosk, seen, within_s=40.0):
    """Until a picture shows what is looked for; that."""
    end_s = time.monotonic() + within_s
    while time.monotonic() < end_s:
        if found := seen(kiosk.picture()):
            return found
        time.sleep(0.2)
    kiosk.save_picture("waited-in-vain")
    raise AssertionError(f"{seen.__name__} saw nothing within {within_s} s")


def to_the_next_trial(kiosk, within_s=90.0):
    """Press what the person is offered until a disc waits for the finger; False where it is over."""
    end_s = time.monotonic() + within_s
    while time.monotonic() < end_s:
        picture = kiosk.picture()
        if eyes.is_waiting(picture):
            return True
        if places := eyes.person_main(picture):
            kiosk.press(*places[0])
        elif over(picture):
            return False
        time.sleep(0.3)
    kiosk.save_picture("waited-in-vain")
    raise AssertionError(f"no trial within {within_s} s")


def over(picture):
    """The thanks: a quiet screen of the person without Stop and without any button."""
    stop = (picture[20:170, 20:180] == eyes.CREAM).all(axis=2).mean()
    other = (picture[20:170, 1100:1260] == eyes.CREAM).all(axis=2).mean()
    return not eyes.is_staff(picture) and not eyes.is_trial(picture) and max(stop, other) < 0.01


def sit_through(kiosk, trials=BLOCKS, form="A", side="right", most=24, follow=None, until=None):
    """Every trial shown until it is over, followed with the finger: [(trial, stamps in nanoseconds)].

    Up to so many, or until a trial was done. The progress dots beside the field say which trial it is, as one
    that could not be scored is shown once more.
    """
    done = []
    while len(done) < most and until not in [trial for trial, _ in done] and to_the_next_trial(kiosk):
        trial = trials[eyes.trial_shown(kiosk.picture())]
        plan = plan_of(*trial, form=form, side=side if trial[1] == "preferred" else OTHER[side])
        done.append((trial, kiosk.follow(plan) if follow is None else follow(kiosk, plan, len(done))))
        time.sleep(0.5)
    return done


def end_here(kiosk):
    """The person holds Stop, wherever it stands, ends, and reads that it is saved."""
    kiosk.press(*stop_place(kiosk.picture()), hold_s=0.9)
    wait_for(kiosk, eyes.three_choices)
    kiosk.tap(END_HERE)
    kiosk.tap(eyes.person_main(kiosk.picture())[0])


def stop_place(picture):
    """Stop, in the left or in the right top corner."""
    left = np.all(picture[20:170, 20:180] == np.array(eyes.CREAM), axis=2).mean()
    return STOP if left > 0.01 else STOP_MIRRORED


def to_the_page(kiosk):
    """Nothing to note, the results, the page, and there Save, which stands before Sign."""
    kiosk.tap(wait_for(kiosk, eyes.staff_main)[0])
    wait_for(kiosk, eyes.foot)
    kiosk.tap(NEXT)
    saved = len(list(kiosk.pages.glob("*.pdf")))
    kiosk.tap(wait_for(kiosk, eyes.foot)[-2])
    wait_for(kiosk, lambda _: len(list(kiosk.pages.glob("*.pdf"))) > saved)


def back_to_today(kiosk):
    """From the page just saved."""
    kiosk.tap(NEXT)
    wait_for(kiosk, eyes.foot)
    kiosk.tap(wait_for(kiosk, eyes.quiet)[-1])


def find_again(kiosk, code):
    """From today: the code on the person's card, read by a scanner; two people do not look alike here."""
    kiosk.scan(code)
    wait_for(kiosk, eyes.choices)


def staff_come(kiosk, corner=STAFF_CORNER):
    kiosk.tap(corner, hold_s=2.4)
    type_digits(kiosk, PIN)
    wait_for(kiosk, pad_gone)


def pad_gone(picture):
    """Whether no pad of digits is on the window."""
    x, y = KEYS["1"]
    return not any(abs(one[0] - x) < 20 and abs(one[1] - y) < 20 for one in eyes.choices(picture))
