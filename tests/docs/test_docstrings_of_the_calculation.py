"""What the calculation packages offer says its arguments, its units and where it comes from."""

import importlib
import inspect
import pkgutil
import re

import pytest

import maintenance.catalogue
import maintenance.engine
import maintenance.planning

PACKAGES = (maintenance.engine, maintenance.planning, maintenance.catalogue)
# Figures that count or point at something need no unit in brackets.
COUNTS = re.compile(
    r"\[|row|place|rank|number|count|car\b|cars\b|component|entry|entries|key|item|task|"
    r"grade|seed|index|digit|quantity|version|age\b|how many|start of",
    re.IGNORECASE,
)


def modules():
    for package in PACKAGES:
        yield package
        for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            yield importlib.import_module(found.name)


def public_functions():
    for module in modules():
        for name, thing in vars(module).items():
            own = getattr(thing, "__module__", "") == module.__name__
            if own and inspect.isfunction(thing) and not name.startswith("_"):
                yield pytest.param(thing, id=f"{module.__name__}.{name}")


def public_classes():
    for module in modules():
        for name, thing in vars(module).items():
            own = getattr(thing, "__module__", "") == module.__name__
            if own and inspect.isclass(thing) and not name.startswith("_"):
                yield pytest.param(thing, id=f"{module.__name__}.{name}")


def sections(thing):
    """The sections of a numpydoc docstring by their heading."""
    parts = re.split(r"^([A-Z][a-z]+)\n-+\n", inspect.getdoc(thing) or "", flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


@pytest.mark.parametrize("function", list(public_functions()))
def test_a_function_says_its_arguments_what_it_returns_and_its_source(function):
    found = sections(function)
    arguments = set(inspect.signature(function).parameters)
    described = re.findall(r"^([\w, *]+) :", found.get("Parameters", ""), flags=re.MULTILINE)
    named = {name.strip(" *") for line in described for name in line.split(",")}
    assert arguments <= named
    assert found.get("References", "").strip()
    assert "Returns" in found or "Yields" in found or function.__annotations__["return"] is None


@pytest.mark.parametrize("function", list(public_functions()))
def test_a_figure_says_its_unit(function):
    found = sections(function)
    for heading in ("Parameters", "Returns"):
        for entry in re.split(r"\n(?=\S)", found.get(heading, "")):
            kind, _, text = entry.partition("\n")
            if re.search(r"\b(int|float|Decimal)\b", kind):
                assert COUNTS.search(kind + text), entry


@pytest.mark.parametrize("thing", list(public_classes()))
def test_a_class_says_what_it_is(thing):
    assert (thing.__doc__ or "").strip()
    assert not (thing.__doc__ or "").startswith(f"{thing.__name__}(")
