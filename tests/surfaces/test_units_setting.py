"""The units setting at the doors: what a file's bare numbers mean, and that nothing is shown in the other system."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import ezdxf
import pymupdf
import pytest

from bridge2d import units
from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.comparison import compared
from bridge2d.comparison.records import Comparison
from bridge2d.comparison.screen import as_text as comparison_text
from bridge2d.comparison.screen import comparison_json
from bridge2d.comparison.terms import gathered
from bridge2d.detail import Combination, Detail
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.drawing import section_svg
from bridge2d.drawing.dxf import ISOTHERMS, section_dxf
from bridge2d.drawing.isotherms import isotherm_picture, temperature_span
from bridge2d.drawing.scene import all_texts
from bridge2d.errors import InputError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import MaterialChoice, describe
from bridge2d.listings import new_file
from bridge2d.new_files import toml_number
from bridge2d.report import report_bytes
from bridge2d.report.comparison_pages import comparison_bytes
from bridge2d.results import DetailResult, SectionResult
from bridge2d.section_results import solve_section
from bridge2d.shown_units import IN_INCH_POUND, IN_SI, DisplayUnits
from bridge2d.tables import as_json, as_text
from bridge2d.units import INCH_POUND, SI
from tests import shapes

ROOT = Path(__file__).parents[2]
SI_UNITS = re.compile(
    r"W/|W·|m²|mm\b|°C|kg|\bPa\b|(?<=[0-9\)]) ?(?:m|K|W|cm)(?![\w'’-])|millimetre|kelvin(?! and)|\bin metres", re.ASCII
)
INCH_POUND_UNITS = re.compile(r"Btu|°F|\bft\b|\blb/|(?<=[0-9]) in(?![a-z ])|\binches\b|inHg")


def words_of(data: bytes) -> list[str]:
    """The text of every page."""
    with pymupdf.open(stream=data, filetype="pdf") as document:
        return [re.sub(r"\s+", " ", page.get_text().replace("\N{NO-BREAK SPACE}", " ")) for page in document]


def without_quotes(text: str) -> str:
    """The text without what deliberately stands in both systems: [SI] within a quoted source."""
    text = re.sub(r"\[[^\[\]]*\]", "", text)
    return text.replace("in watts per metre and kelvin.", "")


def foreign(text: str, shown: DisplayUnits) -> list[str]:
    pattern = INCH_POUND_UNITS if shown.is_si else SI_UNITS
    text = text if shown.is_si else without_quotes(text)
    return [text[max(m.start() - 30, 0) : m.end() + 10] for m in pattern.finditer(text)]


# -- files ---------------------------------------------------------------------------------------------------------

# Exact: 25.4 mm to the inch; Btu(IT) = 1055.05585262 J, ft = 0.3048 m, °F = 5/9 K (NIST SP 811, B.8).
BTU = Fraction("1055.05585262") / 3600 * Fraction(9, 5)
PER_FOOT, PER_FOOT2 = float(BTU / Fraction("0.3048")), float(BTU / Fraction("0.3048") ** 2)


def nib(system: str) -> str:
    """A free section with every kind of number; the brick is 13 in thick, the insulation R-10, 2 in."""
    ip = system == INCH_POUND

    def length(inches: float) -> str:
        return repr(inches if ip else round(25.4 * inches, 9))

    def points(*pairs: tuple[float, float]) -> str:
        return "[" + ", ".join(f"[{length(x)}, {length(y)}]" for x, y in pairs) + "]"

    def degrees(celsius: float) -> str:
        return repr(1.8 * celsius + 32 if ip else celsius)

    def conductivity(si: float) -> str:
        return repr(si / PER_FOOT if ip else si)

    def resistance(si: float) -> str:
        return repr(si * PER_FOOT2 if ip else si)

    wool = '"R-10 at 2 in"' if ip else repr(0.0508 / (10 / PER_FOOT2))
    return f"""\
junction = "free_section"
{'units = "inch-pound"' if ip else 'units = "SI"'}
title = "Nib"
[[region]]
name = "brick"
conductivity = {conductivity(0.7)}
polygon = {points((0, 0), (60, 0), (60, 13), (0, 13))}
[[region]]
name = "wool"
conductivity = {wool}
polygon = {points((0, 13), (60, 13), (60, 15), (0, 15))}
[[region]]
name = "stud"
conductivity = [{conductivity(0.22)}, {conductivity(0.13)}]
grain_direction = 90
polygon = {points((29, 13), (31, 13), (31, 15), (29, 15))}
[[environment]]
name = "outside"
temperature = {degrees(-5)}
surface_resistance = {resistance(0.04)}
edge = {points((0, 0), (60, 0))}
[[environment]]
name = "room"
temperature = {degrees(20)}
humidity = 0.5
surface_resistance = {resistance(0.13)}
surface_resistance_f_rsi = {resistance(0.25)}
edge = {points((60, 15), (0, 15))}
[[flanking]]
name = "wall"
cut = {points((0, 0), (0, 15))}
lengths = {{ external = {length(60)}, internal = {length(58.5)} }}
[[probe]]
name = "A"
point = {points((30, 13))[1:-1]}
[[airtight]]
name = "membrane"
line = {points((0, 15), (60, 15))}
[[requirement]]
quantity = "psi"
dimensions = "external"
maximum = {conductivity(0.5)}
source = "invented"
"""


def test_one_detail_in_both_systems_is_one_detail():
    si, ip = (read(nib(system), Path("nib.toml")) for system in (SI, INCH_POUND))
    assert (si.units, ip.units) == (IN_SI, IN_INCH_POUND)
    assert si.input_hash == ip.input_hash
    found = []
    for loaded in (si, ip):
        document = as_json(calculate(loaded.detail))
        del document["seconds"]
        found.append(document)
    numbers = [list(leaves(document)) for document in found]
    assert [path for path, _ in numbers[0]] == [path for path, _ in numbers[1]]
    compared = 0
    for (path, a), (_, b) in zip(*numbers, strict=True):
        if isinstance(a, float) and path[-1] != "balance":
            compared += 1
            assert a == pytest.approx(b, rel=1e-10, abs=1e-10), path  # lengths differ by rounding
    assert compared > 50


def leaves(value: object, path: tuple[object, ...] = ()):
    if isinstance(value, dict):
        for key, one in value.items():
            yield from leaves(one, (*path, key))
    elif isinstance(value, list):
        for key, one in enumerate(value):
            yield from leaves(one, (*path, key))
    else:
        yield path, value


def test_text_with_a_unit_stays_what_it_says():
    for system in (SI, INCH_POUND):
        text = f'junction = "joist_pocket"\nunits = "{system}"\n[parameters]\nmasonry_thickness = "330 mm"\n'
        text += 'inside_temperature = "68 °F"\ninside_resistance = "0.13 m2 K/W"\njoist_width = "3 1/8 in"\n'
        detail = read(text, Path("x.toml")).detail
        rows = {label: value for _, label, value in detail.parameters}
        assert rows["masonry"] == "solid brick, old, 1600, 0.3929 Btu/(h·ft·°F)" or system == SI
        section = detail.sections[0]
        assert {e.name: e.temperature for e in section.environments}["inside"] == 20.0
        assert max(y for region in section.regions if region.name == "masonry" for _, y in region.polygon) == 0.33


def test_a_bare_r_value_is_that_of_its_own_layer():
    # Exact: λ = 0.1 m / (13 h·ft²·°F/Btu).
    text = 'junction = "joist_pocket"\nunits = "inch-pound"\n[parameters]\n{}insulation_material = '
    text += '{{ conductivity = "R-13", basis = "declared" }}\n'
    for thickness, metres in (
        ("insulation_thickness = 3.5\n", 0.0889),
        ('insulation_thickness = "9 cm"\n', 0.09),
        ("", 0.1),
    ):
        section = read(text.format(thickness), Path("x.toml")).detail.sections[0]
        found = next(r.material.conductivity for r in section.regions if r.name == "insulation")
        assert found == pytest.approx(metres * PER_FOOT2 / 13, rel=1e-12)


WRONG = [
    (
        'units = "metric"\njunction = "joist_pocket"',
        ["line 1", "units", "'metric'", 'units = "SI" or units = "inch-pound"'],
    ),
    ("units = 1\njunction = 'joist_pocket'", ["line 1", "no system of units 1"]),
    ("joist_width = 100", ["100 in is outside the limits", "to 15.748 in"]),
    ("inside_temperature = 500", ["500 °F is beyond what is allowed"]),
    ("joist_width = 'two'", ["write inches as a number"]),
    ("bearing_length = 14.5", ["of masonry behind it", " in"]),
    ("parge_thickness = '300 K'", ["the unit 'K' in '300 K'"]),
    ("cavity_thickness = 20", ["20 in is outside the limits", "to 7.874 in"]),
    ("joist_material = { conductivity = 'R-3', basis = 'x' }", ["of what thickness", "R-13 at 3 1/2 in"]),
]


@pytest.mark.parametrize(("text", "says"), WRONG)
def test_messages_speak_of_the_file_s_units(text: str, says: list[str]):
    if "junction" not in text:
        text = f'junction = "joist_pocket"\nunits = "inch-pound"\n[parameters]\n{text}\n'
    with pytest.raises(InputError) as caught:
        read(text, Path("x.toml"))
    message = str(caught.value)
    for words in says:
        assert words in message
    if len(says) == 2 and "in" in says[1]:
        assert " mm" not in message.replace('"240 mm"', "")


def test_limits_that_are_printed_are_allowed():
    for name in junctions():
        junction = junctions()[name]
        if junction.blocks:
            continue
        for info in describe(junction.parameters):
            if info.kind is None or not info.kind.inch_pound_unit or info.minimum is None or info.maximum is None:
                continue
            low, high = info.limits_in(INCH_POUND).removesuffix(info.kind.unit_in(INCH_POUND)).split(" to ")
            for end in (low, high):
                number = sum(Fraction(part) for part in end.replace("−", "-").split())
                assert info.minimum - 1e-12 <= info.kind.read(float(number), INCH_POUND) <= info.maximum + 1e-12


# -- new files -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", list(junctions()))
def test_a_new_file_in_inches_means_the_same(name: str):
    junction = junctions()[name]
    text = new_file(junction, INCH_POUND)
    assert 'units = "inch-pound"' in text
    assert not SI_UNITS.search(text.replace('"240 mm"', ""))
    assert load_text(text).units == IN_INCH_POUND
    if junction.blocks:
        si, ip = (calculate(load_text(new_file(junction, s)).detail).psi[0].value.value for s in (SI, INCH_POUND))
        assert ip == pytest.approx(si, rel=0.02)
        return
    import tomllib

    from bridge2d.junctions.quantities import units_context

    typed = junction.parameters.model_validate(tomllib.loads(text)["parameters"], context=units_context(INCH_POUND))
    for info in describe(junction.parameters):
        read_back = getattr(typed, info.name)
        if isinstance(info.default, float):
            # 1 % is what a rule's sixteenths may change; temperatures are exact.
            near = 1e-9 if info.kind and info.kind.name == "temperature" else 0.0101 * abs(info.default)
            assert abs(read_back - info.default) <= near, info.name
        elif isinstance(info.default, str) and isinstance(read_back, MaterialChoice):
            assert read_back.material.name == info.default  # where a word may stand instead of a material
        elif not isinstance(info.default, MaterialChoice):
            assert read_back == info.default


def load_text(text: str):
    return read(text, Path("x.toml"))


# -- screens -------------------------------------------------------------------------------------------------------


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "nib.toml"
    path.write_text(nib(INCH_POUND), encoding="utf-8")
    return path


def test_solve_shows_the_file_s_units_or_those_asked_for(file: Path, capsys: pytest.CaptureFixture[str]):
    for options, shown in (([], IN_INCH_POUND), (["--units", "SI"], IN_SI), (["--units", "inch-pound"], IN_INCH_POUND)):
        assert main(["solve", str(file), *options]) == 0
        text = capsys.readouterr().out
        assert foreign(text, shown) == []
        assert ("Btu/(h·ft·°F)" in text) is (not shown.is_si)
        assert main(["check", str(file), *options]) == 0
        assert ("68 °F" in capsys.readouterr().out) is (not shown.is_si)


def test_json_is_si_whatever_is_shown(file: Path, capsys: pytest.CaptureFixture[str]):
    documents = []
    for options in ([], ["--units", "SI"], ["--units", "inch-pound"]):
        assert main(["solve", str(file), "--json", *options]) == 0
        documents.append(json.loads(capsys.readouterr().out))
        del documents[-1]["seconds"]
    assert documents[0] == documents[1] == documents[2]
    assert documents[0]["units"]["system"] == "SI"
    assert documents[0]["units"]["psi"] == "W/(m·K)"
    assert documents[0]["probes"][0]["point"] == [762.0, 330.2]


def test_the_screen_shows_no_si(result: DetailResult):
    assert foreign(as_text(result, IN_INCH_POUND), IN_INCH_POUND) == []
    assert foreign(as_text(result), IN_SI) == []


def test_lists_in_inch_pound(capsys: pytest.CaptureFixture[str]):
    for name in junctions():
        assert main(["junctions", name, "--units", "inch-pound"]) == 0
        assert foreign(capsys.readouterr().out, IN_INCH_POUND) == [], name
    assert main(["materials", "--units", "inch-pound"]) == 0
    text = capsys.readouterr().out
    assert foreign(text, IN_INCH_POUND) == []
    # Exact: mineral wool of 0.035 W/(m·K) has 0.0254/0.035 m²·K/W per inch, which is.
    assert re.search(r"R-4\.12\b", text)
    for words in ([], ["passive"], ["Poland"]):
        assert main(["requirements", *words, "--units", "inch-pound"]) in (0, 2)
        assert foreign(capsys.readouterr().out, IN_INCH_POUND) == []
    assert main(["junctions", "joist_pocket", "--schema", "--units", "inch-pound"]) == 0
    schema = json.loads(capsys.readouterr().out)
    declared = schema["properties"]["parameters"]["properties"]["masonry_thickness"]
    assert declared["unit"] == "in"
    assert declared["maximum"] == pytest.approx(1500 / 25.4, rel=1e-9)
    assert schema["properties"]["units"] == {"const": "inch-pound"}


# -- pages ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def written(result: DetailResult, loaded: SimpleNamespace) -> Callable[[DisplayUnits, str], bytes]:
    def make(shown: DisplayUnits, paper: str) -> bytes:
        rows = tuple((mark, label, shown.sentence(value)) for mark, label, value in result.detail.parameters)
        shown_result = replace(result, detail=replace(result.detail, parameters=rows))
        return report_bytes(shown_result, loaded, shown, paper)

    return make


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("shown", [IN_SI, IN_INCH_POUND], ids=["SI", "inch-pound"])
def test_no_page_shows_the_other_system(written: Callable[..., bytes], shown: DisplayUnits, paper: str):
    data = written(shown, paper)
    pages = words_of(data)
    for number, text in enumerate(pages, start=1):
        assert foreign(text, shown) == [], number
    other = IN_INCH_POUND if shown.is_si else IN_SI
    assert len(foreign(" ".join(pages), other)) > 100  # what is looked for would be found
    with pymupdf.open(stream=data, filetype="pdf") as document:
        # ISO 216; 8 1/2 × 11 in
        size = (595.3, 841.9) if paper == "A4" else (612.0, 792.0)
        for page in document:
            assert (page.rect.width, page.rect.height) == pytest.approx(size, abs=0.1)
            inner = pymupdf.Rect(40, 20, page.rect.width - 40, page.rect.height - 20)
            for block in page.get_text("dict")["blocks"]:
                for line in block.get("lines", []):
                    assert pymupdf.Rect(line["bbox"]) in inner, line["spans"][0]["text"]


@cache
def computed(name: str) -> DetailResult:
    """A detail of the Tollhouse, computed coarsely: for words."""
    return calculate(load(ROOT / "details" / f"tollhouse_{name}.toml").detail, tolerance=1e-2)


def read_in(name: str, shown: DisplayUnits) -> tuple[LoadedDetail, DetailResult]:
    """The same read for some units, with its numbers."""
    loaded = load(ROOT / "details" / f"tollhouse_{name}.toml", shown=shown.system)
    return loaded, replace(computed(name), detail=loaded.detail)


REPORTS = ["joist", "window", "party_wall", "roof_edge", "hatch_a", "fixing", "duct"]
"""With months, an installed window, walls and a roof, a hatch, and solids of revolution with and without an axis."""


@pytest.mark.parametrize("name", REPORTS)
def test_no_page_of_a_real_report_shows_si(name: str):
    loaded, result = read_in(name, IN_INCH_POUND)
    for number, text in enumerate(words_of(report_bytes(result, loaded, loaded.units, "Letter")), start=1):
        assert foreign(text, IN_INCH_POUND) == [], number
    assert foreign(as_text(result, IN_INCH_POUND), IN_INCH_POUND) == []


@pytest.mark.parametrize("name", ["joist", "hatch_a", "fixing", "duct"])
def test_no_page_of_a_real_report_in_si_shows_inch_pound(name: str):
    loaded, result = read_in(name, IN_SI)
    for number, text in enumerate(words_of(report_bytes(result, loaded, loaded.units)), start=1):
        assert foreign(text.replace("8 3/4 in", ""), IN_SI) == [], number  # typed so in the joist's file
    assert foreign(as_text(result, IN_SI), IN_SI) == []


def test_a_hatch_and_a_climate_say_the_same_in_both_systems():
    hatch = computed("hatch_a").hatch
    assert hatch is not None
    for name, words in (("hatch_a", "27.559 × 35.433 in clear"), ("joist", "0.2392 inHg × 1.10")):
        # 700 × 900 mm; 810 Pa of humidity class 3 (ISO 13788), both exact to the digits shown
        assert words in as_text(read_in(name, IN_INCH_POUND)[1], IN_INCH_POUND)
    assert "700 × 900 mm clear" in as_text(computed("hatch_a"))
    assert "810 Pa × 1.10" in as_text(computed("joist"))
    # Exact: W/K is Btu/h by 5/9 K.
    loss = hatch.loss.value / (1055.05585262 / 3600 * 9 / 5)
    assert f"{loss:.2f}" in as_text(read_in("hatch_a", IN_INCH_POUND)[1], IN_INCH_POUND)


# -- comparison ----------------------------------------------------------------------------------------------------

SAID = {
    "length": ["10 m"],
    "cost_per_metre": ["60", "81"],
    "currency": ["EUR"],
    "heating_degree_hours": ["80"],
    "lifetime": ["40"],
}


def comparison_in(shown: DisplayUnits, *names: str) -> Comparison:
    loaded, results = zip(*(read_in(name, shown) for name in names), strict=True)
    plain = [replace(one, comparison=None) for one in loaded]
    return compared(plain, results, gathered(plain, SAID), shown)


@pytest.mark.parametrize("shown", [IN_SI, IN_INCH_POUND], ids=["SI", "inch-pound"])
@pytest.mark.parametrize("names", [("hatch_a", "hatch_b"), ("party_wall", "roof_edge")], ids="-".join)
def test_a_comparison_shows_one_system(names: tuple[str, ...], shown: DisplayUnits):
    comparison = comparison_in(shown, *names)
    paper = "A4" if shown.is_si else "Letter"
    for text in (comparison_text(comparison), *words_of(comparison_bytes(comparison, paper=paper))):
        assert foreign(text, shown) == []
        assert ("per metre" in text or "of a metre" in text) is False or shown.is_si


def test_a_comparison_in_inch_pound_has_the_same_numbers():
    si, ip = (comparison_in(shown, "party_wall", "roof_edge") for shown in (IN_SI, IN_INCH_POUND))
    documents = [comparison_json(one) for one in (si, ip)]
    for one in documents:
        for row in one["rows"]:
            del row["name"]
    assert documents[0]["rows"] == documents[1]["rows"]
    text = re.sub(r"\s+", " ", comparison_text(ip))
    # Exact: 60 EUR/m · 0.3048 m/ft; 80 kKh/a · 9/5; 10 m / 0.3048 m.
    for words in ("18.29 EUR/ft", "144 k°F·h/a", "32.81 ft", "heat loss per degree", "kWh/(ft·a)"):
        assert words in text
    for words in ("60.00 EUR/m", "80 kKh/a", "10.00 m", "heat loss per kelvin", "kWh/(m·a)"):
        assert words in re.sub(r"\s+", " ", comparison_text(si))


def test_free_sections_are_told_in_either_system():
    for shown, place in ((IN_SI, "(711.2, 330.2)"), (IN_INCH_POUND, "(28, 13)")):
        texts = [nib(SI), nib(SI).replace("736.6", "711.2").replace("0.13", "0.12")]
        loaded = [read(text, Path("x.toml"), shown=shown.system) for text in texts]
        results = [calculate(one.detail, tolerance=1e-2) for one in loaded]
        text = comparison_text(compared(loaded, results, gathered(loaded, {}), shown))
        assert foreign(text, shown) == []
        assert place in text


def test_compare_command_takes_units_and_paper(file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    other, target = tmp_path / "other.toml", tmp_path / "x.pdf"
    other.write_text(nib(SI).replace("0.7\n", "0.9\n"), encoding="utf-8")
    call = ["compare", str(file), str(other), "--tolerance", "0.01"]
    for options, shown, width in (
        (["--paper", "Letter", "-o", str(target)], IN_INCH_POUND, 612.0),
        (["--units", "SI", "-o", str(target)], IN_SI, 595.3),
    ):
        assert main([*call, *options]) in (0, 1)
        assert foreign(capsys.readouterr().out, shown) == []
        with pymupdf.open(target) as document:
            assert document[0].rect.width == pytest.approx(width, abs=0.1)
        assert not [found for text in words_of(target.read_bytes()) for found in foreign(text, shown)]
    assert main([*call, "--json"]) in (0, 1)
    document = json.loads(capsys.readouterr().out)
    assert not foreign(json.dumps(document, ensure_ascii=False), IN_SI)


def test_the_table_of_materials_keeps_units_on_one_line(written: Callable[..., bytes]):
    with pymupdf.open(stream=written(IN_INCH_POUND, "A4"), filetype="pdf") as document:
        lines = [line.strip() for page in document for line in page.get_text().splitlines()]
    assert not [line for line in lines if re.fullmatch(r"[°F)·]+\)?", line) and line != "°F"]


def test_report_command_takes_units_and_paper(file: Path, tmp_path: Path):
    target = tmp_path / "nib.pdf"
    assert main(["report", str(file), "-o", str(target), "--paper", "Letter", "--tolerance", "0.01"]) == 0
    pages = words_of(target.read_bytes())
    assert not [found for text in pages for found in foreign(text, IN_INCH_POUND)]
    assert main(["report", str(file), "-o", str(target), "--units", "SI", "--tolerance", "0.01"]) == 0
    pages = words_of(target.read_bytes())
    assert not [found for text in pages for found in foreign(text, IN_SI)]


# -- pictures ------------------------------------------------------------------------------------------------------


def test_isotherms_stand_at_round_degrees_of_their_own(wall: SectionResult):
    picture = isotherm_picture(wall, shown=IN_INCH_POUND)
    assert picture.step == 5.0
    texts = ["".join(run.text for run in text.runs) for text in all_texts(picture.scene.items)]
    levels = [int(text) for text in texts if re.fullmatch(r"[0-9]+", text)]
    # The surfaces of the wall between −5 and 20 °C are 23.9 and 66.6 °F cold: every fifth degree between.
    assert set(levels) == set(range(25, 66, 5))
    assert "°F" in texts
    assert not [text for text in texts if foreign(text, IN_INCH_POUND)]


def test_an_isotherm_lies_where_the_field_has_its_temperature():
    span = temperature_span(-5.0, 20.0, IN_INCH_POUND)
    assert (span.low, span.high, span.unit) == (23.0, 68.0, "°F")
    assert temperature_span(-5.0, 20.0) == (-5.0, 20.0, 2.0, "°C")
    for kelvin in (0.5, 3.0, 12.0, 30.0, 100.0):
        assert 2 <= len(temperature_span(0.0, kelvin, IN_INCH_POUND).levels) <= 22 or kelvin < 1


@pytest.mark.parametrize("kind", ["isotherms", "dimensions"])
def test_pictures_show_no_si(joist: SectionResult, kind: str):
    svg = section_svg(joist, kind, shown=IN_INCH_POUND)
    shown = re.findall(r">([^<>]+)<", svg)
    assert not [text for text in shown if foreign(text, IN_INCH_POUND)]
    assert section_svg(joist, kind) == section_svg(joist, kind, shown=IN_SI)
    if kind == "dimensions":
        assert any("dimensions in in" in text for text in shown)
        assert any("12.992" in text for text in shown)  # 330 mm
        assert any(" = 1 ft = 1:" in text for text in shown)


def test_a_drawing_in_inches_says_so_and_reads_back_as_the_same_section():
    section = replace(shapes.iso_10211_case_2(), probes=())
    result = solve_section(section, 1e-3)
    data = section_dxf(result, IN_INCH_POUND)
    assert data == section_dxf(result, IN_INCH_POUND)
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert document.header["$INSUNITS"] == 1  # inches, DXF reference
    assert document.header["$MEASUREMENT"] == 0
    regions = [line for line in document.modelspace().query("LWPOLYLINE") if line.dxf.layer.startswith("material")]
    widest = max(x for line in regions for x, *_ in line.get_points())
    assert widest == pytest.approx(max(p[0] for r in section.regions for p in r.polygon) / 0.0254, abs=1e-6)
    levels = {line.dxf.elevation for line in document.modelspace().query(f'LWPOLYLINE[layer=="{ISOTHERMS}"]')}
    assert levels
    assert all(level % 5 == 0 or level % 2 == 0 for level in levels)
    read_back = read(over_drawing(section), Path("x.toml"), attached={"nib.dxf": data}).detail.sections[0]
    again = calculate(Detail("", "free_section", (read_back,), Combination())).sections[0].l2d
    assert again is not None
    assert result.l2d is not None
    assert again.value == pytest.approx(result.l2d.value, rel=1e-6)


def over_drawing(section) -> str:
    """A file in inch-pound units over the section's drawing; conductivities and edges say their units."""
    from bridge2d.drawing.dxf import region_layers

    text = 'junction = "free_section"\nunits = "inch-pound"\n[drawing]\nfile = "nib.dxf"\n[drawing.layers]\n'
    for (material, _), layer in region_layers(section).items():
        text += f'{json.dumps(layer)} = {{ conductivity = "{material.conductivity} W/(m K)" }}\n'
    temperatures = {e.name: e.temperature for e in section.environments}
    for surface in section.surfaces:
        edge = [[x / 0.0254, y / 0.0254] for x, y in surface.edge]
        text += f'[[environment]]\nname = "{surface.environment}"\n'
        text += f"temperature = {1.8 * temperatures[surface.environment] + 32}\n"
        text += f'surface_resistance = "{surface.resistance} m2 K/W"\nedge = {json.dumps(edge)}\n'
    return text


def test_bare_limits_of_a_file_in_inch_pound_units_are_in_them():
    text = """units = "inch-pound"
junction = "framed_wall"
[[requirement]]
quantity = "u_value"
maximum = 0.04
name = "U"
source = "test"
[[requirement]]
quantity = "f_rsi"
minimum = 0.7
name = "fRsi"
source = "test"
"""
    u_value, factor = read(text, Path("wall.toml")).detail.requirements
    # Exact: Btu by 1055.05585262 J, hour, square foot and °F.
    assert u_value.limit == pytest.approx(0.04 * 1055.05585262 / 3600 / 0.3048**2 * 9 / 5, rel=1e-9)
    assert factor.limit == 0.7
    assert read(text.replace("0.04", '"0.04 W/(m²·K)"'), Path("wall.toml")).detail.requirements[0].limit == 0.04


def test_a_default_that_no_round_number_hits_stands_as_it_is() -> None:
    """10 cm, and nothing else allowed: 100/25.4 = 3.937007874 in; 3 15/16 in would be above."""
    assert toml_number(units.LENGTH, 0.1, "inch-pound", 0.1, 0.1) == "3.937007874"
    assert toml_number(units.LENGTH, 0.1, "inch-pound") == '"3 15/16 in"'
