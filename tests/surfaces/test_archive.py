"""The report as a document to be filed: what it encloses, its metadata, and two validators' word on PDF/A."""

from __future__ import annotations

import hashlib
import io
import json
import subprocess
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree as ET

import pikepdf
import pytest
from pypdf import PdfReader

from bridge2d.detail_file import load
from bridge2d.recheck.seen import pages_of
from bridge2d.report import report_bytes
from bridge2d.report.enclosures import MATERIALS, PAGES, RESULTS, file_name
from bridge2d.results import DetailResult
from bridge2d.schedule.cache import Look
from bridge2d.schedule.running import schedule, schedule_pdf
from bridge2d.tables import as_json
from tests.small_building import building

JARS = [
    Path("/usr/share/java") / f"{name}.jar"
    for name in (
        "preflight", "xmpbox", "pdfbox2", "fontbox2", "commons-logging", "commons-io", "javax.activation", "jaxb-api",
    )
]  # fmt: skip
"""Apache PDFBox with its Preflight: Debian's libpdfbox2-java, libactivation-java, libjaxb-api-java."""


@pytest.fixture
def data(result: DetailResult, loaded: SimpleNamespace) -> bytes:
    return report_bytes(result, loaded)


def squeezed(data: bytes) -> str:
    return "".join("".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())


def test_what_is_enclosed(result, data):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        files = dict(pdf.attachments.items())
        kinds = {name: one.get_file().mime_type for name, one in files.items()}
        relations = {name: str(one.relationship) for name, one in files.items()}
        contents = {name: one.get_file().read_bytes() for name, one in files.items()}
        for name, one in files.items():
            assert one.get_file().md5 == hashlib.md5(contents[name], usedforsecurity=False).digest()
        associated = {str(one.UF) for one in pdf.Root.AF}
    assert kinds == {
        "joist.toml": "application/toml",
        MATERIALS: "text/csv",
        RESULTS: "application/json",
        PAGES: "application/json",
    }
    assert associated == set(kinds)
    assert relations == {"joist.toml": "/Source", MATERIALS: "/Source", RESULTS: "/Data", PAGES: "/Data"}
    expected = {key: value for key, value in as_json(result).items() if key != "seconds"}
    expected["shown_units"] = "SI"
    assert json.loads(contents[RESULTS]) == json.loads(json.dumps(expected))
    text = squeezed(data)
    for name in ("joist.toml", MATERIALS, RESULTS):
        assert f"{name}{len(contents[name])}{hashlib.sha256(contents[name]).hexdigest()}" in text


def test_the_detail_file_is_enclosed_as_it_was_read(result, tmp_path):
    file = tmp_path / "wall \N{GREEK SMALL LETTER LAMDA}.toml"
    file.write_bytes('junction = "wall_corner"  # “as found”\r\n'.encode())
    data = report_bytes(result, load(file))
    found = PdfReader(io.BytesIO(data)).attachments
    assert found[file.name] == [file.read_bytes()]
    assert b"mineral foam board" in found[MATERIALS][0]
    assert b"lime-cement plaster" in found[MATERIALS][0]  # chosen, although its thickness is 0


def test_the_words_of_the_pages_are_those_that_are_read(result, loaded):
    """Another reader finds on every page what was written down of it, signs without a glyph included."""
    detail = replace(result.detail, title="Haus \N{CJK UNIFIED IDEOGRAPH-4E2D} λ ≥ ½ \t end")
    found = PdfReader(io.BytesIO(report_bytes(replace(result, detail=detail), loaded)))
    written = json.loads(found.attachments[PAGES][0])
    for page, record in zip(pages_of(found, lambda _: None), written["pages"], strict=True):
        assert "".join(page.words.split()) == "".join(record["words"].split())
        assert page.digest == record["sha256"]
    others = {name: data for name, (data,) in found.attachments.items() if name != PAGES}
    assert written["files"] == {name: hashlib.sha256(data).hexdigest() for name, data in others.items()}


def test_metadata_say_the_same_twice(result, loaded):
    detail = replace(result.detail, title="Joist <end> & more", author="Ana Żółć", date="2026-11-25")
    reader = PdfReader(io.BytesIO(report_bytes(replace(result, detail=detail), loaded)))
    xmp = reader.xmp_metadata
    assert xmp is not None
    assert reader.metadata is not None
    assert xmp.dc_title == {"x-default": "Joist <end> & more"} == {"x-default": reader.metadata.title}
    assert xmp.dc_creator == ["Ana Żółć"] == [reader.metadata.author]
    assert xmp.dc_description == {"x-default": reader.metadata.subject}
    assert xmp.pdf_producer == reader.metadata.producer == "bridge2d 0.1.0"
    assert xmp.xmp_creator_tool == reader.metadata.creator
    assert [str(one)[:10] for one in xmp.dc_date] == ["2026-11-25"]
    assert reader.root_object["/Lang"] == "en"


@pytest.mark.parametrize("date", ["", "last summer", "25.11.2026"])
def test_no_date_is_made_up(result, loaded, date):
    data = report_bytes(replace(result, detail=replace(result.detail, date=date)), loaded)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        text = pdf.Root.Metadata.read_bytes().decode()
    ET.fromstring(text)
    assert "date" not in text.lower()


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("a/b.toml", "b.toml"),
        ("detail", "detail.toml"),
        ("x" * 300, "x" * 100 + ".toml"),
        ('we"ird\n:name?.txt', "we_ird__name_.toml"),
        ("..", "detail.toml"),
    ],
)
def test_names_of_enclosed_files(path, name):
    assert file_name(Path(path), ".toml") == name


# -- PDF/A -------------------------------------------------------------------------------------------------------------

NAMES = ("joist", "corner", "with_hole", "oblique")


FILED = {path.stem: path for path in sorted((Path(__file__).parents[2] / "reports").glob("*.pdf"))}


VOLUMES = {"volume": Look(), "volume on Letter": Look("inch-pound", "Letter")}


@pytest.fixture(params=[*NAMES, "odd", *VOLUMES, *FILED])
def filed(request, real, result, tmp_path) -> bytes:
    """A report of the tests, one with signs that no font has, a bound volume, or one of reports/."""
    name = request.param
    if name in VOLUMES:
        title = "Haus \N{CJK UNIFIED IDEOGRAPH-4E2D} λ"
        return schedule_pdf(schedule(building(tmp_path, 2, title=title), jobs=1, look=VOLUMES[name]))
    if name in FILED:
        return FILED[name].read_bytes()
    title = "Haus \N{CJK UNIFIED IDEOGRAPH-4E2D} λ (\\)"
    found = real(name) if name in NAMES else replace(result, detail=replace(result.detail, title=title, author="Ω"))
    return report_bytes(
        found,
        SimpleNamespace(
            text="# λ\n", path=Path("x.toml"), input_hash="ab" * 32, drawn=None, materials=(), data={}, files={}
        ),
    )


def test_pikepdf_approves_it_as_pdf_a_3b(filed):
    """It approves only what it knows, construct by construct, by the rules of the veraPDF profiles."""
    from pikepdf import pdfa

    report = pdfa.validate_written(io.BytesIO(filed), "3b")
    assert report.passed, [str(finding) for finding in report.findings[:5]]


@pytest.mark.skipif(not all(jar.exists() for jar in JARS), reason="PDFBox Preflight is not installed")
def test_preflight_approves_its_pages_as_pdf_a_1b(filed, tmp_path):
    """PDF/A-1 knows no enclosed files: they are taken out, and the metadata and the version say 1 instead of 3."""
    file = tmp_path / "pages.pdf"
    with pikepdf.open(io.BytesIO(filed)) as pdf:
        for one in list(pdf.attachments):
            del pdf.attachments[one]
        for key in ("/AF", "/Names"):
            if key in pdf.Root:
                del pdf.Root[key]
        xmp = pdf.Root.Metadata.read_bytes()
        pdf.Root.Metadata.write(xmp.replace(b"<pdfaid:part>3<", b"<pdfaid:part>1<"))
        pdf.save(file, force_version="1.4", object_stream_mode=pikepdf.ObjectStreamMode.disable)
    words = ["java", "-cp", ":".join(map(str, JARS)), "org.apache.pdfbox.preflight.Validator_A1b", str(file)]
    run = subprocess.run(words, capture_output=True, encoding="utf-8", check=False)
    assert "is a valid PDF/A-1b file" in run.stdout, run.stdout + run.stderr
