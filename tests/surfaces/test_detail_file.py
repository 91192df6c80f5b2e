"""Reading detail files: what is written is what is computed, whatever the spelling."""

import json
import math
import sys
from types import ModuleType
from typing import Literal

import pytest

from bridge2d.calculate import calculate
from bridge2d.detail import Combination, Detail, Environment, Region, Section, Surface
from bridge2d.detail_file import load, locate
from bridge2d.errors import InputError, SectionError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import (
    Count,
    Junction,
    Length,
    MaterialChoice,
    MaterialName,
    Parameters,
    Temperature,
    describe,
    parameter,
)
from bridge2d.junctions.quantities import span
from bridge2d.listings import new_file, parameter_table, schema
from bridge2d.toml_lines import key_lines, line_of

TEXT = """\
junction = "free_section"
title = "Brick wall"
project = "Tollhouse (invented)"
revision = "B"

[[region]]
name = "brick"
conductivity = 0.77
polygon = [[0, 0], [1000, 0], [1000, 330], [0, 330]]

[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [1000, 0]]

[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.13
edge = [[1000, 330], [400, 330]]

[[environment]]
name = "room"
surface_resistance = 0.3
edge = [[400, 330], [0, 330]]

[[requirement]]
quantity = "f_rsi"
minimum = 0.5
source = "invented"

[[airtight]]
name = "parge coat"
line = [[0, 330], [1000, 330]]
"""


@pytest.fixture
def read(tmp_path):
    def read_text(text, name="wall.toml"):
        file = tmp_path / name
        file.write_text(text, encoding="utf-8")
        return load(file)

    return read_text


def test_everything_arrives_in_si(read):
    detail = read(TEXT).detail
    section = detail.sections[0]
    assert (detail.title, detail.project, detail.revision) == ("Brick wall", "Tollhouse (invented)", "B")
    assert section.regions[0].polygon == ((0.0, 0.0), (1.0, 0.0), (1.0, 0.33), (0.0, 0.33))
    assert section.environments == (Environment("outside", -5.0), Environment("room", 20.0))
    assert [s.resistance for s in section.surfaces] == [0.04, 0.13, 0.3]
    assert section.airtight[0].line == ((0.0, 0.33), (1.0, 0.33))
    assert detail.requirements[0].limit == 0.5
    assert detail.combination == Combination()


def test_surface_resistance_for_the_temperature_factor(read):
    # 0.25 m²K/W for opaque surfaces of the warm side (ISO 13788, from memory), never below the given one
    assert [s.f_rsi_resistance for s in read(TEXT).detail.sections[0].surfaces] == [0.04, 0.25, 0.3]
    given = read(TEXT.replace("= 0.13", "= 0.13\nsurface_resistance_f_rsi = 0.17"))
    assert [s.f_rsi_resistance for s in given.detail.sections[0].surfaces] == [0.04, 0.17, 0.3]
    prescribed = read(TEXT.replace("= 0.13", "= 0"))
    assert [s.f_rsi_resistance for s in prescribed.detail.sections[0].surfaces] == [0.04, 0.0, 0.3]


def test_psi_needs_a_flanking_element_and_two_environments(read):
    element = '[[flanking]]\nname = "wall"\ncut = [[700, 0], [700, 330]]\nlengths = { external = "1 m" }\n'
    detail = read(TEXT + element).detail
    assert detail.combination.psi_section == detail.sections[0].name
    assert detail.sections[0].flanking[0].lengths == {"external": 1.0}
    third = TEXT.replace('"room"\nsurface_resistance = 0.3', '"cellar"\ntemperature = 10\nsurface_resistance = 0.3')
    assert read(third + element).detail.combination.psi_section == ""


@pytest.mark.parametrize(
    "respelt",
    [
        TEXT.replace("330]", '"33 cm"]').replace("1000", '"1,0 m"'),
        TEXT.replace("= 0.77", '= "0.77 W/(m·K)"').replace("temperature = 20", 'temperature = "68 °F"'),
        "# a comment\n" + TEXT.replace("\n", "\r\n"),
        "\ufeff" + TEXT,
        TEXT.replace("[0, 330]]", "[0, 330], [0, 0]]", 1),
    ],
    ids=["lengths", "other quantities", "comment and line ends", "byte order mark", "closed polygon"],
)
def test_spelling_changes_neither_detail_nor_hash(read, respelt):
    first, second = read(TEXT), read(respelt, "other.toml")
    assert second.detail == first.detail
    assert second.input_hash == first.input_hash
    assert len(first.input_hash) == 64


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("0.77", "0.78"),
        ("0.5", "0.6"),
        ("330", "331"),
        ("temperature = 20", "temperature = 21"),
        ("Brick wall", "Wall"),
    ],
)
def test_what_counts_changes_the_hash(read, old, new):
    assert read(TEXT).input_hash != read(TEXT.replace(old, new), "other.toml").input_hash


def test_points_are_whole_micrometres(read):
    detail = read(TEXT.replace("1000", '"1000.0004 mm"')).detail
    assert detail.sections[0].regions[0].polygon[1] == (1.0, 0.0)


def test_the_title_may_be_left_out(read):
    assert read(TEXT.replace('title = "Brick wall"\n', ""), "north wall.toml").detail.title == "north wall"


def test_grain_and_its_direction(read):
    text = TEXT.replace("conductivity = 0.77", "conductivity = [0.22, 0.13]\ngrain_direction = 90")
    region = read(text).detail.sections[0].regions[0]
    assert (region.material.conductivity_along, region.material.conductivity) == (0.22, 0.13)
    assert region.grain_direction == 90


def test_a_catalogue_material_and_a_value_of_its_own(read):
    plain = read(TEXT.replace("conductivity = 0.77", 'material = "softwood"')).detail.sections[0].regions[0]
    assert plain.material.name == "softwood"
    assert plain.basis == ""
    changed = 'material = "softwood"\nconductivity = 0.15\nbasis = "measured, invented"'
    region = read(TEXT.replace("conductivity = 0.77", changed)).detail.sections[0].regions[0]
    assert region.material.name == "softwood"
    assert region.material.conductivity == 0.15
    assert region.material.hatch == plain.material.hatch
    assert region.basis == "measured, invented"
    assert region.material.source.startswith("given in the detail file: measured, invented")
    # A single value for a timber is the one across; along the grain it keeps the catalogue's ratio.
    assert region.material.conductivity_along == pytest.approx(0.15 * plain.material.conductivity_along / 0.13)


def test_a_hole_stays_with_its_region(read):
    text = TEXT.replace("[0, 330]]", "[0, 330]]\nholes = [[[100, 100], [200, 100], [200, 200], [100, 200]]]", 1)
    region = read(text).detail.sections[0].regions[0]
    assert region.holes == (((0.1, 0.1), (0.2, 0.1), (0.2, 0.2), (0.1, 0.2)),)


def test_geometry_found_wrong_later_is_located(read):
    loaded = read(TEXT)
    error = locate(SectionError("is too short; make it longer", ("surface", 1)), loaded)
    assert error.line == 21
    assert error.key == '[[environment]] 2 "room", edge'
    assert str(error).endswith("is too short; make it longer")


@pytest.mark.usefixtures("toy")
def test_geometry_of_a_junction_found_wrong_later(read):
    loaded = read('junction = "toy_wall"\n[parameters]\nthickness = 300\n')

    def told(*item):
        return str(locate(SectionError("is too thin; make it thicker", item), loaded)).rpartition("wall.toml, ")[2]

    assert told("region", 0) == "line 2, region 'wall': is too thin; make it thicker"
    assert told("surface", 1) == "line 2, section 'plan', surface of 'room': is too thin; make it thicker"
    assert told("section") == "line 2, section 'plan': is too thin; make it thicker"


def test_geometry_of_a_section_that_is_not_named(read):
    loaded = read('junction = "joist_pocket"\n')
    for message in ("is too thin; make it thicker", "the sections do not meet; make it thicker"):
        said = str(locate(SectionError(message), loaded)).rpartition("wall.toml: ")[2]
        assert said == (f"a section {message}" if message.startswith("is") else message)


def test_a_round_section_takes_off_the_disc_within_its_cut(read):
    """χ of a plane wall round an axis is nothing: L3D is U·πr², exact."""
    text = TEXT.replace("title", "revolution = true\ntitle").replace("330], [400, 330]]", "330], [0, 330]]")
    text = text.replace('[[environment]]\nname = "room"\nsurface_resistance = 0.3\nedge = [[400, 330], [0, 330]]\n', "")
    text += '[[flanking]]\nname = "wall"\ncut = [[1000, 0], [1000, 330]]\n'
    detail = read(text.replace("1000", "700")).detail
    area = 0.7**2 * math.pi
    assert [*detail.sections[0].flanking[0].lengths.values()] == pytest.approx([area] * 3)
    chi = calculate(detail).chi
    assert chi.l2d.lower <= area / (0.04 + 0.33 / 0.77 + 0.13) <= chi.l2d.upper
    assert chi.value.lower <= 0 <= chi.value.upper


def test_geometry_of_the_whole_section_found_wrong_later(read):
    loaded = read(TEXT)
    assert str(locate(SectionError("has edges in two planes; draw one"), loaded)).endswith(
        "wall.toml: the section has edges in two planes; draw one"
    )


# -- line numbers --------------------------------------------------------------------------------------------------

WALK = '''\
a = 1 # [[region]]
b.c = "# no comment = 1"

[table]
"quoted key" = [
    [1, 2], # first
    [3,
     4],
]
inline = { x = 1, y = [1, 2], z = { deep = "}" } }
long = """
[[region]]
""" # end
other = \'\'\'
]]\'\'\'
when = 2020-01-01 10:00:00

[[region]]
name = "one"
[region.sub]
key = 1
[[region]]
name = "two"
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 1),
        (("b", "c"), 2),
        (("table",), 4),
        (("table", "quoted key"), 5),
        (("table", "quoted key", 1), 7),
        (("table", "quoted key", 1, 1), 8),
        (("table", "inline", "z", "deep"), 10),
        (("table", "other"), 14),
        (("table", "when"), 16),
        (("region", 0), 18),
        (("region", 0, "sub", "key"), 21),
        (("region", 1), 22),
        (("region", 1, "name"), 23),
        (("region", 1, "missing"), 22),
        (("nowhere",), None),
    ],
)
def test_line_of_a_key(path, line):
    assert line_of(key_lines(WALK), path) == line


# -- junctions -----------------------------------------------------------------------------------------------------


class Wall(Parameters):
    """A toy junction's parameters."""

    thickness: Length = parameter(
        0.33, symbol="d_1", label="wall", group="masonry", help="thickness of the wall", minimum=0.1, maximum=1.0
    )
    brick: MaterialName = parameter("softwood", symbol="", label="brick", group="masonry", help="material of the wall")
    gap: Literal["air"] | MaterialChoice = parameter("air", symbol="", label="gap", group="masonry", help="filling")
    pieces: Count = parameter(2, symbol="n", label="pieces", group="other", help="how many there are", minimum=1)
    outside: Temperature = parameter(-5.0, symbol="θ_e", label="outside", group="other", help="temperature outside")


def build(p):
    if p.thickness > 0.9 and p.pieces > 5:
        raise InputError("does not leave room for the pieces", key="thickness", right="make it less than 900 mm")
    corners = ((0.0, 0.0), (1.0, 0.0), (1.0, p.thickness), (0.0, p.thickness))
    rooms = (Environment("outside", p.outside), Environment("room", 20.0))
    top = (corners[2], corners[3]) if p.pieces < 9 else ((0.0, 2.0), (1.0, 2.0))
    surfaces = (Surface("outside", corners[:2], 0.04, 0.04), Surface("room", top, 0.13, 0.25))
    section = Section("plan", "Plan", (Region("wall", p.brick.material, corners),), rooms, surfaces)
    return Detail("", "toy_wall", (section,), Combination())


@pytest.fixture
def toy(monkeypatch):
    module = ModuleType("bridge2d.junctions.toy_wall")
    module.JUNCTION = Junction("toy_wall", "toy wall", "A wall (invented).", Wall, build)
    monkeypatch.setitem(sys.modules, module.__name__, module)
    monkeypatch.setattr("bridge2d.junctions.NAMES", ("toy_wall", "free_section"))
    return module.JUNCTION


@pytest.mark.usefixtures("toy")
def test_defaults_count_where_a_parameter_is_left_out(read):
    detail = read('junction = "toy_wall"\n[parameters]\nthickness = "9 1/2 in"\n').detail
    assert detail.sections[0].regions[0].polygon[2] == (1.0, 0.2413)
    assert detail.parameters[0] == ("d_1", "wall", "241.3 mm")
    assert detail.parameters[1][2].startswith("softwood, ")
    assert detail.parameters[2:4] == (("", "gap", "air"), ("n", "pieces", "2"))


@pytest.mark.usefixtures("toy")
def test_a_default_that_is_written_out_changes_no_hash(read):
    short = read('junction = "toy_wall"\ntitle = "t"\n')
    long = read(
        'junction = "toy_wall"\ntitle = "t"\n[parameters]\nthickness = "33 cm"\npieces = 2\nbrick = "softwood"\n'
    )
    assert short.input_hash == long.input_hash


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("thickness = 50", "parameters.thickness: 50 mm is outside the limits; give 100 to 1000 mm"),
        ("thickness = 1001", "give 100 to 1000 mm"),
        ("pieces = 0", "at least 1"),
        ("pieces = 1.5", "whole number"),
        ("thicknes = 300", "did you mean 'thickness'"),
        ('brick = "sofwood"', "parameters.brick: the catalogue has no material 'sofwood'; did you mean 'softwood'"),
        ('gap = "aire"', '"air" may stand here too'),
        ("gap = 7", "parameters.gap: "),
        ('brick = { material = "softwood", conductivity = 0.2 }', "parameters.brick.conductivity: "),
        ("brick = { conductivity = 0.2 }", "needs a reason"),
        ('brick = { material = "softwood", basis = "", conductivity = 0.2 }', "parameters.brick.basis: is empty"),
        ('brick = { materiel = "softwood" }', "did you mean 'material'"),
        ("brick = { material = 7 }", "parameters.brick.material: is not text; write a name of the catalogue"),
        ("thickness = 950\npieces = 6", "parameters.thickness: does not leave room for the pieces; make it less"),
    ],
)
@pytest.mark.usefixtures("toy")
def test_a_wrong_parameter_is_told(read, line, says):
    with pytest.raises(InputError) as refused:
        read(f'junction = "toy_wall"\ntitle = "t"\n\n[parameters]\n{line}\n')
    assert says in str(refused.value)
    assert refused.value.line == 5


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ('junction = "toy_wall"\nthickness = 300\n', 2, "move it below [parameters]"),
        ('junction = "toy_wall"\n[[region]]\nname = "x"\n', 2, 'only a junction = "free_section"'),
        ('junction = "toy_wall"\nparameters = 3\n', 2, "is not a table"),
        ('junction = "toy_wall"\n[parameter]\nthickness = 300\n', 2, "did you mean 'parameters'"),
        ('junction = "toy_wall"\n[parameters]\npieces = 9\n', 2, "section 'plan'"),
    ],
)
@pytest.mark.usefixtures("toy")
def test_a_wrong_place_is_told(read, text, line, says):
    with pytest.raises(InputError) as refused:
        read(text)
    assert says in str(refused.value)
    assert refused.value.line == line


@pytest.mark.usefixtures("toy")
def test_a_material_of_its_own_names_its_reason(read):
    text = 'junction = "toy_wall"\n[parameters]\nbrick = { conductivity = "0.5 W/mK", basis = "measured, invented" }\n'
    detail = read(text).detail
    assert detail.sections[0].regions[0].material.conductivity == 0.5
    assert detail.parameters[1] == ("", "brick", "brick, 0.5 W/(m·K) (measured, invented)")


def test_a_range_may_be_open_at_either_end():
    kind = describe(Wall)[0].kind
    assert span(kind, None, 0.5) == "at most 500 mm"
    assert span(kind, 0.5, None) == "at least 500 mm"
    assert span(kind, None, 0.5, "inch-pound").startswith("at most 19.68")  # 500/25.4 = 19.685, rounded inward


def test_a_parameter_is_described_once(toy):
    thickness = describe(Wall)[0]
    assert (thickness.name, thickness.symbol, thickness.unit, thickness.default) == ("thickness", "d_1", "mm", 0.33)
    assert thickness.limits == "100 to 1000 mm"
    assert describe(Wall)[2].limits == '"air" or a material'
    table = parameter_table(toy)
    for info in describe(Wall):
        assert info.name in table
        assert info.help in table


def test_schema_speaks_the_door_s_units(toy):
    declared = schema(toy)["properties"]["parameters"]["properties"]["thickness"]
    assert declared["type"] == ["number", "string"]
    assert (declared["minimum"], declared["maximum"], declared["default"]) == (100, 1000, 330)
    assert json.loads(json.dumps(schema(toy)))["properties"]["junction"] == {"const": "toy_wall"}


@pytest.mark.parametrize("name", ["free_section", "joist_pocket", "toy_wall"])
@pytest.mark.usefixtures("toy")
def test_a_new_file_loads_as_it_is(monkeypatch, read, name):
    monkeypatch.setattr("bridge2d.junctions.NAMES", ("toy_wall", "free_section", "joist_pocket"))
    text = new_file(junctions()[name])
    loaded = read(text)
    assert loaded.detail.junction == name
    if name != "free_section":
        bare = read(f'junction = "{name}"\ntitle = {json.dumps(loaded.detail.title)}\n', "bare.toml")
        assert bare.input_hash == loaded.input_hash
        for info in describe(junctions()[name].parameters):
            assert f"\n{info.name} = " in text


def test_cavities_and_air_layers_of_a_free_section(tmp_path):
    text = """junction = "free_section"
title = "hollow slab (invented)"
[[region]]
name = "slab"
conductivity = 1.0
polygon = [[0, 0], [300, 0], [300, 100], [0, 100]]
[[region]]
name = "hollow"
cavity = "unventilated"
emissivity = 0.5
polygon = [[100, 20], [200, 20], [200, 80], [100, 80]]
[[region]]
name = "joint"
cavity = "air layer"
heat_flow = "up"
polygon = [[0, 45], [100, 45], [100, 50], [0, 50]]
[[environment]]
name = "below"
temperature = 20
surface_resistance = 0.10
edge = [[0, 0], [300, 0]]
[[environment]]
name = "above"
temperature = 0
surface_resistance = 0.04
edge = [[0, 100], [300, 100]]
"""
    path = tmp_path / "slab.toml"
    path.write_text(text, encoding="utf-8")
    detail = load(path).detail
    result = calculate(detail)
    regions = {region.name: region for region in result.sections[0].section.regions}
    # ISO 6946 table, 5 mm, upward: 0.11 m²·K/W (remembered)
    assert 0.005 / regions["joint"].material.conductivity == pytest.approx(0.11, abs=0.005)
    # heat goes up through the hollow: 60 mm along, 100 mm across
    assert "60.0 mm along and 100.0 mm" in regions["hollow"].material.source
    assert any("frozen" in warning for warning in result.sections[0].warnings)
