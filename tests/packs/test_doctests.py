"""The worked examples in the docstrings of packs are right, and every public function says what it is."""

import ast
import doctest
import importlib
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import packs

MODULES = sorted(module.name for module in pkgutil.walk_packages(packs.__path__, "packs."))


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def public_functions() -> Iterator[tuple[str, ast.FunctionDef]]:
    for path in sorted(Path(packs.__path__[0]).rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield f"{path.stem}.{node.name}", node


@pytest.mark.parametrize(("name", "function"), list(public_functions()), ids=[name for name, _ in public_functions()])
def test_every_public_function_says_what_it_is(name: str, function: ast.FunctionDef) -> None:
    assert ast.get_docstring(function), name
