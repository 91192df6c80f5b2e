"""Whether the tests notice a wrong formula: `python -m tests.mutation MODULE … [--share S] [--jobs N]`.

Each module is changed in one place at a time, such as + into −, and its tests are run; a change that no test notices
survives and is printed. Changes come from cosmic-ray (`pip install '.[mutation]'`). Every run is a process of its own,
forked from one that has loaded the libraries, in which only the changed module differs. Needs an operating system that
forks.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import random
import signal
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from difflib import unified_diff
from pathlib import Path
from types import CodeType, ModuleType

ROOT = Path(__file__).parents[1]
NUMERICS = ("tests/numerics/test_assembly.py", "tests/numerics/test_revolution.py", "tests/numerics/test_bounds.py")
TESTS = {
    "heat_flow": NUMERICS,
    "bounds": NUMERICS,
    "revolution": NUMERICS[1:2],
    "evaluation": ("tests/numerics/test_settling.py", "tests/validation/test_closed_forms.py"),
}
"""Tests of a module, the quickest first; those of a standard are its own file and then all of tests/standards."""
OPERATORS = (
    *(
        f"ReplaceBinaryOperator_{pair}"
        for pair in ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "Pow_Mul", "MatMult_Mul")
    ),
    *(f"ReplaceComparisonOperator_{pair}" for pair in ("Lt_LtE", "LtE_Lt", "Gt_GtE", "GtE_Gt", "Lt_Gt", "Gt_Lt")),
    *(
        f"ReplaceComparisonOperator_{pair}"
        for pair in ("LtE_GtE", "GtE_LtE", "Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is")
    ),
    *("ReplaceUnaryOperator_Delete_USub", "ReplaceUnaryOperator_Delete_Not", "ReplaceUnaryOperator_Delete_Invert"),
    *("NumberReplacer", "ReplaceAndWithOr", "ReplaceOrWithAnd", "AddNot"),
)
LONGEST, TIMES = 900.0, 4.0
"""The longest run of a module's tests as it is [s]; a change's run counts as noticed after so many times that."""
LIBRARIES = ("pytest", "numpy", "scipy.sparse.linalg", "skfem", "shapely", "pydantic", "tomlkit", "sympy")


@dataclass(frozen=True)
class Change:
    """A module's text with one change.

    Attributes:
        module: its name, such as "bridge2d.bounds".
        path: its file.
        operator: what was done.
        text: the changed text.
    """

    module: str
    path: Path
    operator: str
    text: str

    def told(self) -> str:
        """Where the change is, as lines of before and after."""
        before, after = self.path.read_text(encoding="utf-8").splitlines(), self.text.splitlines()
        lines = list(unified_diff(before, after, n=0, lineterm=""))[2:]
        return f"{self.path.relative_to(ROOT)}, {self.operator}\n" + "\n".join(f"    {line}" for line in lines)


class _Changed(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Finds and loads one module from a changed text."""

    def __init__(self, change: Change) -> None:
        importlib.machinery.SourceFileLoader.__init__(self, change.module, str(change.path))
        self.change = change

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        del path, target
        if fullname != self.change.module:
            return None
        return importlib.util.spec_from_file_location(fullname, self.change.path, loader=self)

    def get_code(self, fullname: str) -> CodeType:
        del fullname
        return compile(self.change.text, str(self.change.path), "exec", dont_inherit=True)


def module_of(path: Path) -> str:
    """The dotted name of a file of the package."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def changes(path: Path) -> Iterator[Change]:
    """Every change of a module that makes another program, each once.

    Args:
        path: of the module.
    """
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator, operator_names

    text = path.read_text(encoding="utf-8")
    seen = {_meaning(text)}
    known = set(operator_names())
    for name in OPERATORS:
        if f"core/{name}" not in known:
            continue
        occurrence, meaning = 0, _meaning(text)
        while (changed := mutate_code(text, get_operator(f"core/{name}")(), occurrence)) is not None:
            occurrence += 1
            with contextlib.suppress(SyntaxError):  # such as a star among parameters that became a stroke
                meaning = _meaning(changed)
            if meaning not in seen:
                seen.add(meaning)
                yield Change(module_of(path), path, name, changed)


def _meaning(text: str) -> str:
    """The program without what it says of types: annotations are never evaluated."""
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            node.returns = None
        elif isinstance(node, ast.arg):
            node.annotation = None
        elif isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(None)
    return ast.dump(tree)


def tests_of(path: Path) -> tuple[str, ...]:
    """The tests that have to notice a change in a module."""
    if path.parent.name == "standards":
        own = f"tests/standards/test_{path.stem}.py"
        return ((own,) if (ROOT / own).exists() else ()) + ("tests/standards",)
    return TESTS[path.stem]


def noticed(change: Change | None, tests: tuple[str, ...], longest: float = LONGEST) -> bool:
    """Whether a run of the tests fails, in a process of its own.

    Args:
        change: None runs them with the modules as they are.
        tests: files or folders.
        longest: a run is ended after so many seconds, and the change counts as noticed.
    """
    child = os.fork()
    if child == 0:
        _run(change, tests)
    end = time.monotonic() + longest
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) != 0
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return True


def _run(change: Change | None, tests: tuple[str, ...]) -> None:
    """Run the tests in this process and end it with pytest's status."""
    import pytest

    status = 1
    with contextlib.suppress(BaseException), Path(os.devnull).open("w") as nowhere:  # whatever goes wrong is noticed
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
        if change is not None:
            sys.meta_path.insert(0, _Changed(change))
        status = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--assert=plain", *tests]))
    os._exit(status)


def main(given: Sequence[str] | None = None) -> int:
    """Count the changes that tests notice, and print those that survive.

    Args:
        given: arguments of the call.

    Returns:
        0 where none survives, 1 otherwise.
    """
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__.partition("\n")[0])
    parser.add_argument("modules", nargs="+", metavar="MODULE", help="files below bridge2d/, or its folders")
    parser.add_argument("--share", type=float, default=1.0, help="of all changes, drawn at random [0 to 1]")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    arguments = parser.parse_args(given)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    for name in LIBRARIES:
        importlib.import_module(name)
    if any(name.startswith("bridge2d") for name in sys.modules):
        raise SystemExit("the package is loaded already; run this as a program of its own")
    files = [file for name in arguments.modules for file in _files(ROOT / name)]
    survivors = 0
    for path in files:
        survivors += _of_module(path, arguments.share, random.Random(arguments.seed), arguments.jobs)
    return 1 if survivors else 0


def _files(path: Path) -> list[Path]:
    found = sorted(path.glob("*.py")) if path.is_dir() else [path]
    return [file for file in found if file.name != "__init__.py"]


def _of_module(path: Path, share: float, rng: random.Random, jobs: int) -> int:
    """Print what survives in a module, and count it."""
    tests, begun = tests_of(path), time.monotonic()
    if noticed(None, tests):
        raise SystemExit(f"{path}: its tests fail as it is")
    longest = 10.0 + TIMES * (time.monotonic() - begun)
    drawn = [change for change in changes(path) if rng.random() < share]
    with ThreadPoolExecutor(jobs) as pool:
        results = list(pool.map(lambda change: noticed(change, tests, longest), drawn))
    survivors = [change for change, found in zip(drawn, results, strict=True) if not found]
    for change in survivors:
        print(change.told())
    print(f"{path.relative_to(ROOT)}: {len(drawn)} changes, {len(drawn) - len(survivors)} noticed", flush=True)
    return len(survivors)


if __name__ == "__main__":
    sys.exit(main())
