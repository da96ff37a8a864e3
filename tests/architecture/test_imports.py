"""The arrows between the rooms, read from every import of every module.

``parts -> garage``, ``fabrication -> parts, garage``, ``fabrication.core -> standard library``.
Only the composition roots of garage look at the other rooms, and only they import one another.
"""

import ast
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from importlib.util import resolve_name
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
MAY_IMPORT = {
    "garage": {"garage"},
    "parts": {"parts", "garage"},
    "fabrication": {"fabrication", "parts", "garage"},
}
CORE = "fabrication.core"
# Where the rooms are put together. A package here stands for every module in it.
COMPOSITION_ROOTS = (
    "garage.settings",  # the list of rooms
    "garage.urls",  # the addresses of all rooms
    "garage.wsgi",  # the way in for the server
    "garage.dashboard",  # Today shows lines of every room
    "garage.demo",  # the invented garage fills every room
    "garage.bench",  # measures with ten thousand parts
    "garage.management",  # commands: start, test
)


@dataclass(frozen=True)
class Import:
    """One import of a module: what it names, where, and whether only a type checker sees it."""

    names: tuple[str, ...]
    line: int
    inline: bool
    typing_only: bool


def sources() -> dict[str, str]:
    """The text of every module of the three rooms, by its dotted name."""
    found = {}
    for room in MAY_IMPORT:
        for path in sorted((ROOT / room).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            found[name] = path.read_text()
    return found


def imports_of(source: str, package: str = "") -> Iterator[Import]:
    """Every import of a module of ``package``, wherever it stands, by its full name."""

    def walk(node: ast.AST, inline: bool, typing_only: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Import):
                names = tuple(alias.name for alias in child.names)
                yield Import(names, child.lineno, inline, typing_only)
            elif isinstance(child, ast.ImportFrom):
                origin = resolve_name("." * child.level + (child.module or ""), package)
                names = tuple(f"{origin}.{alias.name}" for alias in child.names)
                yield Import(names, child.lineno, inline, typing_only)
            in_function = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            for_types = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test)
            yield from walk(child, inline or in_function, typing_only or for_types)

    yield from walk(ast.parse(source), False, False)


def package_of(module: str) -> str:
    is_package = (ROOT.joinpath(*module.split(".")) / "__init__.py").is_file()
    return module if is_package else module.rpartition(".")[0]


def within(name: str, packages: Iterable[str]) -> bool:
    return any(name == package or name.startswith(f"{package}.") for package in packages)


def wrong_arrows(modules: dict[str, str]) -> Iterator[str]:
    """A sentence for every import that the arrows forbid."""
    for module, source in modules.items():
        room = module.split(".")[0]
        may = set(MAY_IMPORT) if within(module, COMPOSITION_ROOTS) else MAY_IMPORT[room]
        for found in imports_of(source, package_of(module)):
            for name in found.names:
                at = f"{module}, line {found.line}:"
                if name.split(".")[0] in MAY_IMPORT.keys() - may:
                    yield f"{at} {room} must not know {name}"
                if within(name, COMPOSITION_ROOTS) and not within(module, COMPOSITION_ROOTS):
                    yield f"{at} {name} is a composition root, which nothing imports"
                if within(module, [CORE]) and not _is_core_or_standard(name):
                    yield f"{at} the core is pure, {name} is not"


def _is_core_or_standard(name: str) -> bool:
    return within(name, [CORE]) or name.split(".", maxsplit=1)[0] in sys.stdlib_module_names


def circles(modules: dict[str, str]) -> Iterator[str]:
    """The first circle of modules that import one another, inside functions too."""
    graph = {
        module: {
            target
            for found in imports_of(source, package_of(module))
            if not found.typing_only
            for name in found.names
            if (target := _module_of(name, modules)) and target != module
        }
        for module, source in modules.items()
    }
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as circle:
        yield " <- ".join(circle.args[1])


def _module_of(name: str, modules: dict[str, str]) -> str | None:
    """The module that ``from a.b import c`` loads: ``a.b.c`` when that is one, else ``a.b``."""
    if name in modules:
        return name
    parent = name.rpartition(".")[0]
    return parent if parent in modules else None


def unexplained(modules: dict[str, str]) -> Iterator[str]:
    """A sentence for every import inside a function that does not say why it stands there."""
    for module, source in modules.items():
        lines = source.splitlines()
        for found in imports_of(source, package_of(module)):
            if found.inline and not _says_why(lines, found.line - 1):
                yield f"{module}, line {found.line}: an inline import needs its reason"


def _says_why(lines: list[str], at: int) -> bool:
    """A reason behind the noqa, or in a comment over the imports that stand together."""
    noqa = re.search(r"# noqa: [A-Z0-9, ]*PLC0415\b(?P<reason>.*)", lines[at])
    if not noqa:
        return False
    if len(noqa["reason"].strip(" -")) > 5:
        return True
    above = at - 1
    while above >= 0 and (not lines[above].strip() or "# noqa: PLC0415" in lines[above]):
        above -= 1
    return lines[above].strip().startswith("# ")


# ---- the code as it is ---------------------------------------------------------------------


def test_every_import_follows_the_arrows() -> None:
    found = list(wrong_arrows(sources()))

    assert not found, "\n".join(found)


def test_no_modules_import_one_another_in_a_circle() -> None:
    found = list(circles(sources()))

    assert not found, "\n".join(found)


def test_every_inline_import_says_why() -> None:
    found = list(unexplained(sources()))

    assert not found, "\n".join(found)


@pytest.mark.parametrize("root", COMPOSITION_ROOTS)
def test_a_composition_root_is_there(root: str) -> None:
    assert any(within(module, [root]) for module in sources())


def test_the_rooms_were_really_read() -> None:
    found = sources()

    assert {"garage.middleware", "parts.statuses", "fabrication.core.tube_path"} <= found.keys()
    assert sum(len(list(imports_of(text, package_of(name)))) for name, text in found.items()) > 500


# ---- and the reading is no blind one -------------------------------------------------------

WRONG = [
    ("garage.cars", "from parts.models import Part", "garage must not know parts.models.Part"),
    ("garage.cars", "import parts", "garage must not know parts"),
    ("garage.views.cars", "def f():\n    import fabrication.core", "must not know fabrication"),
    (
        "parts.plan",
        "from fabrication import panels",
        "parts must not know fabrication.panels",
    ),
    ("parts.plan", "from garage import dashboard", "garage.dashboard is a composition root"),
    ("garage.cars", "from garage.demo.load import load", "garage.demo.load.load is a composition"),
    ("fabrication.core.ovality", "import numpy", "the core is pure, numpy is not"),
    ("fabrication.core.ovality", "from django.db import models", "the core is pure, django"),
    ("fabrication.core.ovality", "from garage import units", "the core is pure, garage.units"),
    ("fabrication.core.ovality", "from fabrication import compute", "the core is pure"),
    ("fabrication.core.ovality", "from ..compute import x", "the core is pure"),
]


@pytest.mark.parametrize(("module", "source", "says"), WRONG)
def test_a_wrong_arrow_is_found(module: str, source: str, says: str) -> None:
    (found,) = wrong_arrows({module: source})

    assert says in found


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("parts.plan", "from garage.models import Person"),
        ("fabrication.pipe.compute", "from parts.models import Piece\nfrom garage import units"),
        ("garage.dashboard", "from parts.models import Piece"),
        ("garage.management.commands.start", "from garage.demo.load import load_demo"),
        ("fabrication.core.ovality", "import math\nfrom fabrication.core.errors import CoreError"),
        ("fabrication.core.ovality", "from .errors import CoreError"),
    ],
)
def test_a_right_arrow_is_not_reported(module: str, source: str) -> None:
    assert list(wrong_arrows({module: source})) == []


@pytest.mark.parametrize(
    "modules",
    [
        {"a": "import b", "b": "import a"},
        {"a": "from b import x", "b": "def f():\n    from a import y"},
        {"a": "import b", "b": "from c import z", "c": "from a import x"},
    ],
)
def test_a_circle_is_found(modules: dict[str, str]) -> None:
    assert len(list(circles(modules))) == 1


def test_a_circle_only_for_types_is_none() -> None:
    modules = {"a": "import b", "b": "from typing import *\nif TYPE_CHECKING:\n    import a"}

    assert list(circles(modules)) == []


@pytest.mark.parametrize(
    ("source", "says_why"),
    [
        ("def f():\n    import b\n", False),
        ("def f():\n    import b  # noqa: PLC0415\n", False),
        ("def f():\n    import b  # noqa: PLC0415 - heavy, and seldom needed\n", True),
        ("def f():\n    # heavy, and seldom needed\n    import b  # noqa: PLC0415\n", True),
    ],
)
def test_an_inline_import_without_a_reason_is_found(source: str, says_why: bool) -> None:
    assert (list(unexplained({"a": source})) == []) is says_why
