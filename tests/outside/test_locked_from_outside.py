"""The real kiosk whose store only the person at the screen can open; after a crash it is locked again."""

import subprocess
import sys
import time

import pytest

from tests.calm_machine import real_time
from tests.needed_packages import needs
from tests.outside import eyes
from tests.outside.hands import STAFF_CORNER, first_run, new_person, wait_for
from tests.outside.kiosk_process import PASSPHRASE, ROOT, KioskProcess

pytestmark = [pytest.mark.long, needs("xvfb", "xdotool"), real_time]

NAME_S = 1.5
TRIED_S = 6.0


@pytest.fixture
def kiosk(tmp_path):
    """A store set up by command for the account m2."""
    secret = tmp_path / "first"
    secret.write_text(PASSPHRASE + "\n")
    subprocess.run([sys.executable, "-m", "kiosk", "staff", "set-up", "--store", tmp_path / "kiosk.store",
                    "--name", "m2", "--passphrase-file", secret], cwd=ROOT, check=True, capture_output=True)
    process = KioskProcess(tmp_path, opened=False)
    yield process
    if process.running:
        process.close()


def is_locked(picture):
    """A quiet screen without any button."""
    return eyes.is_staff(picture) and not eyes.foot(picture) and not eyes.staff_main(picture) and (
        not eyes.choices(picture))


def keyboard(picture):
    """All keys of the pad for words: a try has been answered."""
    return len(eyes.choices(picture)) == 10 + 9 + 7 + 4


def back(picture):
    """The first of the controls at the foot."""
    return min(place for place in eyes.quiet(picture) if place[1] > 660)


def typed(kiosk, text, answered_s):
    """Words on the keyboard, and time for the answer: a passphrase is tried for a second and more."""
    kiosk.type(text)
    time.sleep(answered_s)


def sign_in(kiosk):
    kiosk.tap(STAFF_CORNER, hold_s=2.4)
    typed(kiosk, "m2", NAME_S)
    typed(kiosk, PASSPHRASE, TRIED_S)


def test_the_passphrase_opens_it_on_the_screen_and_after_a_crash_it_is_locked_again(kiosk):
    assert is_locked(kiosk.picture())
    kiosk.tap(STAFF_CORNER, hold_s=2.4)
    keys = eyes.choices(kiosk.picture())
    assert keyboard(kiosk.picture())
    kiosk.tap(keys[2])  # e, with the finger; a name nobody has
    typed(kiosk, "x", NAME_S)
    typed(kiosk, PASSPHRASE, TRIED_S)  # a wrong try waits a second
    assert keyboard(kiosk.picture())
    kiosk.tap(back(kiosk.picture()))
    typed(kiosk, "m2", NAME_S)
    typed(kiosk, PASSPHRASE, TRIED_S)
    first_run(kiosk)
    new_person(kiosk, "195405")
    assert eyes.choices(kiosk.picture())  # intake
    kiosk.kill()
    wait_for(kiosk, is_locked)
    sign_in(kiosk)
    wait_for(kiosk, eyes.foot)
    assert kiosk.close() != 70
