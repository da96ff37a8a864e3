"""What the docstrings promise: examples that run, parameters that exist, units, and a source."""

import dataclasses
import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from types import ModuleType
from typing import Any

import pytest

import fabrication.core

MODULES = [
    importlib.import_module(f"fabrication.core.{found.name}")
    for found in pkgutil.iter_modules(fabrication.core.__path__)
]
UNITS = {"mm": "mm", "deg": "deg", "rad": "rad", "mpa": "MPa|N/mm2", "bar": "bar", "ratio": "-"}


def public_functions(module: ModuleType) -> list[tuple[str, Callable[..., Any]]]:
    return [
        (name, value)
        for name, value in inspect.getmembers(module, inspect.isfunction)
        if value.__module__ == module.__name__ and not name.startswith("_")
    ]


FUNCTIONS = [
    pytest.param(function, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")
    for module in MODULES
    for name, function in public_functions(module)
]
DOCUMENTED = [
    param for param in FUNCTIONS if "Parameters\n" in (inspect.getdoc(param.values[0]) or "")
]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_example_runs(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


def test_there_are_examples_to_run() -> None:
    assert sum(doctest.testmod(module).attempted for module in MODULES) > 100


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_module_says_what_it_is_for(module: ModuleType) -> None:
    assert len(module.__doc__ or "") > 30


@pytest.mark.parametrize("function", FUNCTIONS)
def test_every_public_function_says_what_comes_back(function: Callable[..., Any]) -> None:
    assert len(inspect.getdoc(function) or "") > 20


@pytest.mark.parametrize("function", DOCUMENTED)
def test_documented_parameters_are_those_of_the_signature(function: Callable[..., Any]) -> None:
    lines = section(function, "Parameters").splitlines()
    heads = [line.split(" : ")[0] for line in lines if line and not line.startswith(" ")]
    named = [name for head in heads for name in head.split(", ")]

    assert named == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", DOCUMENTED)
def test_every_length_and_angle_has_its_unit_in_brackets(function: Callable[..., Any]) -> None:
    text = section(function, "Parameters")
    for block in re.split(r"\n(?=\S)", text):
        for name in block.split(" : ")[0].split(", "):
            unit = UNITS.get(name.rsplit("_", 1)[-1])
            if unit and "_" in name:
                assert re.search(rf"\[[^\]]*({unit})[^\]]*\]", block), f"{name}: {unit}"


@pytest.mark.parametrize("function", DOCUMENTED)
def test_every_documented_function_names_its_source_and_shows_an_example(
    function: Callable[..., Any],
) -> None:
    assert section(function, "Source")
    assert ">>>" in section(function, "Examples")


@pytest.mark.parametrize("function", FUNCTIONS)
def test_numbers_for_the_product_are_given_by_name(function: Callable[..., Any]) -> None:
    """Functions with the full docstring are the product: their plain numbers are keyword-only."""
    if "Parameters\n" not in (inspect.getdoc(function) or ""):
        assert len(inspect.getdoc(function) or "") < 600
        return
    positional = [
        parameter.name
        for parameter in inspect.signature(function).parameters.values()
        if parameter.kind is not parameter.KEYWORD_ONLY and parameter.annotation in (float, "float")
    ]

    assert len(positional) <= 1


def section(function: Callable[..., Any], title: str) -> str:
    """Return the text under a title of a docstring, empty if there is none."""
    text = inspect.getdoc(function) or ""
    found = re.search(rf"^{title}\n-+\n(.*?)(?=\n\n[A-Z][a-z]+\n-+\n|\Z)", text, re.S | re.M)
    return found.group(1) if found else ""


RECORDS = [
    pytest.param(value, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")
    for module in MODULES
    for name, value in inspect.getmembers(module, inspect.isclass)
    if value.__module__ == module.__name__ and dataclasses.is_dataclass(value)
]


@pytest.mark.parametrize("record", RECORDS)
def test_every_record_is_frozen_and_slotted(record: Any) -> None:
    """Nobody can change a result they were handed, nor hang another number on it."""
    assert record.__dataclass_params__.frozen
    assert "__slots__" in vars(record)
    assert "__dict__" not in dir(record)
