"""Ten changes that a newcomer might make, each carried out on a copy of the product.

Each changes three product files at most, and DEVELOPERS.md names them. A change is the text put into each file,
and a short program that ends with an error unless the change has taken effect. The edits are long lines of code.
"""
# ruff: noqa: E501

import os
import re
import shutil
import subprocess
import sys
from fnmatch import fnmatch
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.documents import DEVELOPERS
from tests.needed_packages import WINDOW
from tests.sources import ROOT

PARTS = ("kiosk", "norms", "locales", "pyproject.toml")
MOST_FILES = 3


class Edit(NamedTuple):
    """`put` takes the place of `found`; a new file where `found` is empty."""

    file: str
    found: str
    put: str


class Change(NamedTuple):
    """`row` is the row's name in DEVELOPERS.md's table; `shows` is run on the changed copy."""

    row: str
    edits: tuple[Edit, ...]
    shows: str


CHIP = Change("a note chip after a visit", (
    Edit("kiosk/pursuit/observation.py", '"glass_wet",', '"glass_wet", "sleeve_dragged",'),
    Edit("kiosk/staff/observations.py", '"glass_wet")', '"glass_wet", "sleeve_dragged")'),
    Edit("kiosk/wording/circumstances.py", '    "glass_wet": N_', '    "sleeve_dragged": N_("sleeve dragged"),\n    "glass_wet": N_'),
), """
from datetime import UTC, datetime
from kiosk.i18n.language import load_language
from kiosk.staff.observations import NoteSeen, Observations, noted
from kiosk.staff.screen import StaffContext
at = datetime(2026, 11, 25, tzinfo=UTC)
screen = Observations().step(NoteSeen("sleeve_dragged"), None).screen
assert [one.code for one in noted(screen.notes)] == ["sleeve_dragged"]
(chip,) = [one for one in screen.view(StaffContext(at, at), load_language("en")).chips if one.chosen]
assert chip.words == "sleeve dragged"
""")
EDGE = Change("another label edge", (
    Edit("norms/judge/labels.py", '"Below average", 70, 79,', '"Below average", 70, 77,'),
    Edit("norms/judge/labels.py", '"Low average", 80, 89,', '"Low average", 78, 89,'),
), """
from kiosk.figures import change_chart, profile_scale
edges = profile_scale.LABEL_EDGES_Z
assert edges is change_chart.LABEL_EDGES_Z and abs(edges[1] - (77.5 - 100) / 15) < 1e-12
""")
SCORE = Change("a score", (
    Edit("kiosk/scoring/catalogue.py", '    ScoreKind("lifts",', '    ScoreKind("reports", "", "neither", "identity", 0),\n    ScoreKind("lifts",'),
    Edit("kiosk/scoring/score.py", '        "lifts": Scored(', '        "reports": Scored(float(window.contact.size)),\n        "lifts": Scored('),
    Edit("kiosk/wording/measures.py", '    "lifts": N_', '    "reports": N_("Reports in the window"),\n    "lifts": N_'),
), """
from kiosk.i18n.language import load_language
from kiosk.scoring.score import score_trial
from kiosk.wording.measures import score_name
from tests.scoring.hands import plan_of, record_of, times, wobbling
plan = plan_of("steady")
scored = score_trial(record_of(plan, times(plan), wobbling(plan, 1)))
assert scored.values["reports"].value > 1000, scored.values["reports"]
assert score_name("reports", load_language("en")) == "Reports in the window"
""")
CAUTION = Change("a caution", (
    Edit("kiosk/visits/comparison.py", '        yield Reason("synthetic")\n', '        yield Reason("synthetic")\n    if findings.age_years > 95:\n        yield Reason("very_old", {"n": int(findings.age_years)})\n'),
    Edit("kiosk/wording/cautions.py", '    "small_n": N_', '    "very_old": N_("Few people of %(n)s years have been tested anywhere."),\n    "small_n": N_'),
), """
from dataclasses import replace
from kiosk.i18n.language import load_language
from kiosk.visits.comparison import _of_table
from kiosk.wording.cautions import caution_sentence
from tests.wording.page_samples import findings
found = [one for one in _of_table(replace(findings(), age_years=96.0), ()) if one.code == "very_old"]
said = caution_sentence(found[0], load_language("en"))
assert said == "Few people of 96 years have been tested anywhere.", said
""")
COMMAND = Change("a command", (
    Edit("kiosk/cli/commands.py", '    Command("demo",', '    Command("battery", N_("the blocks of the battery"), no_arguments, "kiosk.cli.demo:battery"),\n    Command("demo",'),
    Edit("kiosk/cli/demo.py", "def demo(", '''def battery(chosen: argparse.Namespace, language: Language) -> int:
    """The name of each block, one a line."""
    from kiosk.pursuit.battery import load_battery

    print(*(block.name for block in load_battery().blocks), sep="\\n")
    return 0


def demo('''),
), """
from kiosk.cli.main import main
from io import StringIO
from contextlib import redirect_stdout
with redirect_stdout(StringIO()) as out:
    assert main(["battery"]) == 0
assert "steady.preferred" in out.getvalue().split(), out.getvalue()
""")
LANGUAGE = Change("a language", (
    Edit("locales/nl/LC_MESSAGES/kiosk.po", "", '''msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Language: nl\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "right"
msgstr "rechts"
'''),
), """
from kiosk.i18n.language import load_language
from kiosk.wording.circumstances import hand_words, language_words
dutch = load_language("nl")
assert hand_words("right", dutch) == "rechts" and language_words("nl", dutch) == "Nederlands"
""")
TABLE = Change("a table of the store and the server", (
    Edit("kiosk/storage/tables.py", "score_set = _table(", 'visit_room = _table("visit_room", _id("visit_id", "visit"), _text("room"))\nscore_set = _table('),
    Edit("kiosk/storage/tables.py", '    "observation": _OF_VISIT,', '    "observation": _OF_VISIT,\n    "visit_room": _OF_VISIT,'),
    Edit("kiosk/storage/tables.py", "SCHEMA_REVISION: Final = 1", "SCHEMA_REVISION: Final = 2"),
    Edit("kiosk/storage/migrations.py", "STEPS: Final[Mapping[int, Step]] = {}", '''def _rooms(operations: "Operations") -> None:
    """Revision 2: the room of a visit."""
    from kiosk.storage.tables import visit_room

    visit_room.create(operations.get_bind())


STEPS: Final[Mapping[int, Step]] = {1: _rooms}'''),
    Edit("kiosk/storage/erasure.py", "t.score_set, t.observation,", "t.score_set, t.observation, t.visit_room,"),
), """
import sqlalchemy as sa
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from kiosk.storage import server, tables
from kiosk.storage.engine import connect_file, open_file
from kiosk.storage.migrations import upgrade
from tests.storage.examples import KEYS
with TemporaryDirectory() as folder:
    path = Path(folder) / "kiosk.store"
    Path(f"{path}.keys").write_text("{}")
    open_file(path, KEYS).dispose()
    old = connect_file(path, KEYS)
    old.execute("DROP TABLE visit_room")
    old.execute("PRAGMA user_version = 1")
    old.commit()
    old.close()
    upgrade(path, KEYS, Path(folder) / "backups", "04", datetime(2026, 11, 25, tzinfo=UTC))
    names = {row[0] for row in connect_file(path, KEYS).execute("SELECT name FROM sqlite_master")}
    assert {"visit_room", "immutable_visit_room_update", "immutable_visit_room_delete"} <= names
assert any("visit_room" in line for line in server.guards())
assert any("visit_room" in line for line in server.row_security())
""")
ROLE = Change("a role", (
    Edit("kiosk/visits/staff.py", 'Literal["administer", ', 'Literal["administer", "train", '),
    Edit("kiosk/visits/staff.py", '= ("administer", ', '= ("administer", "train", '),
    Edit("kiosk/staff/rights.py", 'Right.GIVE_VISITS: ("administer",)', 'Right.GIVE_VISITS: ("administer", "train")'),
    Edit("kiosk/staff/roles.py", '    "interpret": N_', '    "train": N_("Trains staff"),\n    "interpret": N_'),
), """
from kiosk.i18n.language import load_language
from kiosk.staff.rights import Right, may
from kiosk.staff.roles import roles_row
from kiosk.visits.staff import AtWork
trainer = AtWork(roles=frozenset({"train"}))
assert may(trainer, Right.GIVE_VISITS) and not may(trainer, Right.READ_RESULTS)
row = roles_row(trainer.roles, load_language("en"), "")
assert [one.words for one in row.options if one.chosen] == ["Trains staff"]
""")
FIGURE = Change("a figure", (
    Edit("kiosk/figures/field_centre.py", "", '''"""The centre of the field as a dot, to be set on a path picture."""

from kiosk.figures.marks import Disc, Point


def field_centre(centre: Point) -> tuple[Disc]:
    """A dot of 0.77 mm."""
    return (Disc(centre, 0.77, "accent"),)
'''),
    Edit("kiosk/report/page.py", "            draw(sheet, path_picture(figure, centre, size, PATH_SIZES))\n", """            draw(sheet, path_picture(figure, centre, size, PATH_SIZES))
            draw(sheet, field_centre(centre))
"""),
    Edit("kiosk/report/page.py", "from kiosk.figures.marks import Align\n", "from kiosk.figures.field_centre import field_centre\nfrom kiosk.figures.marks import Align\n"),
    Edit("kiosk/screens/trial_tiles.py", "        draw(self, path_picture(figure, (box.x, box.bottom + high / 2), side, SCREEN))\n", """        draw(self, path_picture(figure, (box.x, box.bottom + high / 2), side, SCREEN))
        draw(self, field_centre((box.x, box.bottom + high / 2)))
"""),
    Edit("kiosk/screens/trial_tiles.py", "from kiosk.figures.marks import Box", "from kiosk.figures.field_centre import field_centre\nfrom kiosk.figures.marks import Box"),
), """
from kiosk.report.page import render
from kiosk.report.sheet import Sheet
from tests.wording.page_samples import content, findings
page, drawn = content(findings()), []
disc = Sheet.disc
Sheet.disc = lambda self, centre, radius, *more: (drawn.append(radius), disc(self, centre, radius, *more))[1]
render(page)
assert drawn.count(0.77) >= len(page.paths.figures) > 0, drawn
import tests.conftest
from kiosk.i18n.language import load_language
from kiosk.screens.painter import Painter
from kiosk.screens.results import ShowView
from kiosk.screens.stage import Stage
from kiosk.touch.calibration import PANEL_B
on_screen, put = [], Painter.disc
def noting(self, canvas, x, y, radius, role):
    on_screen.append(radius)
    return put(self, canvas, x, y, radius, role)
Painter.disc = noting
stage = Stage(PANEL_B, lambda: 100.0, offscreen=True)
stage.on_action = lambda action: None
stage.show_results(page, load_language("en"))
for place in range(4):
    stage.screen.reported(ShowView(place))
assert on_screen.count(0.77) >= len(page.paths.figures), on_screen
stage.close()
""")
CHECK = Change("a check of the tablet", (
    Edit("kiosk/touch/device_check.py", "def _of_display(display: DisplayFigures) -> Iterator[DeviceReason]:\n", '''def _of_display(display: DisplayFigures) -> Iterator[DeviceReason]:
    if above(display.shown_hz, 200.0):
        yield DeviceReason("refresh_untried", {"refresh_hz": display.shown_hz})
'''),
    Edit("kiosk/wording/tablet_reasons.py", "CHECK: Final[Messages] = {\n", 'CHECK: Final[Messages] = {\n    "refresh_untried": N_("No display with %(refresh_hz)s pictures a second has been tried."),\n'),
), """
from kiosk.i18n.language import load_language
from kiosk.touch.calibration import PANEL_A
from kiosk.touch.device_check import DeviceFigures, DisplayFigures, check_device
from kiosk.wording.reasons import sentence
checked = check_device(DeviceFigures(100.0, 10.0, 0.0, 0.1), DisplayFigures(240.0, 0.0), PANEL_A)
(reason,) = [one for one in checked.reasons if one.code == "refresh_untried"]
assert "240" in sentence(reason.code, reason.values, load_language("en"))
""")
CHANGES = (CHIP, EDGE, SCORE, CAUTION, COMMAND, LANGUAGE, TABLE, ROLE, FIGURE, CHECK)


@pytest.fixture(scope="module")
def tree(tmp_path_factory) -> Path:
    """A copy of the product, to be changed."""
    copy = tmp_path_factory.mktemp("product")
    for part in PARTS:
        source, to = ROOT / part, copy / part
        if source.is_dir():
            shutil.copytree(source, to, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, to)
    return copy


@pytest.mark.parametrize("change", [pytest.param(one, marks=WINDOW) if one is FIGURE else one for one in CHANGES],
                         ids=lambda change: change.row)
def test_a_newcomer_s_change_takes_three_files_at_most_and_developers_leads_to_them(tree, change) -> None:
    files = dict.fromkeys(one.file for one in change.edits)
    row = next(line for line in DEVELOPERS.read_text("utf-8").splitlines()
               if line.startswith(f"| {change.row} |"))
    assert len(files) <= MOST_FILES
    named = re.findall(r"`([^`]+)`", row)
    assert not [file for file in files if not any(leads_to(one, file) for one in named)], row
    before = {file: (tree / file).read_text("utf-8") if (tree / file).exists() else None for file in files}
    try:
        for one in change.edits:
            _put(tree / one.file, one)
        ran = run(tree, change.shows)
        assert ran.returncode == 0, ran.stderr[-2000:]
    finally:
        for file, text in before.items():
            (tree / file).unlink() if text is None else (tree / file).write_text(text, "utf-8")
    assert run(tree, change.shows).returncode != 0, "what it shows is so without the change"


def leads_to(named: str, file: str) -> bool:
    """Whether a path of the table is this file, its folder, or its pattern (`locales/<tag>/...`)."""
    return fnmatch(file, re.sub(r"<\w+>", "*", named)) or (named.endswith("/") and file.startswith(named))


def _put(path: Path, edit: Edit) -> None:
    if not edit.found:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(edit.put, "utf-8")
        return
    text = path.read_text("utf-8")
    assert text.count(edit.found) == 1, f"{edit.file} has {edit.found!r} {text.count(edit.found)} times"
    path.write_text(text.replace(edit.found, edit.put), "utf-8")


def run(tree: Path, program: str) -> subprocess.CompletedProcess[str]:
    """A program on the changed copy; the tests' own examples are read from here."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join((str(tree), str(ROOT))), "PYTHONDONTWRITEBYTECODE": "1"}
    here = f"import kiosk; assert kiosk.__file__.startswith({str(tree)!r}), kiosk.__file__\n"
    return subprocess.run([sys.executable, "-P", "-c", here + program], cwd=tree, env=environment,
                          capture_output=True, text=True)
