"""The kiosk from its first set-up to the dropped key: what staff type, what opens, and what stays shut."""

import pytest

from kiosk.errors import Refused
from kiosk.keeping import SignIn, open_store
from tests.clinic.fake_kiosk import PIN, hand_over, intake, new_person, sit_through
from tests.clinic.locked_kiosk import OTHER_WORDS, WORDS, LockedKiosk


@pytest.fixture
def kiosk(tmp_path) -> LockedKiosk:
    return LockedKiosk(tmp_path)


def test_first_set_up(kiosk):
    code = kiosk.set_up()
    assert kiosk.screen == "today"
    assert kiosk.door.session.place == "Harbour Street 4" and len(code) == 39
