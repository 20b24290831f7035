"""How easy the house is to find one's way in, counted: `python3 tests/benchmarks/house_counts.py [TREE ...]`.

For each tree (this one, or older ones with their own .venv): modules and lines of the product, modules that
only one other imports, and the files and functions that run on three ways of a simulated visit:

- Sign: from the tap on *Sign* to the row written and the next screen worded; the page drawn anew with the
  signature on it (kiosk/report, kiosk/figures) is counted apart;
- touch: from a kernel event to the first scored trial packed into its container;
- page: from the stored records of a visit to its page.
"""

import ast
import json
import subprocess
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("kiosk", "norms")
FORMER = {"tests.app.fake_kiosk": "tests.clinic.fake_kiosk", "kiosk.app.conclusion": "kiosk.conclusion",
          "kiosk.app.context": "kiosk.room", "kiosk.touch.contact_reports": "kiosk.glass.contact_reports",
          "kiosk.touch.kernel_events": "kiosk.glass.kernel_events", "kiosk.i18n.language": "kiosk.language",
          "tests.touch.panel": "tests.glass.panel"}
Visited = dict[str, set[str]]


def module_counts(tree: Path) -> dict[str, int]:
    """Modules, their lines, and how many of them one other module imports and nobody else."""
    files = {path: path.read_text("utf-8") for top in PACKAGES for path in (tree / top).rglob("*.py")}
    names = {".".join(path.relative_to(tree).with_suffix("").parts): path for path in files}
    importers: defaultdict[str, set[Path]] = defaultdict(set)
    for path, source in files.items():
        for name in _imported(ast.parse(source)):
            if names.get(name, path) != path:
                importers[name].add(path)
    counted = [name for name in names if not name.endswith(("__init__", "__main__"))]
    return {"modules": len(files), "lines": sum(source.count("\n") for source in files.values()),
            "modules with one importer": sum(len(importers[name]) == 1 for name in counted)}


def _imported(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{one.name}" for one in node.names)


def walked(tree: Path) -> dict[str, int]:
    """Files and functions on the three ways, in this process: the tree's packages are those on the path."""
    import tempfile

    fake = _module("tests.app.fake_kiosk")
    kiosk = fake.FakeKiosk(Path(tempfile.mkdtemp()))
    kiosk.unlock()
    fake.new_person(kiosk)
    touch = _touch_to_container(tree, kiosk, lambda: fake.whole_visit(kiosk))
    for words in ("Page", "Sign", "A", "B", "Next", "Nurse"):
        _tap(kiosk, words)
    with _profiled(tree) as sign:
        kiosk.stage.on_action(_control(kiosk, "Sign").action)
        kiosk.frame()
    conclusion = _module("kiosk.app.conclusion")
    visit = kiosk.store.visits_of(kiosk.store.people()[-1].id)[-1]
    imprint = conclusion.Imprint("", "04", "0", kiosk.now_local(), "", "A4")
    english = _module("kiosk.i18n.language").load_language("en")
    with _profiled(tree) as page:
        conclusion.remake(kiosk.store, visit, english, imprint, kiosk.new_id)
    drawn = {file for file in sign if file.startswith(("kiosk/report/", "kiosk/figures/"))}
    return {
        "Sign: files": len(sign), "Sign: files without the page drawn anew": len(set(sign) - drawn),
        "touch to container: files": len(touch), "touch to container: functions": _functions(touch),
        "record to page: files": len(page), "record to page: functions": _functions(page),
    }


def _touch_to_container(tree: Path, kiosk: Any, visit: Callable[[], None]) -> Visited:
    """What runs for one kernel event, and from the first touch of the first scored trial to its container."""
    reports, events, panel = map(_module, ("kiosk.touch.contact_reports", "kiosk.touch.kernel_events",
                                           "tests.touch.panel"))
    sent = panel.report(1_000_000, (panel.SLOT, 0), (panel.TRACKING, 7), (panel.MT_X, 1), (panel.MT_Y, 2))
    found: Visited = {}
    with _profiled(tree) as decoded:
        contacts = reports.ContactReports(True, lambda: None)
        assert [touch for one in events.EventBytes().feed(sent) for touch in contacts.feed(one)]
    load, loads, note = kiosk.capture.load, [], _noting(tree, found)

    def watched(frame: FrameType, event: str, value: object) -> None:
        note(frame, event, value)
        if event == "return" and frame.f_code.co_filename.endswith("container.py") \
                and frame.f_code.co_name == "pack":
            sys.setprofile(None)

    def loading(touches: object) -> None:
        loads.append(touches)
        load(touches)
        if len(loads) == 2:  # the first is the practice trial
            sys.setprofile(watched)

    kiosk.capture.load = loading
    visit()
    sys.setprofile(None)
    return {file: decoded.get(file, set()) | found.get(file, set()) for file in {*decoded, *found}}


@contextmanager
def _profiled(tree: Path) -> Iterator[Visited]:
    found: Visited = {}
    sys.setprofile(_noting(tree, found))
    try:
        yield found
    finally:
        sys.setprofile(None)


def _noting(tree: Path, found: Visited) -> Callable[[FrameType, str, object], None]:
    tops = tuple(f"{tree / top}/" for top in PACKAGES)

    def note(frame: FrameType, event: str, _: object) -> None:
        file = frame.f_code.co_filename
        if event == "call" and file.startswith(tops):
            found.setdefault(Path(file).relative_to(tree).as_posix(), set()).add(frame.f_code.co_qualname)

    return note


def _functions(visited: Visited) -> int:
    return sum(len(names) for names in visited.values())


def _tap(kiosk: Any, words: str) -> None:
    kiosk.stage.on_action(_control(kiosk, words).action)
    kiosk.frame(3)


def _control(kiosk: Any, words: str) -> Any:
    """The last thing on the screen that reports an action and shows these words."""
    shown = kiosk.stage.results[-1][1] if kiosk.screen == "results" else kiosk.view
    return [one for one in _with_action(shown) if words in vars(one).values()][-1]


def _with_action(shown: Any) -> Iterator[Any]:
    if isinstance(shown, (tuple, list)):
        for one in shown:
            yield from _with_action(one)
    elif is_dataclass(shown):
        if hasattr(shown, "action"):
            yield shown
        for one in fields(shown):
            yield from _with_action(getattr(shown, one.name))


def _module(name: str) -> Any:
    """A module by its name of today, or the one it had before."""
    try:
        return import_module(name)
    except ModuleNotFoundError:
        return import_module(FORMER[name])


def counts(tree: Path) -> dict[str, int]:
    """Everything counted on a tree; what it runs, it runs with the tree's own environment."""
    python = tree / ".venv" / "bin" / "python"
    ran = subprocess.run([str(python), "-P", __file__, "--inside", str(tree)], cwd=tree, check=True,
                         capture_output=True, text=True)
    return {**module_counts(tree), **json.loads(ran.stdout.splitlines()[-1])}


def main(arguments: list[str]) -> None:
    if arguments[:1] == ["--inside"]:
        tree = Path(arguments[1])
        sys.path.insert(0, str(tree))
        print(json.dumps(walked(tree)))
        return
    found = [counts(Path(tree).resolve()) for tree in arguments or [str(ROOT)]]
    for name in found[0]:
        print(f"| {name} | " + " | ".join(str(one[name]) for one in found) + " |")


if __name__ == "__main__":
    main(sys.argv[1:])
