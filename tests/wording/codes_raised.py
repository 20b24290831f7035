"""Every reason code the rooms can raise, read from their source: codes with the names of their values."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MAKERS = ("Refused", "WrongUsage", "Refusal", "Reason", "DeviceReason")
RULE = re.compile(r"(must|column|not_a|is_empty|cannot_be)(_[a-z0-9]+)*")


def trees(*folders: str) -> Iterator[tuple[Path, ast.Module]]:
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*.py")):
            yield path.relative_to(ROOT), ast.parse(path.read_text("utf-8"))


def calls(tree: ast.AST, names: tuple[str, ...]) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node.func) in names:
            yield node


def codes_of_reasons() -> dict[str, set[str]]:
    """Code -> names of the values that at least one maker gives; the cautions of a visit are apart."""
    found: dict[str, set[str]] = {}
    for path, tree in trees("kiosk"):
        makers = tuple(one for one in MAKERS if (path.name, one) != ("comparison.py", "Reason"))
        for call in calls(tree, makers):
            for code in _codes(call.args[0]) if call.args else ():
                found.setdefault(code, set()).update(_value_names(call, tree))
    return found


def codes_of_cautions() -> set[str]:
    tree = ast.parse((ROOT / "kiosk/visits/comparison.py").read_text("utf-8"))
    return {code for call in calls(tree, ("Reason",)) for code in _codes(call.args[0])}


def codes_of_missing_figures() -> set[str]:
    """Codes given as reason=... or returned by scoring where a figure is missing."""
    found = set()
    for path, tree in trees("kiosk/scoring"):
        for node in ast.walk(tree):
            if isinstance(node, ast.keyword) and node.arg == "reason":
                found |= set(_codes(node.value))
            if isinstance(node, ast.Return) and node.value is not None and path.name == "block.py":
                found |= set(_codes(node.value))
            if isinstance(node, ast.Call) and _name(node.func) in ("_none", "_both_or"):
                found |= {code for one in node.args for code in _codes(one)}
    return found


def rules_of_files() -> set[str]:
    """Rules of kiosk.base.errors.Fault: constants in the call, or text that begins like a rule."""
    found = set()
    for path, tree in trees("kiosk"):
        if path.parts[1] == "wording" or not any(True for _ in calls(tree, ("Fault",))):
            continue
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and RULE.fullmatch(node.value):
                found.add(node.value)
    return found


def messages() -> Iterator[tuple[Path, int, str]]:
    """Every message literal of a language call, in kiosk."""
    for path, tree in trees("kiosk"):
        for call in calls(tree, ("say", "say_in", "say_n", "said")):
            texts = [a.value for a in call.args if isinstance(a, ast.Constant) and isinstance(a.value, str)]
            kept = texts[1:] if _name(call.func) == "say_in" else texts
            yield from ((path, call.lineno, text) for text in kept)


def _codes(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from (*_codes(node.body), *_codes(node.orelse))
    elif isinstance(node, ast.BoolOp):
        for one in node.values:
            yield from _codes(one)


def _value_names(call: ast.Call, tree: ast.Module) -> set[str]:
    given = call.args[1] if len(call.args) > 1 else None
    if isinstance(given, ast.Name):
        assigned = (
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Assign)
            and any(isinstance(one, ast.Name) and one.id == given.id for one in node.targets)
        )
        given = next((value for value in assigned if isinstance(value, ast.Dict)), None)
    if not isinstance(given, ast.Dict):
        return set()
    return {key.value for key in given.keys if isinstance(key, ast.Constant)}


def _name(func: ast.expr) -> str:
    return func.id if isinstance(func, ast.Name) else func.attr if isinstance(func, ast.Attribute) else ""
