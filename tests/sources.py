"""The project's sources as the rules read them: a mapping of path to text, parsed once.

A mapping, so that a test can plant a violation in a copy of the real tree.
"""

import ast
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar

ROOT = Path(__file__).resolve().parent.parent
Tree = Mapping[str, str]
Function = ast.FunctionDef | ast.AsyncFunctionDef
Node = TypeVar("Node", bound=ast.AST)


def source_tree() -> dict[str, str]:
    """Every Python file of kiosk/, norms/ and tests/."""
    files = (file for top in ("kiosk", "norms", "tests") for file in (ROOT / top).rglob("*.py"))
    return {file.relative_to(ROOT).as_posix(): file.read_text("utf-8") for file in sorted(files)}


def ours(tree: Tree) -> dict[str, str]:
    """The tree without its tests."""
    return {path: text for path, text in tree.items() if not path.startswith("tests/")}


@cache
def parsed(source: str) -> ast.Module:
    return ast.parse(source)


@cache
def nodes_by_type(source: str) -> dict[type[ast.AST], list[ast.AST]]:
    """The nodes of a source sorted by their type: every rule asks again, for hundreds of files."""
    found: dict[type[ast.AST], list[ast.AST]] = {}
    for node in ast.walk(parsed(source)):
        found.setdefault(type(node), []).append(node)
    return found


@cache
def unparsed(node: ast.AST) -> str:
    return ast.unparse(node)


def nodes(tree: Tree, kind: type[Node]) -> Iterator[tuple[str, Node]]:
    """Every node of a kind, wherever it stands, with its file."""
    for path, source in tree.items():
        for node in nodes_by_type(source).get(kind, ()):
            if isinstance(node, kind):
                yield path, node


def functions(tree: Tree) -> Iterator[tuple[str, Function]]:
    yield from nodes(tree, ast.FunctionDef)
    yield from nodes(tree, ast.AsyncFunctionDef)


def imports(tree: Tree) -> Iterator[tuple[str, ast.stmt, str]]:
    """Every import wherever it stands: the file, the statement, the dotted name it brings."""
    for path, plain in nodes(tree, ast.Import):
        for alias in plain.names:
            yield path, plain, alias.name
    for path, chosen in nodes(tree, ast.ImportFrom):
        for alias in chosen.names:
            yield path, chosen, f"{chosen.module}.{alias.name}"


def module_name(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def within(name: str, package: str) -> bool:
    return name == package or name.startswith(package + ".")


def body_lines(function: Function) -> int:
    """Lines from the first statement after the docstring to the last."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (function.end_lineno or 0) - body[0].lineno + 1 if body else 0
