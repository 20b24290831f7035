"""The example of DEVELOPERS.md, a further staff screen: registered as told there it opens and leads back."""

import re
import sys
from dataclasses import replace
from pathlib import Path
from shutil import disk_usage
from types import ModuleType

import pytest

from kiosk.app.driver import KioskDriver
from kiosk.app.effects import carry_out, follow
from kiosk.staff import features
from kiosk.staff.actions import StaffAction
from kiosk.staff.today import TodayAction
from kiosk.visits.staff import AtWork
from tests.app.fake_kiosk import FakeKiosk

ROOT = Path(__file__).resolve().parents[2]
TOLD = (ROOT / "DEVELOPERS.md").read_text("utf-8").partition("## A further staff screen")[2]


@pytest.fixture
def example(monkeypatch) -> ModuleType:
    """The module as it stands in DEVELOPERS.md, and its effect carried out as told there."""
    module, carried_out = re.findall(r"```python\n(.*?)```", TOLD, re.DOTALL)
    made = ModuleType("free_space")
    monkeypatch.setitem(sys.modules, "free_space", made)  # dataclasses look their module up
    exec(module, vars(made))
    exec(carried_out, {**vars(made), "carry_out": carry_out, "KioskDriver": KioskDriver,
                       "disk_usage": disk_usage})
    return made


@pytest.fixture
def kiosk(tmp_path, example) -> FakeKiosk:
    kiosk = FakeKiosk(tmp_path)
    kiosk.driver = KioskDriver(kiosk.deps, carry_out, follow, (*features.TILES, example.TILE))
    kiosk.unlock()
    return kiosk


def test_it_is_opened_from_the_site_and_says_what_the_kiosk_found(kiosk, example):
    kiosk.do(TodayAction.SITE)
    assert kiosk.view.rows[-1].action == example.TILE and kiosk.view.rows[-1].cells == ("Free space", "")
    kiosk.do(example.TILE)
    (said,) = kiosk.view.paragraphs
    assert kiosk.screen == "free_space" and re.fullmatch(r"[\d,]+ GB are free\.", said)
    free_gb = disk_usage(kiosk.deps.pages_folder.parent).free / 1e9
    assert kiosk.driver.state.screen.free_gb == pytest.approx(free_gb, rel=0.2)
    kiosk.driver.on_result(example.FreeSpace(1.0))
    kiosk.do(example.FreeSpaceAction.LOOK_AGAIN)
    assert kiosk.driver.state.screen.free_gb == pytest.approx(free_gb, rel=0.2)
    kiosk.do(StaffAction.BACK)
    assert kiosk.screen == "site"


def test_it_is_the_site_lead_s_alone_and_is_locked_like_every_screen_with_staff_data(kiosk, example):
    kiosk.do(TodayAction.SITE, example.TILE)
    kiosk.frame(2, by_s=100.0)
    assert kiosk.screen == "locked"
    kiosk.unlock()
    assert kiosk.screen == "free_space"
    context = kiosk.driver.context
    kiosk.driver.know(replace(context, at_work=AtWork(None, "N1", frozenset({"interpret"}))))
    kiosk.do(example.FreeSpaceAction.LOOK_AGAIN)
    assert kiosk.driver.state.screen.note.code == "needs_site_lead"
    kiosk.do(StaffAction.BACK)
    assert example.TILE not in {row.action for row in kiosk.view.rows}
