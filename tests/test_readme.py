"""README.md and DEVELOPERS.md say what the program does."""

from __future__ import annotations

import re
from pathlib import Path

from bridge2d.cli import _parser
from tests.readme import README, current

TEXT = README.read_text(encoding="utf-8")


def test_parameter_tables_are_current() -> None:
    assert current(TEXT) == TEXT
    assert "`bearing_length`" in TEXT


def test_every_command_is_described_and_exists() -> None:
    described = set(re.findall(r"^\| `bridge2d (\w+)", TEXT, flags=re.MULTILINE))
    commands = next(a for a in _parser()._actions if a.metavar == "COMMAND").choices
    assert commands is not None
    assert described == set(commands)


def test_both_commands_stand_between_their_markers() -> None:
    for name in ("job", "tests"):
        found = re.search(rf"^<!-- {name} -->$(.*?)^<!-- /{name} -->$", TEXT, flags=re.MULTILINE | re.DOTALL)
        assert found
        assert len([line for line in found[1].splitlines() if line and not line.startswith("```")]) == 1


def test_files_named_in_the_documents_exist() -> None:
    root = README.parent
    developers = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    for path in re.findall(r"\]\(([\w./]+)\)", TEXT + developers):
        assert (root / path).exists(), path
    for path in re.findall(r"`((?:bridge2d|tests|details|reports)/[\w./]+)`", TEXT + developers):
        assert (root / path).exists() or "NAME" in path, path
    assert Path(root / ".ci/run").exists()


def test_the_number_under_the_picture_is_the_computed_one() -> None:
    from bridge2d.calculate import calculate
    from bridge2d.detail_file import load
    from bridge2d.nomenclature import PSI, format_bounded

    result = calculate(load(README.parent / "details" / "tollhouse_joist.toml").detail)
    external = next(one.value for one in result.psi if one.dimensions == "external")
    assert f"Ψ<sub>e</sub> = {format_bounded(PSI, external.lower, external.upper)}" in TEXT
