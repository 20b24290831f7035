"""Every message of the source, read from the calls that say it (say, say_in, say_n) or mark it (N_).

A message must be a literal in its call, else no catalogue could hold it; such a call is refused. A `say` with
more positional arguments than a language's (of a part of a screen) draws words and says no message.
"""

import ast
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import norms
from kiosk.base.errors import Fault, FaultyFile
from kiosk.base.settings import PACKAGE

_PLACES = {"say": 1, "say_in": 2, "say_n": 3, "N_": 1}


@dataclass(frozen=True)
class SourceMessage:
    """One message: its context and its plural are empty where it has none; files are below the package."""

    context: str
    one: str
    many: str
    files: tuple[str, ...]


def extract(package: Path = PACKAGE) -> tuple[SourceMessage, ...]:
    """The messages of a package in the order of its files, each once with every file that says it."""
    found: dict[tuple[str, str, str], list[str]] = {}
    faults: list[Fault] = []
    for path in sorted(package.rglob("*.py")):
        file = path.relative_to(package).as_posix()
        for call, name in _calls(ast.parse(path.read_text("utf-8"))):
            texts = _literals(call)
            if texts is None:
                faults.append(Fault(file, call.lineno, None, "must_be_a_literal_message", ast.unparse(call)))
            elif texts and any(texts):
                found.setdefault(_identity(name, texts), []).append(file)
    if faults:
        raise FaultyFile(faults)
    return tuple(SourceMessage(*key, tuple(sorted(set(files)))) for key, files in found.items())


@cache
def own_messages() -> tuple[SourceMessage, ...]:
    """The messages of the kiosk and those that norms marks for both, read once; files below the project."""
    found: dict[SourceMessage, tuple[str, ...]] = {}
    for package in (PACKAGE, Path(norms.__file__).parent):
        for message in extract(package):
            files = tuple(f"{package.name}/{file}" for file in message.files)
            key = replace(message, files=())
            found[key] = found.get(key, ()) + files
    return tuple(replace(message, files=files) for message, files in found.items())


def revision(messages: tuple[SourceMessage, ...]) -> str:
    """The source's mark: SHA-256 of its messages in sorted order, whatever files they stand in."""
    said = sorted((message.context, message.one, message.many) for message in messages)
    return hashlib.sha256(repr(said).encode("utf-8")).hexdigest()


def _calls(tree: ast.Module) -> Iterator[tuple[ast.Call, str]]:
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    for call in sorted(calls, key=lambda call: (call.lineno, call.col_offset)):
        name = ast.unparse(call.func).rpartition(".")[2]
        if name in _PLACES and len(call.args) == _PLACES[name]:
            yield call, name


def _literals(call: ast.Call) -> list[str] | None:
    texts = call.args[:2]
    values = [text.value for text in texts if isinstance(text, ast.Constant) and isinstance(text.value, str)]
    return values if len(values) == len(texts) else None


def _identity(name: str, texts: list[str]) -> tuple[str, str, str]:
    if name == "say_in":
        return texts[0], texts[1], ""
    if name == "say_n":
        return "", texts[0], texts[1]
    return "", texts[0], ""
