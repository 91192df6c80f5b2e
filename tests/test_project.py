"""The project as a whole: what lies at the top, what an import costs, what the docstrings say."""

import ast
import inspect
import pkgutil
import re
import subprocess
import sys
import tomllib
from importlib import import_module, metadata
from pathlib import Path

import pytest

import bridge2d
import bridge2d.standards
from bridge2d.nomenclature import QUANTITIES

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "bridge2d", "tests", "details", "reports"}
# by Python, by builds and by the README's first command; .gitignore keeps them out
LEFT_BEHIND = {"__pycache__", "build", "dist", "tollhouse_joist.pdf"}
HEAVY = ("numpy", "scipy", "skfem", "gmsh", "meshio", "shapely", "matplotlib", "reportlab", "pikepdf", "pydantic")


def public_functions():
    """Every public function of every standard, as pytest parameters."""
    return list(_find_functions())


def _find_functions():
    for info in pkgutil.iter_modules(bridge2d.standards.__path__, "bridge2d.standards."):
        if info.name.rpartition(".")[2].startswith("_"):
            continue
        module = import_module(info.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if not name.startswith("_") and function.__module__ == module.__name__:
                yield pytest.param(function, id=f"{info.name.rpartition('.')[2]}.{name}")


def test_nothing_else_lies_at_the_top():
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - TOP_LEVEL - LEFT_BEHIND == set()


@pytest.mark.parametrize("function", public_functions())
def test_standards_docstring_names_the_clause(function):
    lines = [line for line in inspect.getdoc(function).splitlines() if line]
    assert re.match(r"(ISO|EN|DIN|BS) [\d-]+(:\d{4})?, .*\S", lines[1]), f"second line is {lines[1]!r}"


@pytest.mark.parametrize("function", public_functions())
def test_standards_docstring_names_units_of_the_nomenclature(function):
    known = {unit for quantity in QUANTITIES.values() for unit in (quantity.unit, quantity.difference_unit) if unit}
    text = inspect.getdoc(function)
    # a function that answers with a word has no unit of its own, but one of its arguments has
    units = re.findall(r"\[([^\]]+)\]", text)
    assert units, "no unit in brackets"
    assert set(units) <= known


@pytest.mark.parametrize("function", public_functions())
def test_standards_docstring_tells_every_argument(function):
    text = inspect.getdoc(function)
    for name in inspect.signature(function).parameters:
        assert re.search(rf"^ +{name}: ", text, re.MULTILINE), name


@pytest.mark.parametrize("module", ["bridge2d", "bridge2d.nomenclature", "bridge2d.standards.iso_13788"])
def test_import_is_light(module):
    code = f"import sys, {module}; print(*sorted(sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    names = loaded.stdout.split()
    assert module in names
    assert set(names) & set(HEAVY) == set()


def test_version_has_one_place():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert "version" not in project["project"]
    assert project["project"]["dynamic"] == ["version"]
    source = ROOT / project["tool"]["hatch"]["version"]["path"]
    declared = [
        ast.literal_eval(node.value)
        for node in ast.parse(source.read_text(encoding="utf-8")).body
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__version__"
    ]
    assert declared == [bridge2d.__version__]


def test_installed_version_is_the_package_s():
    assert metadata.version("bridge2d") == bridge2d.__version__


def test_licence_travels_with_the_package():
    text = (Path(bridge2d.__file__).parent / "LICENSE.txt").read_text(encoding="utf-8")
    assert "GNU GENERAL PUBLIC LICENSE" in text
    assert "Version 3, 29 June 2007" in text
    assert metadata.metadata("bridge2d")["License-Expression"] == "GPL-3.0-or-later"
