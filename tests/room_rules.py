"""The rules of the rooms, each a function from a source tree to the sentences of what breaks it.

Rooms are named from the ground up. A room imports only from lower floors and from itself; those on one
floor are neighbours and do not know each other. DEVELOPERS.md walks through the rooms.

Decision architecture-6.
"""

import ast
import re
import sys
from functools import cache

from tests.sources import Tree, imports, module_name, nodes, ours, parsed, unparsed, within

FLOORS = (
    ("kiosk.base", "norms.table"),
    ("norms.judge",),
    ("norms.worth",),
    ("norms.build",),
    ("norms.cli",),
    ("norms",),  # its public face and its command line
    ("kiosk.i18n", "kiosk.pursuit"),
    ("kiosk.touch", "kiosk.scoring"),
    ("kiosk.visits",),
    ("kiosk.wording",),
    ("kiosk.figures",),
    ("kiosk.screens", "kiosk.report", "kiosk.storage", "kiosk.exchange"),
    ("kiosk.staff", "kiosk.deployment"),
    ("kiosk.app",),
    ("kiosk.demo",),
    ("kiosk.cli",),
    ("kiosk.__main__",),
)
HEIGHT = {room: height for height, floor in enumerate(FLOORS) for room in floor}

THREADED = ("kiosk.touch", "kiosk.storage", "kiosk.cli.composition")
ONLY_IN = {
    "kivy": ("kiosk.screens",),
    "reportlab": ("kiosk.report",),
    "pypdfium2": ("kiosk.report",),
    "sqlalchemy": ("kiosk.storage",),
    "sqlite3": ("kiosk.storage",),
    "sqlcipher3": ("kiosk.storage",),
    "cryptography": ("kiosk.storage", "kiosk.deployment.signed_update"),
    "alembic": ("kiosk.storage",),
    "psycopg": ("kiosk.storage",),
    "pandas": ("norms.build", "kiosk.exchange"),
    "babel": ("kiosk.i18n",),
    "fontTools": ("tests.cut_fonts",),
    "time": ("kiosk.cli.composition",),
    "random": ("kiosk.cli.composition",),
    "uuid": ("kiosk.cli.composition",),
    "secrets": ("kiosk.cli.composition",),
    "threading": THREADED,
    "concurrent": (*THREADED, "kiosk.app.recordings"),  # each file of a folder in a process of its own
    "queue": THREADED,
}
# A type makes no identity; the reader thread is where the one clock comes in.
ALLOWED_BESIDE = {
    ("kiosk.touch.touch_reader", "time.monotonic"),
    ("kiosk.touch.touch_reader", "time.monotonic_ns"),
    ("*", "uuid.UUID"),
    ("kiosk.exchange.fhir", "uuid.uuid5"),  # an id derived from a name, the same each time
    ("kiosk.base.set_up_progress", "time"),  # how long set-up has taken; nothing of a visit
    ("kiosk.base.crash_report", "threading"),  # what is said of an error in any thread; it starts none
}
# norms is usable alone: its command line is its own way in.
CLOCKS_COME_IN = ("kiosk.cli.composition", "norms.__main__")
# What is loaded only when it is asked for: the module of a public name of norms, that of a command.
LOADED_BY_NAME = ("norms/__init__.py", "kiosk/cli/main.py")
CLOCK_OR_CHANCE = re.compile(
    r"(.*\.)?(datetime|date)\.(now|utcnow|today)"
    r"|(np|numpy)\.random\.(?!default_rng|Generator|SeedSequence|PCG64)\w+"
)


def every_module_has_a_room(tree: Tree) -> list[str]:
    return [
        f"{path} stands in no room"
        for path in ours(tree)
        if _room(module_name(path)) is None and path != "kiosk/__init__.py"
    ]


def imports_only_lead_down(tree: Tree) -> list[str]:
    return [
        f"{path} imports {name}, but {_why(own, other)}"
        for path, _, name in imports(ours(tree))
        if (own := _room(module_name(path))) is not None
        and (other := _room(name)) is not None
        and other != own
        and HEIGHT[other] >= HEIGHT[own]
    ]


def norms_knows_nothing_of_the_kiosk(tree: Tree) -> list[str]:
    return [
        f"{path} imports {name}, but norms stands alone"
        for path, _, name in imports(ours(tree))
        if path.startswith("norms/") and within(name, "kiosk")
    ]


def the_package_itself_imports_nothing(tree: Tree) -> list[str]:
    return [f"{path} imports {name}" for path, _, name in imports(tree) if path == "kiosk/__init__.py"]


def set_up_needs_the_standard_library_only(tree: Tree) -> list[str]:
    return [
        f"{path} imports {name}, which is there only after set-up"
        for path, _, name in imports(tree)
        if path.startswith("kiosk/base/")
        and name.partition(".")[0] not in sys.stdlib_module_names
        and not within(name, "kiosk.base")
    ]


def only_the_way_in_sets_up(tree: Tree) -> list[str]:
    return [
        f"{path} imports {name}, which only kiosk/__main__.py may"
        for path, _, name in imports(ours(tree))
        if within(name, "kiosk.base.bootstrap") and path != "kiosk/__main__.py"
    ]


def each_library_stays_in_its_room(tree: Tree) -> list[str]:
    return [
        f"{path} imports {name}, which belongs in {' and '.join(rooms)}"
        for path, _, name in imports(ours(tree))
        if (rooms := ONLY_IN.get(name.partition(".")[0])) is not None
        and not any(within(module_name(path), room) for room in (*rooms, "kiosk.base.bootstrap"))
        and not {(module_name(path), name), ("*", name)} & ALLOWED_BESIDE
    ]


def scipy_is_imported_inside_functions(tree: Tree) -> list[str]:
    return [
        f"{path}:{statement.lineno} imports {name} at its top: the first screen would wait for it"
        for path, statement, name in imports(ours(tree))
        if within(name, "scipy") and statement not in _inside_functions(tree[path])
    ]


def clock_and_chance_are_arguments(tree: Tree) -> list[str]:
    return [
        f"{path}:{call.lineno} calls {unparsed(call)}: clock and chance are arguments"
        for path, call in nodes(ours(tree), ast.Call)
        if module_name(path) not in CLOCKS_COME_IN and _makes_clock_or_chance(call)
    ]


def imports_are_absolute(tree: Tree) -> list[str]:
    return [
        f"{path}:{statement.lineno} imports from a place relative to itself"
        for path, statement in nodes(tree, ast.ImportFrom)
        if statement.level
    ]


def nothing_is_imported_by_a_string(tree: Tree) -> list[str]:
    return [
        f"{path}:{call.lineno} imports by a string, which no rule can see"
        for path, call in nodes(ours(tree), ast.Call)
        if unparsed(call.func).rpartition(".")[2] in {"__import__", "import_module"}
        and path not in LOADED_BY_NAME
    ]


RULES = (
    every_module_has_a_room,
    imports_only_lead_down,
    norms_knows_nothing_of_the_kiosk,
    the_package_itself_imports_nothing,
    set_up_needs_the_standard_library_only,
    only_the_way_in_sets_up,
    each_library_stays_in_its_room,
    scipy_is_imported_inside_functions,
    clock_and_chance_are_arguments,
    imports_are_absolute,
    nothing_is_imported_by_a_string,
)


def _room(name: str) -> str | None:
    return next((room for room in HEIGHT if within(name, room)), None)


def _why(own: str, other: str) -> str:
    if HEIGHT[own] == HEIGHT[other]:
        return f"{own} and {other} are neighbours and do not know each other"
    return f"{other} stands above {own}"


@cache
def _inside_functions(source: str) -> set[ast.AST]:
    bodies = (node for node in ast.walk(parsed(source)) if isinstance(node, ast.FunctionDef))
    return {inner for body in bodies for inner in ast.walk(body)}


def _makes_clock_or_chance(call: ast.Call) -> bool:
    name = unparsed(call.func)
    unseeded = name.rpartition(".")[2] == "default_rng" and not call.args and not call.keywords
    return unseeded or CLOCK_OR_CHANCE.fullmatch(name) is not None
