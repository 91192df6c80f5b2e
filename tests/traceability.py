"""Which clause of a standard is computed where, which tests call it: `python -m tests.traceability` writes the table.

The clause is the second line of each function's docstring; the tests are those whose file names the function, by way of
the standard's module or by an import of its own.
"""

from __future__ import annotations

import ast
import inspect
import pkgutil
import re
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import NamedTuple

import bridge2d.standards

ROOT = Path(__file__).parents[1]
DEVELOPERS = ROOT / "DEVELOPERS.md"
START, END = "<!-- traceability -->", "<!-- /traceability -->"


class Clause(NamedTuple):
    """A function of a standard: its clause, what calls it in the program, and which test files call it."""

    standard: str
    clause: str
    function: str
    used: tuple[str, ...]
    tests: tuple[str, ...]


def functions() -> Iterator[tuple[str, str, str]]:
    """Module, name and clause of every public function of every standard; the clause is empty where there is none."""
    for info in pkgutil.iter_modules(bridge2d.standards.__path__):
        if info.name.startswith("_"):
            continue
        module = import_module(f"bridge2d.standards.{info.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if not name.startswith("_") and function.__module__ == module.__name__:
                lines = [line for line in (inspect.getdoc(function) or "").splitlines() if line]
                clause = lines[1] if len(lines) > 1 and re.match(r"(ISO|EN|DIN|BS) [\d-]+", lines[1]) else ""
                yield info.name, name, clause


@cache
def _called(path: Path) -> frozenset[tuple[str, str]]:
    """(module, function) of every function of a standard that a file calls or hands on, by reading its syntax."""
    text = path.read_text(encoding="utf-8")
    if "standards" not in text:
        return frozenset()
    tree = ast.parse(text)
    names: dict[str, tuple[str, str]] = {}
    modules: dict[str, str] = {}
    found: set[tuple[str, str]] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("bridge2d.standards."):
            module = (node.module or "").rpartition(".")[2]
            names.update({alias.asname or alias.name: (module, alias.name) for alias in node.names})
        elif isinstance(node, ast.ImportFrom) and node.module == "bridge2d.standards":
            modules.update({alias.asname or alias.name: alias.name for alias in node.names})
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            found.add((modules.get(node.value.id, node.value.id), node.attr))
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in names:
            found.add(names[node.id])
    return frozenset(found)


@cache
def _files(folder: str, pattern: str) -> list[Path]:
    return sorted((ROOT / folder).rglob(pattern))


def clauses() -> list[Clause]:
    """The whole table, in the order of the standards and their clauses."""
    rows = []
    for module, name, clause in functions():
        key = (module, name)
        tests = tuple(path.name for path in _files("tests", "test_*.py") if key in _called(path))
        used = tuple(
            str(path.relative_to(ROOT / "bridge2d").with_suffix("")).replace("/", ".")
            for path in _files("bridge2d", "*.py")
            if key in _called(path) or (path.stem == module and _within(path, name))
        )
        standard, _, rest = clause.partition(", ")
        rows.append(Clause(standard, rest, f"{module}.{name}", used, tests))
    return sorted(rows, key=lambda row: (row.standard, _numbers(row.clause), row.function))


def _within(path: Path, name: str) -> bool:
    """Whether another function of the standard's own module calls it."""
    return re.search(rf"(?<!def )\b{name}\(", path.read_text(encoding="utf-8")) is not None


def _numbers(clause: str) -> list[int]:
    return [int(part) for part in re.findall(r"\d+", clause)]


def table() -> str:
    """The table as Markdown."""
    lines = ["| standard | clause | function | used in | tests |", "| --- | --- | --- | --- | --- |"]
    for row in clauses():
        clause = row.clause.replace("|", "\\|")
        used, tests = ", ".join(f"`{one}`" for one in row.used), ", ".join(f"`{one}`" for one in row.tests)
        lines.append(f"| {row.standard} | {clause} | `{row.function}` | {used} | {tests} |")
    return "\n".join(lines)


def written(text: str) -> str:
    """DEVELOPERS.md with the table of today.

    Args:
        text: of the file.
    """
    before, _, rest = text.partition(START)
    _, _, after = rest.partition(END)
    return f"{before}{START}\n{table()}\n{END}{after}"


if __name__ == "__main__":
    DEVELOPERS.write_text(written(DEVELOPERS.read_text(encoding="utf-8")), encoding="utf-8")
