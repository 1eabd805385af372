"""The public functions: documented, with an example that runs, and found without importing the whole house."""

import doctest
import inspect
import subprocess
import sys

import pytest

import analysis

FUNCTIONS = [name for name in analysis.__all__ if name[0].islower()]  # the others are small tables of wishes


@pytest.mark.parametrize("name", analysis.__all__)
def test_example_runs(name, season):
    """Every public name has an example, and it gives what it says."""
    examples = doctest.DocTestFinder(recurse=False).find(getattr(analysis, name), name)
    assert sum(len(one.examples) for one in examples) >= 2
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    said = []
    for one in examples:
        runner.run(one, out=said.append)
    assert not runner.failures, "".join(said)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_documented(name):
    """What goes in is named, what comes out has its columns; every parameter is among them."""
    function = getattr(analysis, name)
    words = inspect.getdoc(function)
    for heading in ("Parameters\n----------", "Returns\n-------"):
        assert heading in words
    for parameter in inspect.signature(function).parameters:
        assert parameter in words, parameter


def test_named_once():
    """The list, the rooms and what a type checker sees are the same names."""
    seen = [
        line.split(" import ")[1].split(", ")
        for line in inspect.getsource(analysis).splitlines()
        if line.startswith("    from analysis.")
    ]
    assert (
        sorted(name for names in seen for name in names)
        == sorted(analysis._ROOMS)
        == sorted(analysis.__all__)
    )
    with pytest.raises(AttributeError, match="nothing_of_ours"):
        analysis.nothing_of_ours  # noqa: B018 - asking is the test


def test_nothing_heavy_is_imported():
    """Asking for the version loads no table library."""
    code = "import sys, analysis; print([m for m in ('pandas', 'scipy', 'matplotlib') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
