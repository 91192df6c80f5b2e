"""Drawings in and out: what is written reads back as the same section, and what others draw is read or refused."""

import io
import json
import math
import re
from dataclasses import replace
from itertools import pairwise

import ezdxf
import meshio
import numpy as np
import pytest
import shapely
from ezdxf.math import Matrix44

from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail import Combination, Detail, Region
from bridge2d.detail_drawing import LARGEST_DRAWING
from bridge2d.detail_file import load, locate, read
from bridge2d.drawing.dxf import AIRTIGHT, DIMENSIONS, ISOTHERMS, region_layers, section_dxf
from bridge2d.errors import InputError, SectionError
from bridge2d.field_files import section_vtu
from bridge2d.junctions import junctions
from bridge2d.materials import get
from bridge2d.section_results import solve_section
from tests import shapes

BOX = [(0, 0), (500, 0), (500, 300), (0, 300)]
TOP = [(0, 300), (500, 300), (500, 400), (0, 400)]
ENVIRONMENTS = """
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [500, 0]]
[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.13
edge = [[0, 400], [500, 400]]
"""
LAYERS = 'BRICK = "solid brick, old, 1600"\nINSUL = { conductivity = 0.04, basis = "declared" }\n'


class Drawn:
    """A drawing made by ezdxf itself, with a detail file beside it."""

    def __init__(self, folder):
        self.folder = folder
        self.document = ezdxf.new("R2010", units=4)
        self.document.header["$INSUNITS"] = 4
        self.space = self.document.modelspace()
        self.layers = LAYERS
        self.rest = ENVIRONMENTS
        self.origin = ""

    def outline(self, layer, points, **attributes):
        self.space.add_lwpolyline(points, close=True, dxfattribs={"layer": layer, **attributes})

    def lines(self, layer, points):
        for start, end in zip(points[::2], points[1::2], strict=True):
            self.space.add_line(start, end, dxfattribs={"layer": layer})

    def load(self, geometry=True):
        self.document.saveas(self.folder / "nib.dxf")
        head = f'junction = "free_section"\n[drawing]\nfile = "nib.dxf"\n{self.origin}[drawing.layers]\n{self.layers}'
        (self.folder / "nib.toml").write_text(head + self.rest, encoding="utf-8")
        return load(self.folder / "nib.toml", geometry)

    def refused(self):
        with pytest.raises(InputError) as error:
            self.load()
        return str(error.value)

    def regions(self, layer):
        return [r for r in self.load(geometry=False).detail.sections[0].regions if r.name == layer]


@pytest.fixture
def drawn(tmp_path):
    return Drawn(tmp_path)


@pytest.fixture
def wall(drawn):
    drawn.outline("BRICK", BOX)
    drawn.outline("INSUL", TOP)
    return drawn


def area(region):
    """Area [m²] by the corners' cross products."""

    def ring(points):
        pairs = zip(points, points[1:] + points[:1], strict=True)
        return 0.5 * abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs))

    return ring(region.polygon) - sum(ring(hole) for hole in region.holes)


def l2d(section):
    detail = Detail("", "free_section", (section,), Combination())
    return calculate(detail).sections[0].l2d


# -- written and read back ------------------------------------------------------------------------------------------


def toml_of(section, file):
    """A free section of the same environments over a drawing."""

    def line(points):
        return json.dumps([[round(x * 1000, 6), round(y * 1000, 6)] for x, y in points])

    text = f'junction = "free_section"\n[drawing]\nfile = "{file}"\n[drawing.layers]\n'
    for (material, grain), layer in region_layers(section).items():
        along = material.conductivity_along
        value = material.conductivity if grain is None else [along or material.conductivity, material.conductivity]
        keys = f"conductivity = {value}" + ("" if grain is None else f", grain_direction = {grain}")
        text += f"{json.dumps(layer)} = {{ {keys} }}\n"
    temperatures = {e.name: e.temperature for e in section.environments}
    for surface in section.surfaces:
        text += (
            f'[[environment]]\nname = "{surface.environment}"\ntemperature = {temperatures[surface.environment]}\n'
            f"surface_resistance = {surface.resistance}\n"
            f"surface_resistance_f_rsi = {surface.f_rsi_resistance}\nedge = {line(surface.edge)}\n"
        )
    return text


def case_2():
    """Case 2 of ISO 10211 without its probes, which would refine the mesh beyond what the bracket asks."""
    return replace(shapes.iso_10211_case_2(), probes=())


def oblique():
    """Case 2 of ISO 10211 turned by 17°, so that nothing runs along an axis."""
    c, s = math.cos(math.radians(17)), math.sin(math.radians(17))

    def turned(points):
        return tuple((round(c * x - s * y, 6), round(s * x + c * y, 6)) for x, y in points)

    section = shapes.iso_10211_case_2()
    return replace(
        section,
        regions=tuple(replace(r, polygon=turned(r.polygon)) for r in section.regions),
        surfaces=tuple(replace(f, edge=turned(f.edge)) for f in section.surfaces),
        probes=(),
    )


def joist_plan():
    junction = junctions()["joist_pocket"]
    sections = junction.build(junction.parameters()).sections
    # the half as it is drawn, without the joist's end, which refines the mesh: read back, nothing says either
    return replace(next(s for s in sections if s.name == "plan"), mirrored=False, watched=(), probes=())


def with_hole():
    section = shapes.ring(200.0, shapes.mm((-30, -20), (40, -20), (10, 50)))
    pipe = Region("pipe", shapes.material(50.0), shapes.circle(8.0, 12, (0.06, 0.06)))
    return replace(section, regions=(*section.regions, pipe))


@pytest.mark.parametrize("make", [joist_plan, case_2, with_hole, oblique])
def test_a_written_drawing_reads_back_as_the_same_section(make, tmp_path):
    section = make()
    result = solve_section(section, 1e-3)
    (tmp_path / "back.dxf").write_bytes(section_dxf(result))
    (tmp_path / "back.toml").write_text(toml_of(section, "back.dxf"), encoding="utf-8")
    again = load(tmp_path / "back.toml").detail.sections[0]
    assert [area(r) for r in again.regions] == pytest.approx([area(r) for r in section.regions], rel=1e-3)  # whole µm
    found = l2d(again)
    assert found.value == pytest.approx(result.l2d.value, rel=1e-6)
    assert found.half_width == pytest.approx(result.l2d.half_width, rel=1e-3)


def test_two_runs_write_the_same_bytes_and_no_date(tmp_path):
    (tmp_path / "w.toml").write_text(FREE, encoding="utf-8")
    for name in ("a.dxf", "b.dxf", "a.vtu", "b.vtu", "a.svg", "b.svg"):
        assert main(["draw", str(tmp_path / "w.toml"), "-o", str(tmp_path / name)]) == 0
    for kind in ("dxf", "vtu", "svg"):
        assert (tmp_path / f"a.{kind}").read_bytes() == (tmp_path / f"b.{kind}").read_bytes()
    assert not re.search(rb"@ 20(1|[3-9]|2[1-9])", (tmp_path / "a.dxf").read_bytes())
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(
        ["w.toml", "a.dxf", "b.dxf", "a.vtu", "b.vtu", "a.svg", "b.svg"]
    )


def test_the_drawing_has_its_layers_units_and_dimensions(joist):
    document = ezdxf.read(io.StringIO(section_dxf(joist).decode("utf-8")))
    assert not document.audit().has_errors
    assert document.header["$INSUNITS"] == 4  # millimetres, DXF reference
    space = document.modelspace()
    dimensions = space.query(f'DIMENSION[layer=="{DIMENSIONS}"]')
    assert sorted(round(d.get_measurement(), 3) for d in dimensions) == [15, 60, 80, 110, 330, 600]
    assert any(d.dxf.text == "d1 = <>" for d in dimensions)
    lines = space.query(f'LWPOLYLINE[layer=="{ISOTHERMS}"]')
    low, high = joist.fields.temperature.min(), joist.fields.temperature.max()
    levels = {line.dxf.elevation for line in lines}
    assert levels == {float(k) for k in range(-100, 101, 2) if low < k < high}
    assert len(space.query(f'LWPOLYLINE[layer=="{AIRTIGHT}"]')) == 1
    joist_layer = region_layers(joist.section)[joist.section.regions[-1].material, 90.0]
    (outline,) = space.query(f'LWPOLYLINE[layer=="{joist_layer}"]')
    assert [tuple(p) for p in outline.get_points("xy")] == [(0, 220), (40, 220), (40, 1405), (0, 1405)]


def test_isotherms_lie_where_the_exact_field_has_their_temperature(plane_wall):
    """A plane wall, exact: the 0 °C line lies where the resistances divide the span so."""
    document = ezdxf.read(io.StringIO(section_dxf(plane_wall).decode("utf-8")))
    (line,) = [
        e for e in document.modelspace().query("LWPOLYLINE") if e.dxf.layer == ISOTHERMS and e.dxf.elevation == 0
    ]
    total = 0.04 + 0.33 / 0.77 + 0.06 / 0.04 + 0.015 / 0.8 + 0.13
    inside_brick = (5.0 / 25.0 * total - 0.04) * 0.77
    assert {round(x, 3) for x, _ in line.get_points("xy")} == {round(1000 * inside_brick, 3)}


@pytest.fixture
def plane_wall():
    from tests.surfaces.conftest import BOARD, BRICK, WOOL, rectangle

    section = shapes.section(
        [
            replace(Region("a", BRICK, rectangle(0, 0, 0.33, 0.6))),
            Region("b", WOOL, rectangle(0.33, 0, 0.39, 0.6)),
            Region("c", BOARD, rectangle(0.39, 0, 0.405, 0.6)),
        ],
        {"outside": -5, "inside": 20},
        [shapes.surface("outside", 0.04, (0, 0), (0, 600)), shapes.surface("inside", 0.13, (405, 0), (405, 600))],
    )
    return solve_section(section, 1e-3)


def test_materials_that_look_alike_as_layers_stay_apart():
    one, two = shapes.rectangle(1, 0, 0, 1, 1), shapes.rectangle(2, 1, 0, 2, 1)
    named = [replace(r, material=replace(r.material, name=n)) for r, n in ((one, "brick, old"), (two, "brick/old"))]
    section = shapes.section(named, {"a": 0, "b": 1}, [])
    assert list(region_layers(section).values()) == ["material brick old", "material brick old (2)"]


def test_vtu_holds_mesh_temperatures_and_stream_function(tmp_path):
    result = solve_section(with_hole(), 1e-2)
    (tmp_path / "f.vtu").write_bytes(section_vtu(result))
    found = meshio.read(tmp_path / "f.vtu")
    cells = found.cells_dict["triangle6"]
    fields = result.fields
    assert found.points[cells][..., :2] == pytest.approx(fields.points[fields.triangles])
    assert found.point_data["temperature"][cells] == pytest.approx(fields.temperature[fields.triangles])
    assert found.point_data["stream_function"][cells] == pytest.approx(fields.stream, abs=1e-6 * np.ptp(fields.stream))
    assert len(found.points) > len(fields.points)  # the stream function jumps round the hole
    assert (found.cell_data_dict["region"]["triangle6"] == fields.region).all()


# -- drawn by another ------------------------------------------------------------------------------------------------


def test_outlines_become_regions_in_the_order_of_drawing(drawn):
    drawn.outline("insul", [(0, 200), (500, 200), (500, 400), (0, 400)])
    drawn.outline("Brick", BOX)
    regions = drawn.load().detail.sections[0].regions
    assert [(r.name, r.material.conductivity) for r in regions] == [
        ("INSUL", 0.04),
        ("BRICK", get("solid brick, old, 1600").conductivity),
    ]
    assert drawn.load().input_hash == drawn.load().input_hash


def test_a_region_of_the_file_lies_over_the_drawing(wall):
    before = wall.load().input_hash
    wall.rest += '[[region]]\nname = "pipe"\nconductivity = 50\npolygon = [[200, 300], [240, 300], [240, 340]]\n'
    loaded = wall.load()
    assert [r.name for r in loaded.detail.sections[0].regions] == ["BRICK", "INSUL", "pipe"]
    assert loaded.input_hash != before


def test_the_hash_follows_the_drawing_and_not_its_name(wall):
    first = wall.load()
    (wall.folder / "other.dxf").write_bytes((wall.folder / "nib.dxf").read_bytes())
    text = first.text.replace("nib.dxf", "other.dxf")
    assert read(text, wall.folder / "nib.toml").input_hash == first.input_hash
    wall.outline("INSUL", [(100, 100), (200, 100), (200, 200)])
    assert wall.load().input_hash != first.input_hash


def test_a_drawing_at_hand_is_taken_and_no_file_is_opened(wall):
    loaded = wall.load()
    data = loaded.drawn.data
    (wall.folder / "nib.dxf").unlink()
    assert read(loaded.text, wall.folder / "x.toml", attached={"nib.dxf": data}).input_hash == loaded.input_hash
    with pytest.raises(InputError, match="not at hand"):
        read(loaded.text, wall.folder / "x.toml", attached={})


@pytest.mark.parametrize(("unit", "factor"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0), (2, 304.8)])
def test_the_header_s_unit_counts(drawn, unit, factor):
    """25.4 mm per inch exactly; the numbers of $INSUNITS after the DXF reference."""
    drawn.document.header["$INSUNITS"] = unit
    for layer, points in (("BRICK", BOX), ("INSUL", TOP)):
        drawn.outline(layer, [(x / factor, y / factor) for x, y in points])
    loaded = drawn.load()
    assert loaded.detail.sections[0].regions[0].polygon == ((0, 0), (0.5, 0), (0.5, 0.3), (0, 0.3))
    assert not any("unit" in note for note in loaded.detail.notes)


def test_a_drawing_without_a_unit_is_taken_as_millimetres_and_said(wall):
    wall.document.header["$INSUNITS"] = 0
    loaded = wall.load()
    assert loaded.detail.sections[0].regions[0].polygon[1] == (0.5, 0.0)
    assert any("names no unit" in note for note in loaded.detail.notes)


def test_the_origin_shifts_the_drawing(drawn):
    for layer, points in (("BRICK", BOX), ("INSUL", TOP)):
        drawn.outline(layer, [(x + 4e8, y - 2e8) for x, y in points])
    assert "add origin" in drawn.refused()
    drawn.origin = "origin = [4e8, -2e8]\n"
    assert drawn.load().detail.sections[0].regions[0].polygon[2] == (0.5, 0.3)


def test_circle_and_bulge_and_ellipse_and_spline_have_their_areas(wall):
    """Exact areas; a chord polygon of sagitta s loses at most 2/3·s times the perimeter."""
    wall.layers += "C = 1.0\n"
    a = {"layer": "C"}
    wall.space.add_circle((100, 100), 40, dxfattribs=a)
    wall.space.add_lwpolyline([(200, 100, 1), (280, 100, 1)], format="xyb", close=True, dxfattribs=a)
    wall.space.add_ellipse((350, 100), (60, 0), 0.5, dxfattribs=a)
    wall.space.add_lwpolyline(
        [(100, 200, 0), (180, 200, math.tan(math.pi / 8)), (180, 280, 0)], format="xyb", close=True, dxfattribs=a
    )
    ring = [(400 + 40 * math.cos(t), 220 + 40 * math.sin(t)) for t in np.linspace(0, 2 * math.pi, 13)]
    wall.space.add_spline(ring, dxfattribs=a)
    found = [area(r) * 1e6 for r in wall.regions("C")]
    cap = math.pi * (80 / math.sqrt(2)) ** 2 / 4 - 80 * 80 / 4  # a quarter circle's segment on an 80 mm chord
    exact = [math.pi * 1600, math.pi * 1600, math.pi * 60 * 30, 80 * 80 / 2 + cap]
    for got, wanted in zip(found, exact, strict=False):
        assert wanted - 2 / 3 * 0.05 * 300 < got <= wanted + 0.1
    assert found[4] == pytest.approx(math.pi * 1600, rel=0.01)  # a spline through points of a circle
    assert len(found) == 5


def test_curves_come_within_the_chord_tolerance(wall):
    wall.layers += "C = 1.0\n"
    wall.space.add_circle((250, 150), 120, dxfattribs={"layer": "C"})
    (circle,) = wall.regions("C")
    corners = np.array(circle.polygon) * 1000 - (250, 150)
    middles = 0.5 * (corners + np.roll(corners, -1, axis=0))
    assert np.hypot(*corners.T) == pytest.approx(120, abs=0.002)
    assert 120 - np.hypot(*middles.T).min() <= 0.05


def test_outlines_along_one_arc_leave_no_sliver(drawn):
    """Two regions meet along an arc that each draws in its own way; no void lies between them."""
    turn = math.tan(math.radians(80) / 4)
    drawn.space.add_lwpolyline(
        [(0, 0), (500, 0), (500, 300, turn), (0, 300)], format="xyb", close=True, dxfattribs={"layer": "BRICK"}
    )
    centre_y = 300 - 250 / math.tan(math.radians(40))
    radius = 250 / math.sin(math.radians(40))
    a = {"layer": "INSUL"}
    drawn.space.add_arc((250, centre_y), radius, 50, 83, dxfattribs=a)
    drawn.space.add_arc((250, centre_y), radius, 83, 130, dxfattribs=a)
    drawn.lines("INSUL", [(0, 300), (0, 400), (0, 400), (500, 400), (500, 400), (500, 300)])
    loaded = drawn.load()
    assert loaded.detail.notes == ()
    covered = sum(area(r) for r in loaded.detail.sections[0].regions)
    assert covered * 1e6 == pytest.approx(500 * 400, abs=0.5)  # neither gap nor overlap


@pytest.mark.parametrize("off", [0.006, -0.006])
def test_outlines_that_miss_each_other_by_micrometres_meet(drawn, off):
    """Boards 6 µm off the brick and off each other, with corners on nobody's: no void and no overlap is left."""
    drawn.outline("BRICK", BOX)
    drawn.outline("INSUL", [(0, 300), (200, 300 + off), (200, 400), (0, 400)])
    drawn.outline("INSUL", [(200 + off, 300), (350, 300), (350, 400), (200 + off, 400)])
    drawn.outline("INSUL", [(350, 300 + off), (500, 300 + off), (500, 400), (350, 400)])
    loaded = drawn.load()
    assert loaded.detail.notes == ()
    polygons = [shapely.Polygon(r.polygon) for r in loaded.detail.sections[0].regions]
    filled = shapely.unary_union(polygons)
    assert filled.geom_type == "Polygon"
    assert not filled.interiors
    assert filled.area == pytest.approx(sum(one.area for one in polygons), rel=1e-12)
    plain = Drawn(drawn.folder)
    plain.outline("BRICK", BOX)
    plain.outline("INSUL", TOP)
    found, expected = l2d(loaded.detail.sections[0]), l2d(plain.load().detail.sections[0])
    assert found.value == pytest.approx(expected.value, rel=1e-4)


def test_a_wrong_unit_shows_in_the_drawings_extent(wall):
    wall.document.header["$INSUNITS"] = 5  # centimetres
    error = wall.refused()
    assert "does not run along the outline" in error
    assert "the drawing's outlines span 5000 mm by 4000 mm; check its unit" in error
    wall.document.header["$INSUNITS"] = 0
    wall.rest = wall.rest.replace("[500, 0]]", "[5000, 0]]")
    assert "names no unit" in wall.refused()


def test_a_gap_is_named_where_a_cut_plane_meets_it(drawn):
    drawn.outline("BRICK", BOX)
    drawn.outline("INSUL", [(0, 300), (100, 300), (100, 300.4), (500, 300.4), (500, 400), (0, 400)])
    drawn.rest += '[[flanking]]\nname = "wall"\ncut = [[500, 0], [500, 400]]\nlengths = { external = 500 }\n'
    error = drawn.refused()
    assert "the cut plane leaves the section" in error
    assert "a gap about 0.4 mm wide lies between regions at" in error


def test_a_block_that_is_missing_is_told(wall):
    wall.space.add_blockref("nowhere", (100, 100), dxfattribs={"layer": "BRICK"})
    (note,) = [one for one in wall.load().detail.notes if "fault" in one]
    assert note.startswith("1 fault in the drawing's structure was mended")
    assert "INSERT" in note


def test_an_object_of_a_kind_that_nobody_knows_is_left_out_and_told(wall):
    regions = [region.name for region in wall.load().detail.sections[0].regions]
    wall.space.add_line((0, 0), (100, 0), dxfattribs={"layer": "BRICK"})
    path = wall.folder / "nib.dxf"
    wall.document.saveas(path)
    text = path.read_text(encoding="utf-8")
    assert text.count("\nLINE\n") == 1
    path.write_text(text.replace("\nLINE\n", "\nWALLTHING\n"), encoding="utf-8")
    detail = load(wall.folder / "nib.toml").detail
    assert [region.name for region in detail.sections[0].regions] == regions
    assert any("WALLTHING" in note and "BRICK" in note for note in detail.notes)


def test_blocks_are_resolved_nested_turned_scaled_and_mirrored(wall):
    """Positions worked out by hand: a triangle of legs 20 and 10 in a block within a block."""
    wall.layers += "C = 1.0\n"
    inner = wall.document.blocks.new("inner")
    inner.add_lwpolyline([(0, 0), (20, 0), (0, 10)], close=True, dxfattribs={"layer": "0"})
    outer = wall.document.blocks.new("outer")
    outer.add_blockref("inner", (5, 0), dxfattribs={"rotation": 90, "layer": "0"})
    outer.add_blockref("inner", (0, 0), dxfattribs={"xscale": -1, "layer": "0"})
    wall.space.add_blockref("outer", (300, 100), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 180, "layer": "C"})
    first, second = wall.regions("C")
    assert set(first.polygon) == {(0.29, 0.1), (0.29, 0.06), (0.31, 0.1)}
    assert set(second.polygon) == {(0.3, 0.1), (0.34, 0.1), (0.3, 0.08)}


def test_a_mirrored_unevenly_scaled_circle_is_an_ellipse(wall):
    wall.layers += "C = 1.0\n"
    block = wall.document.blocks.new("round")
    block.add_circle((0, 0), 20, dxfattribs={"layer": "C"})
    wall.space.add_blockref("round", (250, 150), dxfattribs={"xscale": -3, "yscale": 1})
    (ellipse,) = wall.regions("C")
    assert area(ellipse) * 1e6 == pytest.approx(math.pi * 60 * 20, rel=3e-3)


def test_a_row_of_blocks(wall):
    wall.layers += "C = 1.0\n"
    block = wall.document.blocks.new("batten")
    block.add_lwpolyline([(0, 0), (20, 0), (20, 30), (0, 30)], close=True, dxfattribs={"layer": "C"})
    row = {"column_count": 3, "column_spacing": 100}
    wall.space.add_blockref("batten", (50, 320), dxfattribs=row)
    assert [r.polygon[0] for r in wall.regions("C")] == [(0.05, 0.32), (0.15, 0.32), (0.25, 0.32)]


def test_an_object_seen_from_behind_is_mirrored(wall):
    wall.layers += "C = 1.0\n"
    wall.space.add_lwpolyline(
        [(-100, 10), (-60, 10), (-60, 50)], close=True, dxfattribs={"layer": "C", "extrusion": (0, 0, -1)}
    )
    (found,) = wall.regions("C")
    assert set(found.polygon) == {(0.1, 0.01), (0.06, 0.01), (0.06, 0.05)}


def test_a_hatch_says_that_a_ring_is_a_hole(wall):
    wall.layers += "C = 1.0\nD = 2.0\n"
    outer, inner = [(100, 50), (300, 50), (300, 250), (100, 250)], [(150, 100), (200, 100), (200, 200), (150, 200)]
    hatch = wall.space.add_hatch(dxfattribs={"layer": "C"})
    hatch.paths.add_polyline_path(outer, is_closed=True, flags=1)
    hatch.paths.add_polyline_path(inner, is_closed=True, flags=16)
    wall.outline("C", outer)  # the drafter's outlines of the hatch are not regions of their own
    wall.outline("C", inner)
    wall.outline("D", outer)
    wall.outline("D", inner)
    (hatched,) = wall.regions("C")
    assert area(hatched) == pytest.approx(0.2 * 0.2 - 0.05 * 0.1)
    assert [area(r) for r in wall.regions("D")] == pytest.approx([0.04, 0.005])


def test_a_hatch_with_an_island_on_its_rim(wall):
    """A box of 200 by 200 less an island of 50 by 100 that shares 50 mm of its lower edge: 35000 mm² are left."""
    wall.layers += "C = 1.0\n"
    hatch = wall.space.add_hatch(dxfattribs={"layer": "C"})
    hatch.paths.add_polyline_path([(100, 50), (300, 50), (300, 250), (100, 250)], is_closed=True, flags=1)
    hatch.paths.add_polyline_path([(150, 50), (200, 50), (200, 150), (150, 150)], is_closed=True, flags=16)
    (found,) = wall.regions("C")
    assert found.holes == ()
    assert area(found) * 1e6 == pytest.approx(200 * 200 - 50 * 100, abs=1e-3)
    assert (0.15, 0.15) in found.polygon


def test_a_hatch_whose_edges_stay_open_is_closed_by_a_chord(wall):
    wall.layers += "C = 1.0\n"
    edges = wall.space.add_hatch(dxfattribs={"layer": "C"}).paths.add_edge_path()
    for start, end in pairwise([(100, 100), (200, 100), (200, 220), (100, 220)]):
        edges.add_line(start, end)
    (found,) = wall.regions("C")
    assert set(found.polygon) == {(0.1, 0.1), (0.2, 0.1), (0.2, 0.22), (0.1, 0.22)}


def test_an_outline_drawn_twice_is_one_region(wall):
    wall.outline("INSUL", [(x, y + 0.005) for x, y in TOP])  # nowhere farther off than 0.02 mm
    assert len(wall.regions("INSUL")) == 1
    wall.outline("INSUL", [(100, 320), (200, 320), (200, 380)])
    assert len(wall.regions("INSUL")) == 2


def test_a_mesh_of_faces_bounds_nothing_and_is_named(wall):
    mesh = wall.space.add_polyface(dxfattribs={"layer": "BRICK"})
    mesh.append_face([(0, 0, 0), (100, 0, 0), (100, 100, 0)])
    assert "on layer 'BRICK' of the drawing 1 POLYLINE was left out" in wall.load().detail.notes


def test_a_layer_whose_name_no_drawing_may_have_is_told(wall):
    wall.space.add_line((0, 0), (10, 0), dxfattribs={"layer": "A"})
    wall.load()
    file = wall.folder / "nib.dxf"
    data = file.read_bytes().replace(b"\n  8\nA\n", b"\n  8\nA*B|C\n")
    text = (wall.folder / "nib.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as error:
        read(text, file.with_suffix(".toml"), attached={"nib.dxf": data})
    assert "nib.dxf: the drawing is damaged: Invalid layer name" in str(error.value)


def test_many_overlaps_are_counted(wall):
    wall.layers += "C = 1.0\n"
    for k in range(10):
        wall.outline("C", [(40 * k + 10, 100), (40 * k + 30, 100), (40 * k + 30, 120), (40 * k + 10, 120)])
    notes = wall.load().detail.notes
    assert sum("'C' lies over 'BRICK'" in note for note in notes) == 8
    assert notes[-1] == "the drawing has 2 more overlaps"


def test_a_hatch_bounded_by_arcs(wall):
    wall.layers += "C = 1.0\n"
    hatch = wall.space.add_hatch(dxfattribs={"layer": "C"})
    edges = hatch.paths.add_edge_path()
    edges.add_line((100, 100), (200, 100))
    edges.add_arc((200, 150), 50, 270, 90, ccw=True)
    edges.add_line((200, 200), (100, 200))
    edges.add_arc((100, 150), 50, 270, 90, ccw=False)
    (slot,) = wall.regions("C")
    # bulges out on the right by half a circle and in on the left by the same: exactly the square's area, and the
    # chords take from one side what they add on the other
    assert area(slot) * 1e6 == pytest.approx(100 * 100, abs=1.0)
    assert max(x for x, _ in slot.polygon) == pytest.approx(0.25, abs=1e-6)


def test_gaps_below_a_hundredth_of_a_millimetre_are_closed(drawn):
    drawn.outline("BRICK", BOX)
    drawn.lines(
        "INSUL", [(0, 300), (500, 300.005), (500, 300), (500, 400), (500.003, 400.004), (0, 400), (0, 400), (0, 300)]
    )
    loaded = drawn.load()
    (insulation,) = [r for r in loaded.detail.sections[0].regions if r.name == "INSUL"]
    assert area(insulation) == pytest.approx(0.05, rel=1e-4)
    exact = 0.5 / (0.04 + 0.3 / get("solid brick, old, 1600").conductivity + 0.1 / 0.04 + 0.13)  # layers in series
    assert l2d(loaded.detail.sections[0]).value == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("kind", ["lines", "polyline", "arc"])
def test_a_broken_outline_is_refused_with_the_place(drawn, kind):
    drawn.outline("BRICK", BOX)
    if kind == "polyline":
        drawn.space.add_lwpolyline([(0, 300.5), *TOP[1:], (0, 300)][::-1], dxfattribs={"layer": "INSUL"})
    elif kind == "lines":
        drawn.lines("INSUL", [(0, 300), (500, 300), (500, 300), (500, 400), (500, 400), (0, 400), (0, 400), (0, 300.5)])
    else:
        drawn.space.add_arc((250, 300.5), 250, 0.2, 180, dxfattribs={"layer": "INSUL"})
        drawn.lines("INSUL", [(0, 300.5), (500, 300.5)])
    message = drawn.refused()
    assert "nib.dxf" in message
    assert "layer 'INSUL'" in message
    assert "not closed at" in message
    if kind == "arc":
        assert "0.873 mm" in message  # 2·250·sin(0.1°)
        assert "(500, 300.5) mm" in message
    else:
        assert "0.5 mm away" in message
        assert "(0, 300) mm" in message
        assert "(0, 300.5) mm" in message


def test_an_outline_that_crosses_itself_is_refused_with_the_place(drawn):
    drawn.outline("BRICK", BOX)
    drawn.outline("INSUL", [(0, 300), (100, 400), (100, 300), (0, 400)])
    message = drawn.refused()
    assert "(50, 350) mm" in message
    assert "layer 'INSUL'" in message


def test_overlaps_are_told_with_place_and_area(wall):
    wall.outline("INSUL", [(100, 250), (200, 250), (200, 300), (100, 300)])
    (note,) = wall.load().detail.notes
    assert "'INSUL' lies over 'BRICK'" in note
    assert "5000 mm²" in note
    x, y = map(float, re.search(r"\(([\d.]+), ([\d.]+)\) mm", note).groups())
    assert 100 < x < 200
    assert 250 < y < 300


def test_voids_and_narrow_gaps_are_told_with_their_places(drawn):
    drawn.outline("BRICK", [(0, 0), (500, 0), (500, 300), (250, 300), (250, 299.7), (0, 299.7)])
    drawn.outline("INSUL", [(0, 300), (100, 300), (100, 350), (150, 350), (150, 300), (500, 300), (500, 400), (0, 400)])
    drawn.outline("INSUL", [(90, 299), (160, 299), (160, 310), (90, 310)])
    notes = " | ".join(drawn.load().detail.notes)
    assert "void of 2000 mm²" in notes  # 50 × 40
    assert "0.3 mm wide" in notes or "0.299 mm wide" in notes
    x, y = map(float, re.search(r"2000 mm² at \(([\d.]+), ([\d.]+)\) mm of the drawing, which faces", notes).groups())
    assert 100 < x < 150
    assert 310 < y < 350


def test_a_void_that_faces_an_environment_is_no_finding(drawn):
    hatch = drawn.space.add_hatch(dxfattribs={"layer": "BRICK"})
    hatch.paths.add_polyline_path(BOX, is_closed=True, flags=1)
    hatch.paths.add_polyline_path([(200, 100), (300, 100), (300, 200), (200, 200)], is_closed=True, flags=16)
    drawn.outline("INSUL", TOP)
    assert any("faces no environment" in note for note in drawn.load().detail.notes)
    drawn.rest += (
        '[[environment]]\nname = "duct"\ntemperature = 10\nsurface_resistance = 0.13\n'
        "edge = [[200, 100], [300, 100], [300, 200], [200, 200], [200, 100]]\n"
    )
    assert drawn.load().detail.notes == ()


def test_other_layers_and_other_kinds_are_named(wall, capsys):
    wall.outline("FURNITURE", [(0, 0), (10, 0), (10, 10)])
    wall.space.add_text("brick", dxfattribs={"layer": "BRICK"})
    notes = wall.load().detail.notes
    assert any("'FURNITURE'" in note and "left out" in note for note in notes)
    assert any("1 TEXT" in note for note in notes)
    assert main(["check", str(wall.folder / "nib.toml")]) == 0
    assert "FURNITURE" in capsys.readouterr().out


def test_geometry_that_is_wrong_leads_to_the_drawing(wall):
    wall.outline("INSUL", [(800, 0), (900, 0), (900, 100)])
    message = wall.refused()
    assert "nib.dxf" in message
    assert "stands apart" in message
    loaded = wall.load(geometry=False)
    assert "layer 'INSUL'" in str(locate(SectionError("stands apart", ("region", 2)), loaded))


def test_a_block_of_the_file_keeps_its_number_behind_the_drawing_s(wall):
    wall.rest += '[[region]]\nname = "far"\nconductivity = 1\npolygon = [[800, 0], [900, 0], [900, 100]]\n'
    message = wall.refused()
    assert '[[region]] 1 "far"' in message
    assert "nib.toml" in message


# -- refused ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("origin = [0, 0]", "origin = 3", "drawing.origin: is not a point; write origin = [x, y]"),
        ("origin = [0, 0]", "origin = [1, 2, 3]", "drawing.origin: is not a point"),
        (
            'junction = "free_section"',
            'junction = "free_section"\nunits = "inch-pound"',
            "drawing.origin: is not finite",
        ),
        (f"[drawing.layers]\n{LAYERS}", "layers = 3\n", "drawing.layers: is not a table; write [drawing.layers]"),
    ],
)
def test_a_wrong_drawing_block_is_refused(wall, old, new, says):
    wall.origin = "origin = [0, 0]\n"
    text = wall.load().text.replace(old, new, 1)
    if "units" in new:
        text = text.replace("[0, 0]", "[1e308, 0]", 1)  # inches; beyond what a number can hold in millimetres
    with pytest.raises(InputError) as error:
        read(text, wall.folder / "nib.toml")
    assert says in str(error.value)


@pytest.mark.parametrize(
    ("limit", "says"),
    [
        ("bridge2d.detail_drawing.MOST_REGIONS", "the drawing brings the detail to 2 regions; a detail may have"),
        ("bridge2d.detail_drawing.MOST_POINTS", "the drawing's outlines have 10 corners, curves divided"),
        ("bridge2d.dxf.reading.MOST_POINTS", "the drawing's outlines have too many corners; keep only"),
    ],
)
def test_a_drawing_of_too_much_is_refused(wall, monkeypatch, limit, says):
    monkeypatch.setattr(limit, 1)  # two boxes, of five corners each with the first one repeated
    assert says in wall.refused()


def test_a_line_that_bounds_nothing_is_refused_with_its_place(drawn):
    drawn.outline("BRICK", BOX)
    left, right = [(0, 300), (200, 300), (200, 400), (0, 400)], [(300, 300), (500, 300), (500, 400), (300, 400)]
    for box in (left, right):
        drawn.lines("INSUL", [point for k in range(4) for point in (box[k - 1], box[k])])
    drawn.lines("INSUL", [(200, 300), (300, 300)])
    message = drawn.refused()
    assert "the line at (250, 300) mm bounds no region; take it off the layer" in message
    assert "layer 'INSUL'" in message


def test_a_line_that_hangs_on_an_outline_is_refused_with_its_end(drawn):
    drawn.outline("BRICK", BOX)
    drawn.lines("INSUL", [point for k in range(4) for point in (TOP[k - 1], TOP[k])])
    drawn.lines("INSUL", [(500, 400), (560, 480)])
    message = drawn.refused()
    # from the end to the corner at which it hangs and where the nearest lines end: a triangle of 60, 80 and 100
    assert "an outline is not closed at (560, 480) mm; the nearest line is 100 mm away" in message


def test_loose_lines_that_cross_themselves_are_refused_with_the_place(drawn):
    drawn.outline("BRICK", BOX)
    crossed = [(0, 300), (100, 400), (100, 300), (0, 400)]
    drawn.space.add_lwpolyline(crossed[:3], dxfattribs={"layer": "INSUL"})
    drawn.space.add_lwpolyline([*crossed[2:], crossed[0]], dxfattribs={"layer": "INSUL"})
    message = drawn.refused()
    assert "(50, 350) mm" in message
    assert "layer 'INSUL'" in message


@pytest.mark.parametrize(
    ("layers", "says"),
    [
        ("", "names no layer"),
        ("".join(f"L{k} = 1\n" for k in range(201)), "names 201 layers; name at most 200"),
        ('BRICK = "sotfwood"\n', "'softwood'"),
        ("BRICK = -1\n", "drawing.layers.BRICK"),
        ("BRICK = true\n", "neither a material"),
        ("BRICK = { conductivity = 1, polygon = [] }\n", "outlines come from the drawing"),
        ("BRICK = { conductivty = 1 }\n", "did you mean 'conductivity'"),
        ("BRICK = 1\nbrick = 2\n", "named twice"),
        ("BRICK = 1\nCORK = 2\n", "does not hold the layer 'CORK'"),
        ("BRICK = 1\nWORDS = 2\n", "closed outline on the layer 'WORDS'"),
    ],
)
def test_a_wrong_table_of_layers_is_refused(wall, layers, says):
    wall.space.add_text("brick", dxfattribs={"layer": "WORDS"})
    wall.layers = layers
    message = wall.refused()
    assert says in message
    assert "line " in message


@pytest.mark.parametrize(
    "name", ["../nib.dxf", "/etc/hostname", "link.dxf", "linked/nib.dxf", "missing.dxf", ".", "a\\u0000"]
)
def test_a_path_that_leaves_the_folder_or_is_no_file_is_refused(wall, name, capsys):
    wall.load()
    inner = wall.folder / "inner"
    inner.mkdir()
    (inner / "link.dxf").symlink_to(wall.folder / "nib.dxf")
    (inner / "linked").symlink_to(wall.folder, target_is_directory=True)
    text = (wall.folder / "nib.toml").read_text(encoding="utf-8").replace("nib.dxf", name)
    (inner / "d.toml").write_text(text, encoding="utf-8")
    assert main(["check", str(inner / "d.toml")]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "line " in error


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"<?xml version='1.0'?><svg/>", "XML"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00\x00\x00", "binary form"),
        (b"AC1027\x00\x00\x00\x00", "DWG"),
        (b"%PDF-1.7", "PDF"),
        (b"hello\nworld\n", "some other kind"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nBRICK\n", "closing EOF"),
        (b"0\nSECTION\n2\nENTITIES\nLINE\nzero\n0\nEOF\n", "DXF"),
        (b"0\nEOF\n", "layer"),
        (b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nBRICK\n10\nnan\n20\n1\n40\n5\n0\nENDSEC\n0\nEOF\n", ""),
        (b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nBRICK\n10\n1\n20\n1\n40\n1e300\n0\nENDSEC\n0\nEOF\n", ""),
    ],
)
def test_another_kind_of_file_is_refused_in_one_message(wall, data, says, capsys):
    wall.load()
    (wall.folder / "nib.dxf").write_bytes(data)
    assert main(["check", str(wall.folder / "nib.toml")]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert says in error


def test_a_huge_file_is_refused_before_it_is_read(wall, capsys):
    wall.load()
    with (wall.folder / "nib.dxf").open("r+b") as file:
        file.truncate(LARGEST_DRAWING + 1)
    assert main(["check", str(wall.folder / "nib.toml")]) == 2
    assert "20.0 MB" in capsys.readouterr().err


@pytest.mark.parametrize("depth", [40, 0])
def test_blocks_without_end_are_refused(wall, depth):
    for k in range(depth):
        block = wall.document.blocks.new(f"b{k}")
        for _ in range(2):
            if k:
                block.add_blockref(f"b{k - 1}", (0, 0))
            else:
                block.add_circle((0, 0), 1, dxfattribs={"layer": "BRICK"})
    if depth:
        wall.space.add_blockref(f"b{depth - 1}", (0, 0))
        assert "entities" in wall.refused()
    else:
        block = wall.document.blocks.new("self")
        block.add_blockref("self", (0, 0))
        wall.space.add_blockref("self", (0, 0))
        message = wall.refused()
        assert "contains itself" in message


def test_every_cut_off_drawing_gives_one_message(wall, capsys):
    wall.space.add_circle((250, 150), 20, dxfattribs={"layer": "INSUL"})
    wall.load()
    whole = (wall.folder / "nib.dxf").read_bytes()
    for k in range(1, 12):
        (wall.folder / "nib.dxf").write_bytes(whole[: len(whole) * k // 12] + b"\n0\nEOF\n")
        assert main(["check", str(wall.folder / "nib.toml")]) in (0, 2)
        assert capsys.readouterr().err.count("\n") <= 1


# -- the command ------------------------------------------------------------------------------------------------------

FREE = (
    'junction = "free_section"\n[[region]]\nname = "brick"\nconductivity = 0.8\n'
    "polygon = [[0, 0], [500, 0], [500, 400], [0, 400]]\n" + ENVIRONMENTS
)


@pytest.mark.parametrize(
    ("output", "more", "says"),
    [
        ("x.png", [], ".dxf, .svg or .vtu"),
        ("none/x.dxf", [], "folder does not exist"),
        ("x.dxf", ["--section", "plan"], "no section 'plan'"),
        ("folder.dxf", [], "folder"),
    ],
)
def test_a_wrong_call_writes_nothing(tmp_path, capsys, output, more, says):
    (tmp_path / "w.toml").write_text(FREE, encoding="utf-8")
    (tmp_path / "folder.dxf").mkdir()
    assert main(["draw", str(tmp_path / "w.toml"), "-o", str(tmp_path / output), *more]) == 2
    assert says in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder.dxf", "w.toml"]


def test_a_section_s_own_drawing_is_not_overwritten(wall, capsys):
    wall.load()
    before = (wall.folder / "nib.dxf").read_bytes()
    assert main(["draw", str(wall.folder / "nib.toml"), "-o", str(wall.folder / "nib.dxf")]) == 2
    assert "own drawing" in capsys.readouterr().err
    assert (wall.folder / "nib.dxf").read_bytes() == before


def test_matrices_of_the_library_agree_with_the_hand_worked_block():
    """The mirrored insert of the nested block, by one matrix: a check of the expected values above."""
    matrix = Matrix44.chain(
        Matrix44.scale(-1, 1, 1), Matrix44.scale(2, 2, 1), Matrix44.z_rotate(math.pi), Matrix44.translate(300, 100, 0)
    )
    moved = {(round(v.x, 6), round(v.y, 6)) for v in matrix.transform_vertices([(0, 0), (20, 0), (0, 10)])}
    assert moved == {(300, 100), (340, 100), (300, 80)}


def test_the_listing_of_a_free_section_tells_the_drawing_s_keys(capsys):
    assert main(["junctions", "free_section"]) == 0
    out = capsys.readouterr().out
    assert "[drawing]" in out
    assert "[[drawing]]" not in out
    assert re.search(r"^  layers +needed", out, re.MULTILINE)
