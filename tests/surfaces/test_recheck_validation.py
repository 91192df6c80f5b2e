"""Recheck of a validation's PDF: an honest one agrees, and every way of altering one is found out or refused."""

from __future__ import annotations

import re

import pikepdf
import pytest

from bridge2d.report.verification_pages import verification_bytes
from bridge2d.verify.cases import published_cases
from bridge2d.verify.running import verified
from tests.surfaces.test_recheck import altered, changed, with_file
from tests.surfaces.test_recheck_comparison import NOT_THOSE, changed_list
from tests.surfaces.test_recheck_volume import outside

FEW = ("plane_wall", "corner", "iso_13788_vapour_excess", "iso_10211_case_1", "duality", "iso_14683_balcony")
"""A formula, an estimate, a bracket, a product of two sections, a band; all axis-parallel."""


@pytest.fixture(scope="module")
def proof() -> bytes:
    return verification_bytes([verified(case) for case in published_cases() if case.name in FEW])


@pytest.fixture(autouse=True)
def _here(monkeypatch) -> None:
    """Computed in this process: another one takes longer to start than these cases take."""
    monkeypatch.setattr("bridge2d.recheck.cases.side_by_side", lambda compute, items: [compute(item) for item in items])


def unusable(check, data: bytes, name: str) -> str:
    """What is said of a validation whose enclosed file was changed so that it cannot be used."""
    status, found, _ = check(data)
    assert status == 1
    listed, said = found["findings"]
    assert listed == changed_list(name)
    assert said.startswith("nothing was computed again: ")
    assert "checked.pdf" in said
    assert found["numbers"] == []
    return said


def test_an_honest_validation_agrees(check, proof):
    status, found, _ = check(proof)
    assert status == 0, (found["findings"], outside(found))
    cases = {row["name"].partition(":")[0] for row in found["numbers"]}
    assert cases == set(FEW)
    assert {row["kind"] for row in found["numbers"]} == {"bracket", "estimate", "exact"}
    assert all(mesh["now"] != mesh["report"] or mesh["why"] for mesh in found["meshes"])
    files = {file["name"] for file in found["enclosed"]}
    assert {"cases.json", "results.json", "pages.json", "materials.csv", "corner.toml"} <= files


def test_an_altered_detail_file(check, proof):
    def change(data: bytes) -> bytes:
        return re.sub(rb"conductivity = [\d.]+", b"conductivity = 9", data)

    status, found, _ = check(with_file(proof, "corner.toml", change))
    assert status == 1
    assert changed_list("corner.toml") in found["findings"]
    assert any("fingerprint differs" in words for words in found["findings"])
    assert {one.partition(":")[0] for one in outside(found)} == {"corner"}
    assert any(words.startswith("corner: ") and "outside when computed again" in words for words in found["findings"])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d[0]["expected"][0].update(theirs=1.0), "fingerprint differs"),
        (lambda d: d[0]["expected"].pop(), "the numbers of the enclosed results are not those of the enclosed cases"),
    ],
)
def test_an_altered_expectation(check, proof, change, said):
    status, found, _ = check(with_file(proof, "cases.json", changed(change)))
    assert status == 1
    assert changed_list("cases.json") in found["findings"]
    assert any(said in words for words in found["findings"])


def shift(document: dict) -> None:
    for key in ("value", "lower", "upper"):
        one = document["cases"][-1]["values"][0]
        one[key] = one[key] + 0.01 if one[key] is not None else None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (shift, "no page says "),
        (lambda d: d["cases"][0]["values"][0].update(inside=False), "outside its band on the page, inside when"),
        (lambda d: d.update(title="Proof"), "no page has the title"),
        (lambda d: d["cases"][0].update(title="Another"), "the numbers of the enclosed results are not those"),
    ],
)
def test_an_altered_number(check, proof, change, said):
    status, found, _ = check(with_file(proof, "results.json", changed(change)))
    assert status == 1
    assert changed_list("results.json") in found["findings"]
    assert any(said in words for words in found["findings"])
    assert len(outside(found)) == (change is shift)


def test_one_altered_digit_of_a_page(check, proof):
    def change(pdf: pikepdf.Pdf) -> None:
        drawn = pdf.pages[0].Contents.read_bytes()
        found = re.search(rb"\(([^()\\]{3,})\) Tj", drawn)
        assert found is not None
        old = found[1]
        pdf.pages[0].Contents.write(drawn.replace(b"(" + old + b") Tj", b"(" + old[::-1] + old[:1] + b") Tj", 1))

    status, found, _ = check(altered(proof, change))
    assert status == 1
    assert any(words.startswith("page 1 reads") for words in found["findings"])


def test_a_missing_detail_file_is_named(check, proof):
    status, found, _ = check(altered(proof, lambda pdf: pdf.attachments.__delitem__("corner.toml")))
    assert status == 1
    assert f"{NOT_THOSE}missing: corner.toml" in found["findings"]


@pytest.mark.parametrize("name", ["cases.json", "results.json", "materials.csv", "pages.json"])
def test_a_missing_file_is_refused(check, proof, name):
    status, _, err = check(altered(proof, lambda pdf: pdf.attachments.__delitem__(name)))
    assert status == 2
    assert "checked.pdf" in err


def other_function(document: list) -> None:
    one = next(one for case in document for one in case["expected"] if one["function"])
    one["function"] = "os.system"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (other_function, "the function 'os.system' is none of our cases'"),
        (lambda d: d[1].update(tolerance=-1.0), "cases.json is malformed: tolerance"),
        (lambda d: d[1].update(files=["/etc/passwd"]), "'passwd', which is not enclosed"),
        (lambda d: d[1]["expected"][0].update(quantity="everything"), "has not what is expected of it"),
        (lambda d: d[1]["expected"][0].update(of="nowhere", quantity="psi"), "has not what is expected of it"),
    ],
)
def test_made_up_cases_disagree(check, proof, change, said):
    assert said in unusable(check, with_file(proof, "cases.json", changed(change)), "cases.json")


@pytest.mark.parametrize("text", [b"\xff", b"[", b"3", b'{"a": 1}', b"[3]"])
def test_malformed_cases_disagree(check, proof, text):
    said = unusable(check, with_file(proof, "cases.json", lambda _: text), "cases.json")
    assert "cases.json is malformed" in said


def test_a_detail_file_that_is_no_text(check, proof):
    for text in (b"\xff", b"["):
        said = unusable(check, with_file(proof, "corner.toml", lambda _, text=text: text), "corner.toml")
        assert "checked.pdf/corner.toml" in said
