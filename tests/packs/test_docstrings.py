"""Every public function of packs states its units and its source, and every source stands in the one list.

Public is every function of a module whose name does not begin with an underscore, whether or not its room exports it.
A function deals in measures when its signature names a quantity, an exact or floating number, an array, or a record
of packs that holds one; it then states at least one unit in square brackets. Its references name a title of
``packs.sources.SOURCES``, or "common practice, no source".
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import TypeGuard

import pytest

import packs
from packs.rules import RULES, Rule
from packs.sources import COMMON_PRACTICE, SOURCES

FOLDER = Path(packs.__path__[0])

# Functions that need no source: they convert, check or word what others computed. Units they state all the same.
NEED_NO_SOURCE = frozenset(
    {
        *(f"conductors.checked.{name}" for name in ("above_zero", "zero_or_more", "size_of")),
        *(f"network.checked.{name}" for name in ("volts_of", "ohms_of", "volts_and_ohms")),
        *(f"drawing.marks.{name}" for name in ("n", "box", "text", "fitting_size", "linked")),
        *(f"documents.frozen.{name}" for name in ("freeze", "thaw")),
        *(f"rules.values.{name}" for name in ("exact", "quantity", "unit_of", "bounds", "holds")),
        *(f"rules.wording.{name}" for name in ("texts", "answered", "limit_clause", "not_measured", "no_limit")),
        *(f"rules.wording.{name}" for name in ("number", "of_limit")),
        *(f"rules.own.{name}" for name in ("default", "looser")),
        "rules.engine.stopping",
    }
)

# Rooms that handle bytes, lines and names and work nothing out: their functions need no source either.
TEXT_ROOMS = frozenset(
    f"traces.{name}"
    for name in ("raw", "dialect", "sections", "mending", "packed", "table", "clock", "problems", "glance")
)

MEASURES = {"Quantity", "Decimal", "float", "ndarray", "NDArray"}

# What may stand between square brackets as a unit: units, dimensions by name, or both with powers and factors.
UNIT_WORDS = frozenset(
    [
        "V",
        "mV",
        "µV",
        "A",
        "mA",
        "Ω",
        "mΩ",
        "µΩ",
        "ohm",
        "W",
        "mW",
        "J",
        "Wh",
        "mWh",
        "Ah",
        "mAh",
        "C",
        "s",
        "ms",
        "h",
        "d",
        "m",
        "mm",
        "µm",
        "mm²",
        "cm",
        "in",
        "cmil",
        "kg",
        "g",
        "mg",
        "K",
        "°C",
        "m°C",
        "N",
        "N·m",
        "mN·m",
        "m²",
        "m³",
        "mm³",
        "d⁻¹",
        "1/h",
        "1/K",
        "√s",
        "%",
        "µV/day",
        "A/A",
        "V/A",
        "Ω/m",
        "Ω·m",
        "W/m",
        "m·K",
        "J/",
        "kg/m³",
        "A·√s/mm²",
        "A²·s",
        "voltage",
        "current",
        "resistance",
        "capacity",
        "charge",
        "energy",
        "power",
        "length",
        "area",
        "volume",
        "mass",
        "time",
        "temperature",
        "torque",
        "dimensionless",
        "density",
        "currency",
        "steps",
        "step",
        "user",
        "units",
        "unit",
        "stored",
        "column",
        "any",
        "of",
        "day",
        "such",
        "as",
        "per",
        "typed",
    ]
)
BRACKETS = re.compile(r"\[([^\[\]]+)\]")
NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
STANDARD = re.compile(r"\b(?:IEC|ISO|EN|ASTM|NBS|SAE|UL|IEEE|JEITA|SMC|NIST)[ -][A-Z]{0,3} ?[0-9][0-9-]*")


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def modules() -> dict[str, ast.Module]:
    names = {path: ".".join(path.relative_to(FOLDER).with_suffix("").parts) for path in sorted(FOLDER.rglob("*.py"))}
    return {name: tree(path) for path, name in names.items() if not name.startswith("_")}


def functions() -> Iterator[tuple[str, ast.FunctionDef]]:
    for name, module in modules().items():
        for node in module.body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield f"{name}.{node.name}", node


def measuring_properties() -> Iterator[tuple[str, ast.FunctionDef]]:
    """Public methods and properties that return a measure."""
    for name, module in modules().items():
        for owner in module.body:
            if isinstance(owner, ast.ClassDef) and not owner.name.startswith("_"):
                yield from ((f"{name}.{owner.name}.{node.name}", node) for node in owner.body if returns_measure(node))


def returns_measure(node: ast.AST) -> TypeGuard[ast.FunctionDef]:
    if not isinstance(node, ast.FunctionDef) or node.name.startswith("_") or node.returns is None:
        return False
    return bool(words(node.returns) & {"Quantity", "Decimal"})


def words(annotation: ast.AST) -> set[str]:
    return set(re.findall(r"\w+", ast.unparse(annotation)))


@cache
def measuring_names() -> frozenset[str]:
    """Names of types that hold a measure, directly or through another such type."""
    holding: dict[str, set[str]] = {}
    for module in modules().values():
        for node in module.body:
            if isinstance(node, ast.ClassDef):
                fields = [part.annotation for part in node.body if isinstance(part, ast.AnnAssign)]
                holding.setdefault(node.name, set()).update(*(words(field) for field in fields))
            elif isinstance(node, ast.AnnAssign) and node.value and "TypeAlias" in words(node.annotation):
                holding.setdefault(ast.unparse(node.target), set()).update(words(node.value))
            elif isinstance(node, ast.Assign) and isinstance(node.value, ast.Subscript | ast.BinOp):
                holding.setdefault(ast.unparse(node.targets[0]), set()).update(words(node.value))
    found = set(MEASURES)
    while more := {name for name, inner in holding.items() if inner & found} - found:
        found |= more
    return frozenset(found)


def measures(node: ast.FunctionDef) -> bool:
    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    named = [part.annotation for part in every if part.annotation] + ([node.returns] if node.returns else [])
    return any(words(annotation) & measuring_names() for annotation in named)


def units_in(text: str) -> list[str]:
    """Brackets in which every word is a unit or a number, and at least one a unit."""
    brackets = {inner: [is_unit(word) for word in re.split(r"[\s,]+", inner) if not NUMBER.fullmatch(word)]
                for inner in BRACKETS.findall(text)}  # fmt: skip
    return [inner for inner, found in brackets.items() if found and all(found)]


def is_unit(word: str) -> bool:
    if word in UNIT_WORDS:
        return True
    parts = [part.rstrip("²³⁻¹") for part in re.split(r"[·/()]", word) if part and part != "1"]
    return bool(parts) and all(part.removeprefix("√") in UNIT_WORDS for part in parts)


def references(text: str) -> str:
    section = re.search(r"^References\n-{10}\n(.*?)(?=^\w+\n-{3,}$|\Z)", text, re.DOTALL | re.MULTILINE)
    return " ".join(section[1].split()) if section else ""


TITLES = sorted({source.title for source in SOURCES.values() if source.title} | {COMMON_PRACTICE})


def names_a_source(text: str) -> bool:
    return any(title.lower() in text.lower() for title in TITLES)


EVERY = dict(functions())


# A function of a room of text that names a source all the same is held to the list like any other.
TEXT = frozenset(
    name
    for name in EVERY
    if name.rpartition(".")[0] in TEXT_ROOMS and not references(ast.get_docstring(EVERY[name]) or "")
)


@pytest.mark.parametrize("name", sorted(set(EVERY) - NEED_NO_SOURCE - TEXT))
def test_every_function_names_a_source_of_the_list(name: str) -> None:
    said = references(ast.get_docstring(EVERY[name]) or "")
    assert said, "no section References"
    assert names_a_source(said), f"not in packs.sources: {said}"


@pytest.mark.parametrize("name", sorted(name for name, node in EVERY.items() if measures(node)))
def test_every_function_that_deals_in_measures_states_units(name: str) -> None:
    assert units_in(ast.get_docstring(EVERY[name]) or ""), "no unit in square brackets"


PROPERTIES = dict(measuring_properties())


@pytest.mark.parametrize("name", sorted(PROPERTIES))
def test_every_measure_of_a_record_states_its_unit(name: str) -> None:
    assert units_in(ast.get_docstring(PROPERTIES[name]) or ""), "no unit in square brackets"


@pytest.mark.parametrize("name", sorted(EVERY))
def test_every_standard_that_is_named_stands_in_the_list(name: str) -> None:
    for standard in STANDARD.findall(ast.get_docstring(EVERY[name]) or ""):
        assert any(standard in str(source) for source in SOURCES.values()), standard


@pytest.mark.parametrize("rule", RULES.values(), ids=list(RULES))
def test_every_rule_names_a_source_of_the_list(rule: Rule) -> None:
    assert names_a_source(rule.source), rule.source


def test_no_source_is_made_outside_the_list() -> None:
    for name, module in modules().items():
        calls = [node for node in ast.walk(module) if isinstance(node, ast.Call) and ast.unparse(node.func) == "Source"]
        assert name == "sources" or not calls, name


def test_the_list_of_functions_without_a_source_is_short_and_names_only_functions_that_exist() -> None:
    assert set(EVERY) >= NEED_NO_SOURCE
    assert len(NEED_NO_SOURCE) <= 28
    assert {name.rpartition(".")[0] for name in TEXT} == TEXT_ROOMS
    assert len(TEXT) <= 21
    assert not [name for name in NEED_NO_SOURCE if names_a_source(references(ast.get_docstring(EVERY[name]) or ""))]


# What these checks would let through, if they let anything through.
@pytest.mark.parametrize(
    "said", ["", "[see below]", "[1]", "resistance", "[mΩ", "[V] is written elsewhere: [volt]"[4:]]
)
def test_words_in_brackets_are_no_units(said: str) -> None:
    assert not units_in(said)


@pytest.mark.parametrize("said", ["[V]", "[Ω/m]", "[mass/length³]", "[A·√s/mm²]", "[W/(m²·K)]", "[1/K]", "[voltage]"])
def test_units_and_dimensions_are_units(said: str) -> None:
    assert units_in(said)


@pytest.mark.parametrize("said", ["", "A well-known handbook.", "IEC 99999", "None: a conversion."])
def test_what_is_not_in_the_list_is_no_source(said: str) -> None:
    assert not names_a_source(said)


def test_a_function_without_references_or_with_an_empty_section_is_found() -> None:
    assert not references("Return the voltage [V].\n\nRaises\n------\nKeyError\n    Never.")
    assert not references("Return it.\n\nReferences\n----------\n\nExamples\n--------\n>>> 1\n1")
    assert (
        references("Return it.\n\nReferences\n----------\nOhm's law.\n\nExamples\n--------\n>>> 1\n1") == "Ohm's law."
    )


def test_a_record_that_holds_a_quantity_counts_as_a_measure() -> None:
    assert {"Conductor", "Fuse", "CellTable", "PackResponse", "CellModelData"} <= measuring_names()
    assert not {"Arrangement", "Stage", "CellPlace"} & measuring_names()
