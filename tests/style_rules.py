"""The rules of the house, each a function from a source tree to the sentences of what breaks it."""

import ast
import re
import sys
from collections.abc import Iterator
from statistics import quantiles

from tests.sources import Tree, body_lines, functions, nodes, ours, parsed, unparsed

VAGUE = {"utils", "util", "helpers", "helper", "common", "manager", "managers", "misc"}
SAYING = {
    "say": slice(0, 1), "say_in": slice(0, 2), "say_n": slice(0, 2), "N_": slice(0, 1),
}  # fmt: skip
NEVER_SAID = re.compile(
    r"diagnos\w*|impair\w*|deficit\w*|abnormal\w*|\bfail\w*|\bpositive\b(?! definite)|\bnegative\b"
    r"|parkinson\w*|dementia|alzheimer\w*|\bstrokes?\b|\bataxi\w*|sclerosis|essential tremor|huntington\w*",
    re.IGNORECASE,
)
CAUTIONS = (
    "This page describes how one person followed a moving disc on this tablet on this day. It does not "
    "diagnose or rule out anything, and must not be the only reason for a decision.",
)


def names_say_what_a_module_is_for(tree: Tree) -> list[str]:
    return [
        f"{path} has a name that says nothing ({part})"
        for path in tree
        for part in path.removesuffix(".py").split("/")
        if part in VAGUE
    ]


def no_module_is_named_like_the_standard_library(tree: Tree) -> list[str]:
    return [
        f"{path} would hide the standard library's {name}"
        for path in tree
        if path.startswith(("kiosk/", "tests/"))
        and (name := path.split("/")[1].removesuffix(".py")) in sys.stdlib_module_names
    ]


def every_module_opens_with_its_purpose(tree: Tree) -> list[str]:
    return [
        f"{path} does not open with a docstring"
        for path, source in tree.items()
        if not ast.get_docstring(parsed(source))
    ]


def modules_are_short(tree: Tree, longest: int = 500) -> list[str]:
    return [
        f"{path} has {lines} lines, more than {longest}"
        for path in ours(tree)
        if (lines := len(tree[path].splitlines())) > longest
    ]


def functions_are_short(tree: Tree, longest: int = 60) -> list[str]:
    return [
        f"{path}:{function.lineno} {function.name} has a body of {lines} lines, more than {longest}"
        for path, function in functions(ours(tree))
        if (lines := body_lines(function)) > longest
    ]


def most_functions_are_short(tree: Tree, most: int = 25) -> list[str]:
    ninth_tenth = quantiles([body_lines(function) for _, function in functions(ours(tree))], n=10)[-1]
    return [f"one body in ten has {ninth_tenth} lines or more, above {most}"] if ninth_tenth > most else []


def nothing_is_validated_by_assert(tree: Tree) -> list[str]:
    return [
        f"{path}:{check.lineno} asserts: an optimised run would skip it"
        for path, check in nodes(ours(tree), ast.Assert)
    ]


def what_is_said_is_a_literal(tree: Tree) -> list[str]:
    return [
        f"{path}:{message.lineno} says {ast.unparse(message)}, which no translator will ever see"
        for path, message in said(ours(tree))
        if not (isinstance(message, ast.Constant) and isinstance(message.value, str))
    ]


def some_words_are_never_said(tree: Tree) -> list[str]:
    return [
        f"{path}:{message.lineno} says {found.group()!r}"
        for path, message in said(ours(tree))
        if isinstance(message, ast.Constant)
        and message.value not in CAUTIONS
        and (found := NEVER_SAID.search(str(message.value)))
    ]


RULES = (
    names_say_what_a_module_is_for,
    no_module_is_named_like_the_standard_library,
    every_module_opens_with_its_purpose,
    modules_are_short,
    functions_are_short,
    most_functions_are_short,
    nothing_is_validated_by_assert,
    what_is_said_is_a_literal,
    some_words_are_never_said,
)


def said(tree: Tree) -> Iterator[tuple[str, ast.expr]]:
    """Every message that a language says (say, say_in, say_n, also under a bare name) or a marker marks."""
    for path, call in nodes(tree, ast.Call):
        speaker, _, called = unparsed(call.func).rpartition(".")
        if not speaker or speaker.endswith("language"):
            for message in call.args[SAYING.get(called, slice(0, 0))]:
                yield path, message
