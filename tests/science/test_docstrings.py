"""House rule 5: every relation's docstring says what it is, and says so of the function as it stands."""

import doctest
import importlib
import inspect
import pkgutil
import re

import pytest

import plumeline.science

MODULES = [
    importlib.import_module(f"plumeline.science.{module.name}")
    for module in pkgutil.iter_modules(plumeline.science.__path__)
]
RELATIONS = [
    pytest.param(module, function, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")
    for module in MODULES
    for name, function in vars(module).items()
    if inspect.isfunction(function) and function.__module__ == module.__name__ and not name.startswith("_")
]
HEADINGS = ("Equation", "Args", "Returns", "Raises", "Valid range", "Source")


def section(text, heading):
    """Return what stands under a heading, up to the next heading or the doctest; None where it is missing."""
    found = re.search(rf"^{heading}:(.*?)(?=^(?:{'|'.join(HEADINGS)}):|^>>>|\Z)", text, re.M | re.S)
    return found.group(1).strip() if found else None


def test_there_are_relations():
    """The list is not empty: the other tests can't pass by finding nothing."""
    assert len(RELATIONS) > 50


@pytest.mark.parametrize(("module", "function"), RELATIONS)
def test_every_heading_is_there(module, function):
    """Equation, Args, Returns, Valid range and Source are there and say something."""
    text = inspect.getdoc(function)
    missing = [h for h in HEADINGS if h != "Raises" and not section(text, h)]
    assert not missing


@pytest.mark.parametrize(("module", "function"), RELATIONS)
def test_arguments_are_those_of_the_signature(module, function):
    """Args lists the parameters by name, in order."""
    listed = re.findall(r"^\s*(\w+): ", section(inspect.getdoc(function), "Args"), re.M)
    assert listed == list(inspect.signature(function).parameters)


@pytest.mark.parametrize(("module", "function"), RELATIONS)
def test_the_example_runs_and_is_true(module, function):
    """There is a doctest and it passes."""
    tests = doctest.DocTestFinder().find(function, globs=dict(vars(module)))
    examples = [example for test in tests for example in test.examples]
    assert examples
    runner = doctest.DocTestRunner(verbose=False)
    for test in tests:
        runner.run(test)
    assert runner.summarize(verbose=False).failed == 0


@pytest.mark.parametrize(("module", "function"), RELATIONS)
def test_the_valid_range_is_data(module, function):
    """RANGE holds low < high for every parameter, and nothing else (rule 6)."""
    limits = module.RANGE[function.__name__]
    assert list(limits) == [name for name in inspect.signature(function).parameters if name in limits]
    assert set(limits) == set(inspect.signature(function).parameters)
    assert all(low < high for low, high in limits.values())


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rsplit(".", 1)[1])
def test_no_range_is_left_over(module):
    """RANGE names only relations that exist."""
    assert all(inspect.isfunction(getattr(module, name, None)) for name in module.RANGE)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rsplit(".", 1)[1])
def test_the_ground_floor_imports_nothing_but_math_and_itself(module):
    """Floats and ``math`` only (house, science/)."""
    lines = re.findall(r"^(?:from|import) +([\w.]+)", inspect.getsource(module), re.M)
    assert all(line in ("math", "__future__") or line.startswith("plumeline.science") for line in lines)
