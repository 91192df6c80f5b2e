"""Every function of a standard has its clause and a test, and the table in DEVELOPERS.md is that of today."""

import pytest

from tests import traceability

ROWS = traceability.clauses()


def test_there_are_functions():
    assert len(ROWS) == len(list(traceability.functions())) > 40


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.function)
def test_function_of_a_standard_has_a_clause_and_a_test(row):
    assert row.clause, f"{row.function} names no clause in its docstring's second line"
    assert row.tests, f"no test calls {row.function}"


def test_a_function_that_nothing_calls_is_found():
    called = traceability._called(traceability.ROOT / "tests" / "standards" / "test_iso_12241.py")
    assert ("iso_12241", "cylindrical_resistance") in called
    assert ("iso_12241", "window_transmittance") not in called


def test_the_table_in_the_document_is_that_of_today():
    text = traceability.DEVELOPERS.read_text(encoding="utf-8")
    assert traceability.START in text
    assert traceability.written(text) == text, "run python -m tests.traceability"
