"""The rooms and the house hold: every rule on the real tree, and every rule catches what it is for."""

import subprocess
from collections.abc import Callable

import pytest

from tests import room_rules as rooms
from tests import style_rules as house
from tests.needed_packages import need
from tests.sources import ROOT, Tree, imports, source_tree

Rule = Callable[[Tree], list[str]]
TREE = source_tree()
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "SAFETY.md", "LICENSE", "pyproject.toml",
    "kiosk", "norms", "locales", "tests", "demo_norms",
}  # fmt: skip


@pytest.mark.parametrize("rule", (*rooms.RULES, *house.RULES), ids=lambda rule: rule.__name__)
def test_the_house_keeps_its_rule(rule: Rule) -> None:
    assert rule(TREE) == []


PLANTED: list[tuple[Rule, str, str, str]] = [
    (rooms.imports_only_lead_down, "kiosk/pursuit/planted.py", "from kiosk.scoring.score import score",
     "kiosk.scoring stands above kiosk.pursuit"),
    (rooms.imports_only_lead_down, "kiosk/scoring/planted.py", "def f():\n    import kiosk.touch.capture",
     "neighbours"),
    (rooms.imports_only_lead_down, "kiosk/visits/planted.py", "from kiosk import wording", "stands above"),
    (rooms.imports_only_lead_down, "kiosk/app/planted.py", "import kiosk.cli.composition", "stands above"),
    (rooms.imports_only_lead_down, "kiosk/demo/planted.py", "import kiosk.cli.composition", "stands above"),
    (rooms.each_library_stays_in_its_room, "kiosk/pursuit/planted.py", "from kivy.clock import Clock",
     "kiosk.screens"),
    (rooms.each_library_stays_in_its_room, "kiosk/screens/planted.py", "import reportlab.pdfgen",
     "kiosk.report"),
    (rooms.each_library_stays_in_its_room, "kiosk/visits/planted.py", "from uuid import UUID, uuid4",
     "uuid.uuid4"),
    (rooms.each_library_stays_in_its_room, "norms/judge/standing.py", "import pandas as pd", "norms.build"),
    (rooms.each_library_stays_in_its_room, "kiosk/touch/planted.py", "from time import monotonic",
     "kiosk.cli.composition"),
    (rooms.each_library_stays_in_its_room, "kiosk/screens/planted.py", "import threading", "kiosk.touch"),
    (rooms.norms_knows_nothing_of_the_kiosk, "norms/planted.py", "from kiosk.base.errors import Refused",
     "norms stands alone"),
    (rooms.every_module_has_a_room, "kiosk/planted.py", "x = 1", "stands in no room"),
    (rooms.the_package_itself_imports_nothing, "kiosk/__init__.py", "import os", "imports os"),
    (rooms.set_up_needs_the_standard_library_only, "kiosk/base/bootstrap.py", "import numpy", "after set-up"),
    (rooms.only_the_way_in_sets_up, "kiosk/cli/main.py", "from kiosk.base import bootstrap", "__main__"),
    (rooms.scipy_is_imported_inside_functions, "norms/planted.py", "from scipy import stats", "wait"),
    (rooms.clock_and_chance_are_arguments, "kiosk/visits/planted.py",
     "import datetime as dt\ndt.datetime.now(dt.UTC)", "arguments"),
    (rooms.clock_and_chance_are_arguments, "norms/planted.py", "import numpy as np\nnp.random.normal()",
     "np.random.normal"),
    (rooms.clock_and_chance_are_arguments, "norms/planted.py",
     "from numpy.random import default_rng\ndefault_rng()", "default_rng"),
    (rooms.imports_are_absolute, "kiosk/pursuit/planted.py", "from . import target", "relative"),
    (rooms.nothing_is_imported_by_a_string, "kiosk/visits/planted.py",
     "import importlib\nimportlib.import_module('kivy')", "by a string"),
    (house.names_say_what_a_module_is_for, "kiosk/pursuit/utils.py", "x = 1", "utils"),
    (house.names_say_what_a_module_is_for, "tests/helpers/planted.py", "x = 1", "helpers"),
    (house.no_module_is_named_like_the_standard_library, "kiosk/calendar.py", "x = 1", "calendar"),
    (house.no_module_is_named_like_the_standard_library, "tests/statistics/test_mean.py", "x = 1",
     "statistics"),
    (house.every_module_opens_with_its_purpose, "norms/planted.py", "x = 1", "docstring"),
    (house.modules_are_short, "norms/planted.py", "x = 1\n" * 501, "501 lines"),
    (house.functions_are_short, "norms/planted.py", "def f():\n" + "    x = 1\n" * 61, "61 lines"),
    (house.most_functions_are_short, "norms/planted.py",
     ("def f():\n" + "    x = 1\n" * 26) * 5000, "one body in ten"),
    (house.nothing_is_validated_by_assert, "kiosk/visits/planted.py", "assert 1 < 2", "asserts"),
    (house.what_is_said_is_a_literal, "kiosk/wording/planted.py", "language.say(f'{n} trials')",
     "no translator"),
    (house.what_is_said_is_a_literal, "kiosk/wording/planted.py", "N_(text)", "no translator"),
    (house.some_words_are_never_said, "kiosk/wording/planted.py", "language.say('an Abnormal score')",
     "Abnormal"),
    (house.some_words_are_never_said, "kiosk/wording/planted.py", "WORDS = {'a': N_('an Abnormal score')}",
     "Abnormal"),
    (house.some_words_are_never_said, "kiosk/wording/planted.py",
     "say_n('%(n)d trial', '%(n)d trials failed', n)", "failed"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "path", "source", "told"), PLANTED, ids=[f"{rule.__name__}-{path}" for rule, path, *_ in PLANTED]
)
def test_a_planted_violation_is_found_by_name(rule: Rule, path: str, source: str, told: str) -> None:
    known = set(rule(TREE))
    found = [fault for fault in rule({**TREE, path: source}) if fault not in known]
    assert any(told in fault for fault in found), found


def test_what_looks_alike_is_allowed() -> None:
    allowed = {
        "kiosk/visits/planted.py": '"""Ids."""\nfrom uuid import UUID\nfrom datetime import time\n',
        "norms/planted.py": '"""Draws."""\nimport numpy as np\n\n\ndef f(rng: np.random.Generator):\n'
        "    from scipy import stats\n    return stats, np.random.default_rng(7)\n",
        "kiosk/touch/touch_reader.py": '"""Reads."""\nimport threading\nfrom time import monotonic_ns\n',
    }
    planted = {**TREE, **allowed}
    for rule in rooms.RULES:
        assert [fault for fault in rule(planted) if fault.startswith(tuple(allowed))] == []


def test_every_room_named_here_stands_on_one_floor_only() -> None:
    listed = [room for floor in rooms.FLOORS for room in floor]
    assert len(listed) == len(set(listed))


def test_the_rules_see_real_imports() -> None:
    seen = {(path, name) for path, _, name in imports(TREE)}
    assert ("kiosk/i18n/language.py", "kiosk.base.errors.Refused") in seen
    assert len(seen) > 100


def test_the_top_level_is_exact() -> None:
    need("git")
    if not (ROOT / ".git").exists():
        pytest.skip("not a git checkout: nothing tells which files belong to it")
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    tops = {path.partition("/")[0] for path in listed.split("\0") if path}
    assert {top for top in tops if not top.startswith(".")} == TOP_LEVEL
