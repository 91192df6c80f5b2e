"""What travels inside the validation's PDF: the cases with their expected values, their detail files, all numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from bridge2d.detail_file import load
from bridge2d.materials import rows_text
from bridge2d.report.enclosures import CASES, MATERIALS, RESULTS, Enclosure, json_bytes
from bridge2d.tables import as_json as detail_json
from bridge2d.verify.records import Verified
from bridge2d.verify.screen import as_json


def of_cases(cases: Sequence[Verified], title: str, fingerprint: str) -> tuple[Enclosure, ...]:
    """The files that a validation encloses, the same for the same input.

    Args:
        cases: all of them, computed.
        title: of the validation.
        fingerprint: SHA-256 of expected values and inputs.
    """
    expected = [{**asdict(one.case), "files": [path.name for path in one.case.files]} for one in cases]
    results = {path: result for one in cases for path, result in zip(one.case.files, one.results, strict=True)}
    loaded = {path: load(path, geometry=False) for path in results}
    rows = {row.name: row for one in loaded.values() for row in one.materials}
    numbers = {
        **as_json(cases),
        "title": title,
        "fingerprint": fingerprint,
        "details": {
            path.name: {key: value for key, value in detail_json(result).items() if key != "seconds"}
            for path, result in results.items()
        },
    }
    data = "application/json", "Data"
    found = [
        Enclosure(CASES, "the cases and what is expected of them", "application/json", "Source", json_bytes(expected))
    ]
    found += [
        Enclosure(path.name, "a detail file of the cases", "application/toml", "Source", one.text.encode("utf-8"))
        for path, one in loaded.items()
    ]
    table = rows_text(tuple(rows.values())).encode("utf-8")
    found.append(Enclosure(MATERIALS, "the catalogue's rows that they draw on", "text/csv", "Source", table))
    return (*found, Enclosure(RESULTS, "all numbers of this validation", *data, json_bytes(numbers)))
