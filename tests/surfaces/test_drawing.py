"""Contours against exact areas and lines; drawings against what a reader would trip over."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path as FilePath

import numpy as np
import pytest

from bridge2d.calculate import calculate
from bridge2d.detail import Dimension, Environment, Requirement, Section
from bridge2d.detail_file import load
from bridge2d.drawing import isotherms, material_marks, section_drawing, section_svg
from bridge2d.drawing.automatic_dimensions import drawn_dimensions
from bridge2d.drawing.colours import ACCENT, HEAT_LINE, luminance, temperature_colour
from bridge2d.drawing.contour import LinearField, isolines, linear_field, rings_above
from bridge2d.drawing.critical import critical_line
from bridge2d.drawing.dimensions import length_text, side_chains, spread_out
from bridge2d.drawing.fonts import MISSING, advances, pieces, text_width
from bridge2d.drawing.frame import Frame, frame
from bridge2d.drawing.hatches import DRAWN, SPACINGS, TINTS, hatch_kind, hatched, spacings
from bridge2d.drawing.isotherms import isotherm_picture, seen_range
from bridge2d.drawing.labels import air_masks
from bridge2d.drawing.lines import Line, enclosed_area, thinned
from bridge2d.drawing.marks import is_uniform
from bridge2d.drawing.scene import Clip, Item, Path, Placed, Scene, Text, all_texts, rectangle_ring
from bridge2d.drawing.section_drawing import dimensioned_section
from bridge2d.drawing.section_geometry import section_geometry
from bridge2d.drawing.sheet import CELL, Sheet
from bridge2d.drawing.shown_materials import material_numbers
from bridge2d.materials import HATCHES, Material
from bridge2d.results import DetailResult, SectionResult
from tests.surfaces.conftest import REAL_DETAILS

# -- contours ------------------------------------------------------------------------------------------------------


def unit_square(cells: int) -> tuple[np.ndarray, np.ndarray]:
    wide = np.linspace(0.0, 1.0, 2 * cells + 1)
    points = np.array([[a, b] for b in wide for a in wide])
    n = len(wide)
    corner = (2 * np.arange(cells)[:, None] * n + 2 * np.arange(cells)[None, :]).ravel()[:, None]
    both = [np.array([0, 2, 2 + 2 * n, 1, 2 + n, 1 + n]), np.array([0, 2 + 2 * n, 2 * n, 1 + n, 1 + 2 * n, n])]
    return points, np.stack([corner + one for one in both], axis=1).reshape(-1, 6)


def bands(field: LinearField, levels: Sequence[float]) -> list[list[Line]]:
    """Rings of the bands below, between and above given values, holes clockwise; they cover the section once."""
    above = rings_above(field, [-np.inf, *levels])
    return [lower + [ring[::-1] for ring in upper] for lower, upper in zip(above, [*above[1:], []], strict=True)]


@pytest.mark.parametrize("levels", [[0.1, 0.35, 0.9], [0.123, 0.5, 0.87]])
def test_bands_of_a_linear_field_are_exact(levels):
    points, triangles = unit_square(10)
    field = linear_field(points, triangles, points[:, 0])
    areas = [enclosed_area(rings) for rings in bands(field, levels)]
    assert areas == pytest.approx(np.diff([0.0, *levels, 1.0]).tolist(), abs=1e-12)  # exact


def test_isoline_of_a_linear_field_is_one_straight_line():
    points, triangles = unit_square(7)
    field = linear_field(points, triangles, points[:, 0] + 2.0 * points[:, 1])
    ((line, closed),) = isolines(field, [1.234])[0]
    assert not closed
    assert line @ [1.0, 2.0] == pytest.approx(1.234, abs=1e-12)  # exact
    assert float(np.hypot(*np.diff(line, axis=0).T).sum()) == pytest.approx(math.hypot(1.0, 0.5), abs=1e-12)  # exact


@pytest.mark.parametrize("divisions", [1, 2, 3])
def test_bands_of_a_quadratic_field_converge_to_rings(divisions):
    points, triangles = unit_square(8)
    field = linear_field(points, triangles, ((points - 0.5) ** 2).sum(axis=1), divisions)
    inner, ring, *_ = (enclosed_area(rings) for rings in bands(field, [0.01, 0.1]))
    tolerance = 0.2 / 4 ** (divisions - 1)  # halved sides leave a quarter of the linear pieces' error, h²/2 of r²
    assert inner == pytest.approx(0.01 * math.pi, rel=tolerance)  # exact: circles of radius 0.1 and √0.1
    assert ring == pytest.approx(0.09 * math.pi, rel=tolerance)


def test_dividing_keeps_a_quadratic_field():
    points, triangles = unit_square(2)
    values = points[:, 0] ** 2 - points[:, 0] * points[:, 1] + 3.0 * points[:, 1]
    fine = linear_field(points, triangles, values, 3)
    x, y = fine.points.T
    assert fine.values == pytest.approx(x**2 - x * y + 3.0 * y, abs=1e-12)  # exact
    assert len(fine.triangles) == 4**3 * len(triangles)


def test_bands_of_a_saddle_cover_the_square_once():
    points, triangles = unit_square(9)
    field = linear_field(points, triangles, np.sin(9.0 * points[:, 0]) * np.cos(7.0 * points[:, 1]))
    areas = [enclosed_area(rings) for rings in bands(field, np.linspace(-0.9, 0.9, 13).tolist())]
    assert min(areas) > 0.0
    assert sum(areas) == pytest.approx(1.0, abs=1e-12)  # exact


def test_high_values_lie_to_the_left_of_their_line():
    points, triangles = unit_square(6)
    field = linear_field(points, triangles, -((points - 0.5) ** 2).sum(axis=1))
    ((line, closed),) = isolines(field, [-0.04])[0]
    assert closed
    assert enclosed_area([line]) > 0.0


def test_a_many_valued_field_breaks_at_its_cut_only():
    points, triangles = unit_square(8)
    around = np.arctan2(points[:, 1] - 0.51, points[:, 0] - 0.51)
    middle = points[triangles[:, :3]].mean(axis=1)
    triangles = triangles[np.hypot(*(middle - 0.51).T) > 0.2]  # a hole about the middle, where it has no value
    at = around[triangles]
    jumps = np.ptp(at, axis=1) > math.pi
    at[jumps] = np.where(at[jumps] < 0.0, at[jumps] + 2.0 * math.pi, at[jumps])
    field = linear_field(points, triangles, at, 1)
    assert len(np.unique(triangles)) < len(field.points) < 1.1 * len(np.unique(triangles))
    lines = isolines(field, [-1.0, 1.0])
    assert [len(found) for found in lines] == [1, 1]


def test_no_levels_and_levels_out_of_reach_give_nothing():
    points, triangles = unit_square(2)
    field = linear_field(points, triangles, points[:, 0])
    assert isolines(field, []) == []
    assert isolines(field, [5.0]) == [[]]
    assert rings_above(field, [5.0]) == [[]]
    assert enclosed_area(rings_above(field, [-math.inf])[0]) == pytest.approx(1.0)  # exact


def test_thinning_keeps_corners_and_area():
    square = np.array([[x, 0.0] for x in np.linspace(0, 1, 50)] + [[1.0, 1.0], [0.0, 1.0]])
    for begun_at in (0, 7):  # a corner, and a point on a side
        (kept,) = thinned([np.roll(square, -begun_at, axis=0)], closed=True)
        assert sorted(map(tuple, kept.tolist())) == [(0, 0), (0, 1), (1, 0), (1, 1)]
        assert enclosed_area([kept]) == pytest.approx(1.0)  # exact
    assert len(thinned([square], closed=True, spacing=0.3)[0]) == 4


# -- geometry of a section -----------------------------------------------------------------------------------------


def test_pieces_cover_the_section(joist: SectionResult):
    geometry = section_geometry(joist)
    areas = {piece.material.name: enclosed_area(piece.rings) for piece in geometry.pieces}
    assert areas["softwood"] == pytest.approx(0.08 * 1.185)  # exact
    assert areas["lime plaster"] == pytest.approx(2 * 0.26 * 0.015)  # exact
    assert sum(areas.values()) == pytest.approx(enclosed_area(geometry.outline))


def test_a_mirrored_section_is_symmetric(joist: SectionResult):
    geometry = section_geometry(joist)
    assert geometry.box == pytest.approx((-0.3, 0.0, 0.3, 1.405))
    for rings in [piece.rings for piece in geometry.pieces]:
        corners = {(round(x, 9), round(y, 9)) for ring in rings for x, y in ring.tolist()}
        assert corners == {(round(-x, 9) + 0.0, y) for x, y in corners}
    picture = isotherm_picture(joist)
    lines = [p for p in paths(picture.scene.items) if p.stroke == "#3b2a22"]
    ends = np.concatenate([line[[0, -1]] for path in lines for line in path.lines])
    middle = 0.5 * (ends[:, 0].min() + ends[:, 0].max())
    reflected = np.stack([2.0 * middle - ends[:, 0], ends[:, 1]], axis=1)
    apart = np.hypot(*(ends[:, None, :] - reflected[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    assert len(ends) > 8
    assert apart.max() < 0.05  # mm on paper


def test_the_window_leaves_out_long_uniform_parts(joist: SectionResult):
    geometry = section_geometry(joist)
    assert geometry.cropped
    assert geometry.window[3] < 0.8  # the joist goes on to 1.405 m
    assert geometry.window[1] == 0.0


def test_a_plane_wall_is_drawn_too(wall: SectionResult):
    scene = dimensioned_section(wall)
    assert scene.height > 20.0
    assert isotherm_picture(wall).step == 2.0  # 25 K


def test_isotherms_of_a_plane_wall_stand_where_they_should(wall: SectionResult):
    geometry = section_geometry(wall)
    field = linear_field(geometry.points, geometry.triangles, wall.fields.temperature[geometry.nodes])
    ((line, _),) = isolines(field, [0.0])[0]
    total = 0.04 + 0.13 + 0.33 / 0.77 + 0.06 / 0.04 + 0.015 / 0.8
    beyond_brick = total * 5.0 / 25.0 - 0.04 - 0.33 / 0.77  # resistance after the brick [m²·K/W], here below 0
    expected = 0.33 + beyond_brick * (0.77 if beyond_brick < 0 else 0.04)
    assert line[:, 0] == pytest.approx(expected, abs=1e-9)  # exact


def test_the_step_of_heat_is_round_and_gives_enough_lines(wall: SectionResult):
    picture = isotherm_picture(wall)
    flow = float(np.ptp(wall.fields.stream))
    assert 8 <= flow / picture.heat_step <= 17
    assert picture.heat_step / 10 ** math.floor(math.log10(picture.heat_step)) == pytest.approx(
        round(picture.heat_step / 10 ** math.floor(math.log10(picture.heat_step)))
    )


# -- what a reader would trip over ---------------------------------------------------------------------------------


def paths(items: Sequence[Item]) -> Iterator[Path]:
    for item in items:
        if isinstance(item, Path):
            yield item
        elif isinstance(item, Clip):
            yield from paths(item.items)
        elif isinstance(item, Placed):
            yield from paths(item.scene.items)


def overlap(a: Text, b: Text) -> bool:
    """Whether two text boxes overlap by more than a hair (separating axes)."""
    one, other = a.corners(), b.corners()
    for box in (one, other):
        for axis in (box[1] - box[0], box[3] - box[0]):
            p, q = one @ axis / np.hypot(*axis), other @ axis / np.hypot(*axis)
            if p.max() <= q.min() + 0.15 or q.max() <= p.min() + 0.15:
                return False
    return True


def clashes(scene: Scene) -> list[tuple[str, str]]:
    texts = list(all_texts(scene.items))
    low = np.array([text.corners().min(axis=0) for text in texts])
    high = np.array([text.corners().max(axis=0) for text in texts])
    near = ((low[:, None] < high[None, :]) & (low[None, :] < high[:, None])).all(axis=2)
    return [
        ("".join(r.text for r in texts[a].runs), "".join(r.text for r in texts[b].runs))
        for a, b in np.argwhere(np.triu(near, 1)).tolist()
        if overlap(texts[a], texts[b])
    ]


def test_the_overlap_check_can_fail():
    one = Text(0.0, 0.0, pieces_of("wide text"))
    assert overlap(one, Text(1.0, 0.5, pieces_of("other")))
    assert not overlap(one, Text(0.0, 5.0, pieces_of("other")))


def pieces_of(words: str):
    from bridge2d.drawing.scene import runs

    return runs(words)


@pytest.mark.parametrize("height", [90.0, 118.0, 200.0])
@pytest.mark.parametrize("width", [110.0, 168.0])
def test_no_text_overlaps_another(joist: SectionResult, wall: SectionResult, width: float, height: float):
    for section in (joist, wall):
        assert clashes(dimensioned_section(section, width, height)) == []
        assert clashes(isotherm_picture(section, width, height).scene) == []


def test_every_text_stays_on_the_paper(joist: SectionResult, wall: SectionResult):
    for section in (joist, wall):
        for scene in (dimensioned_section(section), isotherm_picture(section).scene):
            for text in all_texts(scene.items):
                corners = text.corners()
                assert corners.min() > -0.6
                assert corners[:, 0].max() < scene.width + 0.6
                assert corners[:, 1].max() < scene.height + 0.6


def test_narrow_dimensions_move_out_and_keep_apart():
    measured = np.cumsum([0.0, 0.003, 0.012, 0.33, 0.002, 0.0125, 0.06, 0.004])
    dimensions = [
        Dimension((a, 0.0), (b, 0.0), f"d_{k}", "top") for k, (a, b) in enumerate(pairwise(measured.tolist()))
    ]
    chains = side_chains(dimensions, "top", lambda metres: metres * 100.0, (0.0, float(measured[-1]) * 100.0))
    (row,) = chains.rows
    assert len(row.texts) == 7
    spans: dict[int, list[tuple[float, float]]] = {}
    for text in row.texts:
        half = 0.5 * sum(text_width(r.text, r.style, 6.8 * (0.72 if r.subscript else 1.0)) for r in text.segment.words)
        spans.setdefault(text.level, []).append((text.at - half, text.at + half))
    for level in spans.values():
        level.sort()
        assert all(b[0] >= a[1] for a, b in pairwise(level))


def test_dimensions_say_symbol_and_millimetres(joist: SectionResult):
    words = {"".join(r.text for r in text.runs) for text in all_texts(dimensioned_section(joist).items)}
    assert {"d1 330", "d2 60", "d3 15", "b 80", "s 600", "a 110"} <= words


def test_the_drawing_names_air_materials_and_airtight_layer(joist: SectionResult):
    words = " | ".join("".join(r.text for r in text.runs) for text in all_texts(dimensioned_section(joist).items))
    for expected in ("outside", "−5.0 °C", "Rse 0.040", "inside", "20.0 °C", "Rsi 0.130", "airtight layer", "15.9"):
        assert expected in words
    for expected in ("old brick", "wood fibre", "lime plaster", "softwood", "scale 1:", "section continues"):
        assert expected in words


def test_outside_is_named_outside(joist: SectionResult):
    geometry = section_geometry(joist)
    placed = frame(geometry, 110.0, 112.0, drawn_dimensions(geometry), usual_scale=True)
    scene = dimensioned_section(joist, 168.0, 118.0)
    at = {r.text: text for text in all_texts(scene.items) for r in text.runs if r.text in ("outside", "inside")}
    assert at["outside"].y < at["inside"].y
    assert placed.scale == 10


def test_material_numbers_follow_the_detail(result: DetailResult):
    numbers = material_numbers(result.detail.sections)
    assert sorted(numbers.values()) == list(range(1, len(numbers) + 1))
    assert len(numbers) == 4


@pytest.mark.parametrize("height", [80.0, 118.0, 200.0])
def test_every_material_has_its_number_in_drawing_and_legend(joist: SectionResult, wall: SectionResult, height: float):
    for section in (joist, wall):
        scene = dimensioned_section(section, 168.0, height)
        bold = [r.text for text in all_texts(scene.items) for r in text.runs if r.style == "bold" and r.text.isdigit()]
        materials = {region.material for region in section.section.regions}
        assert sorted(set(bold)) == [str(k + 1) for k in range(len(materials))]
        assert all(bold.count(number) >= 2 for number in bold)


def test_grain_decides_the_timber_hatch():
    timber = Material("oak", 0.18, 0.32, hatch="timber")
    assert hatch_kind(timber, None) == "timber_end"
    assert hatch_kind(timber, 90.0) == "timber_along"


def test_every_hatch_of_the_catalogue_is_drawn():
    for hatch in HATCHES:
        kind = hatch_kind(Material("x", 1.0, hatch=hatch), None)
        assert kind in TINTS
        assert hatched(kind, [rectangle_ring(0.0, 0.0, 40.0, 30.0)])
        assert hatch in DRAWN or hatch == "plain"


def test_hatches_tell_materials_apart_without_colour():
    ring = [rectangle_ring(0.0, 0.0, 40.0, 30.0)]
    drawn = {kind: hatched(kind, ring, 0.0) for kind in TINTS if kind not in ("plain", "air", "membrane")}
    shapes = {
        kind: tuple(np.round(points, 3).tobytes() for path in paths(items) if path.stroke for points in path.lines)
        for kind, items in drawn.items()
    }
    assert all(shapes.values())
    assert len(set(shapes.values())) == len(shapes)


def test_materials_of_one_hatch_are_told_apart_by_its_spacing():
    kinds = ("insulation_rigid", "insulation_soft", "timber", "concrete", "brick")
    materials = [Material(f"{kind} {k}", 0.1, hatch=kind) for k in range(len(SPACINGS)) for kind in kinds]
    found = spacings(materials)
    square = rectangle_ring(0.0, 0.0, 30.0, 12.0)
    for kind in kinds:
        drawn = set()
        for material in (one for one in materials if one.hatch == kind):
            _, clip = hatched(hatch_kind(material, 0.0), [square], 0.0, spacing=found[material])
            assert isinstance(clip, Clip)
            drawn.add(tuple(len(path.lines) for path in clip.items if isinstance(path, Path)) + _start(clip))
        assert len(drawn) == len(SPACINGS), kind


def _start(clip: Clip) -> tuple[float, ...]:
    """The first points of a hatch's first line."""
    path = clip.items[0]
    assert isinstance(path, Path)
    return tuple(np.asarray(path.lines[0])[:40].round(3).ravel().tolist())


def test_the_temperature_scale_rises_in_lightness():
    light = [luminance(temperature_colour(share)) for share in np.linspace(0.0, 1.0, 41)]
    assert np.all(np.diff(light) > 0.0)
    assert light[0] < 0.16
    assert light[-1] > 0.8


# -- fonts and SVG -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "signs", ["ąćęłńóśźż", "äöüßẞ", "Γωνία τοίχου ΨχθλμΦ", "Дом", "≤≥±−·²³∂∫Σ√≈→°", "▼▲●○□✓✗", "₀₁₂⁻¹"]
)
def test_the_fonts_have_the_signs(signs: str):
    assert MISSING not in "".join(part for _, part in pieces(signs.replace("□", ""), "regular"))


def test_a_missing_sign_is_a_visible_box():
    assert pieces("a\N{CJK UNIFIED IDEOGRAPH-4E2D}b\x07", "bold") == (
        ("bold", "a"),
        ("signs", MISSING),
        ("bold", "b"),
        ("signs", MISSING),
    )


def test_widths_are_those_of_the_font_files():
    font_tools = pytest.importorskip("fontTools.ttLib")
    from bridge2d.drawing.fonts import FILES, FOLDER

    for style, name in FILES.items():
        font = font_tools.TTFont(FOLDER / f"{name}.ttf")
        expected = {
            chr(code): font["hmtx"][glyph][0] / font["head"].unitsPerEm for code, glyph in font.getBestCmap().items()
        }
        assert advances(style) == pytest.approx(expected)


@pytest.mark.parametrize("kind", ["isotherms", "dimensions"])
def test_svg_is_well_formed_and_made_of_vectors(joist: SectionResult, kind: str):
    text = section_svg(joist, kind)
    root = ET.fromstring(text)
    assert root.tag.endswith("svg")
    assert "<image" not in text
    assert "nan" not in text
    assert text == section_svg(joist, kind)


def test_an_unknown_picture_is_refused(joist: SectionResult):
    with pytest.raises(ValueError, match="isotherms"):
        section_svg(joist, "photograph")


def test_a_section_without_dimensions_is_drawn(wall: SectionResult):
    bare = {name: getattr(wall.section, name) for name in Section.__slots__} | {"dimensions": ()}
    from dataclasses import replace

    assert dimensioned_section(replace(wall, section=Section(**bare))).height > 20.0


# -- real sections -------------------------------------------------------------------------------------------------


def spoken(items: Sequence[Item]) -> list[str]:
    return ["".join(r.text for r in text.runs) for text in all_texts(items)]


Pictured = tuple[SectionResult, Frame, list[Text], Scene]


def pictured(picture: str, section: SectionResult) -> Pictured:
    """The section on paper as the picture has it, and the texts of the drawing itself, without foot and legend."""
    found: list[Frame] = []
    module = isotherms if picture == "isotherms" else section_drawing
    original = module._labelled

    def kept(*given: object) -> object:
        answer = original(*given)
        found.append(answer[0])
        return answer

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "_labelled", kept)
        scene = isotherm_picture(section).scene if picture == "isotherms" else dimensioned_section(section)
    drawing = next(i for i in scene.items if isinstance(i, Placed) and i.scene.width == found[0].width)
    return section, found[0], list(all_texts(drawing.scene.items)), scene


@pytest.fixture(scope="session")
def pictures(real) -> Callable[[str, str], list[Pictured]]:
    """The pictures of a real detail's sections, drawn once."""

    @cache
    def drawn(name: str, picture: str) -> list[Pictured]:
        return [pictured(picture, section) for section in real(name).sections]

    return drawn


@pytest.mark.parametrize("name", REAL_DETAILS)
def test_real_sections_are_labelled_without_a_clash(pictures, name: str):
    for section, placed, texts, scene in [*pictures(name, "isotherms"), *pictures(name, "dimensions")]:
        assert clashes(scene) == [], section.section.name
        for environment in section.section.environments:
            assert any(w.startswith(f"{environment.name}  ") for w in words_in(texts)), environment.name
        sheet = Sheet(placed.width, placed.height)
        solid = sheet.within([placed.paper(ring) for ring in placed.geometry.outline])
        for text in texts:
            if any(r.text == "si,min" for r in text.runs):
                assert "▼" not in "".join(r.text for r in text.runs)
                assert not (solid & covered(sheet, text)).any(), (section.section.name, text.runs)
        assert sum("θsi,min" in words for words in spoken(scene.items)) == len(section.f_rsi)


def words_in(texts: Sequence[Text]) -> list[str]:
    return ["".join(r.text for r in text.runs) for text in texts]


def covered(sheet: Sheet, text: Text) -> np.ndarray:
    """Cells of which the middle lies in a text's box."""
    (x0, y0), (x1, y1) = text.corners().min(axis=0), text.corners().max(axis=0)
    rows, columns = np.indices(sheet.taken.shape)
    x, y = (columns + 0.5) * CELL, (rows + 0.5) * CELL
    return (x > x0) & (x < x1) & (y > y0) & (y < y1)


@pytest.mark.parametrize("name", REAL_DETAILS)
def test_every_probe_and_airtight_piece_is_named(pictures, name: str):
    for section, _, _, scene in pictures(name, "isotherms"):
        words = " | ".join(spoken(scene.items))
        for probe in section.probes:
            assert f"{probe.name} ≈" in words or f"{probe.name} |" in words, probe.name
        for probe in section.watched:
            assert f"{probe.name}, lowest" in words, probe.name
    for section, placed, texts, scene in pictures(name, "dimensions"):
        words = " | ".join(spoken(scene.items))
        drawn = {piece.name for piece in section.section.airtight if not piece.through}
        assert all(piece in words for piece in drawn)
        assert ("airtight layer" in words) == bool(drawn)
        coldest = min(section.section.environments, key=lambda e: e.temperature).name
        sheet = Sheet(placed.width, placed.height)
        outdoors = air_masks(placed, sheet)[coldest]
        for text, said in zip(texts, words_in(texts), strict=True):
            if text.colour == ACCENT and (said in drawn or said.startswith("airtight layer")):
                assert not (outdoors & covered(sheet, text)).any(), said


def test_heat_flow_lines_span_a_plane_wall(pictures):
    ((_, placed, _, scene),) = pictures("plane_wall", "isotherms")
    heat = [line for path in paths(scene.items) if path.stroke == HEAT_LINE for line in path.lines]
    heights = sorted(float(line[:, 1].mean()) for line in heat)
    _, y0, _, y1 = placed.window
    gaps = np.diff([y0, *heights, y1])
    assert len(heights) >= 8
    assert gaps[1:-1] == pytest.approx(np.full(len(gaps) - 2, gaps[1]), rel=1e-3)  # equal heat, exact
    assert max(gaps[0], gaps[-1]) <= 1.01 * gaps[1]


def test_the_range_along_the_windows_edge_is_exact():
    points, triangles = unit_square(3)
    field = linear_field(points, triangles, 2.0 * points[:, 0] - points[:, 1], 1)
    window = (0.41, 0.17, 0.55, 0.62)  # no node on its edges
    assert seen_range(field, window) == pytest.approx((2 * 0.41 - 0.62, 2 * 0.55 - 0.17), abs=1e-12)  # exact


def test_a_plane_wall_has_no_coldest_point(real):
    (section,) = real("plane_wall").sections
    assert is_uniform(section, section.f_rsi[0])
    words = " ".join(spoken(dimensioned_section(section).items))
    assert "the same along the whole surface" in words


def test_a_corner_has_a_coldest_point(real):
    (section,) = real("corner").sections
    assert not is_uniform(section, section.f_rsi[0])
    assert "the same along" not in " ".join(spoken(dimensioned_section(section).items))


def test_a_coldest_point_outside_the_window_is_told(joist: SectionResult):
    from dataclasses import replace

    far = replace(joist, f_rsi=(replace(joist.f_rsi[0], point=(0.04, 1.3)),))
    for scene in (dimensioned_section(far), isotherm_picture(far).scene):
        (note,) = [words for words in spoken(scene.items) if "coldest point" in words]
        assert "coldest point outside the part drawn, at 40 mm, 1300 mm" in note


def test_a_free_section_gets_dimensions(real):
    (section,) = real("corner").sections
    words = spoken(dimensioned_section(section).items)
    assert words.count("330") == 2
    assert words.count("80") == 2
    assert words.count("1600") == 2
    dimensions = drawn_dimensions(section_geometry(section))
    assert all(d.symbol == "" for d in dimensions)


def test_a_free_section_without_flanking_elements_gets_its_coordinates(real):
    (section,) = real("with_hole").sections
    dimensions = drawn_dimensions(section_geometry(section))
    lengths = [round(1000 * (d.end[0] - d.start[0])) for d in dimensions if d.side == "bottom" and d.row == 0]
    assert lengths == [20, 160, 20]  # exact: 400 to 420, 580, 600 mm; the ends lie beyond the window
    assert [round(1000 * (d.end[1] - d.start[1])) for d in dimensions if d.side == "left" and d.row == 1] == [400]


@pytest.mark.parametrize(("metres", "shown"), [(0.22225, "222.25"), (0.0125, "12.5"), (0.33, "330"), (-0.001, "−1")])
def test_dimensions_lose_nothing(metres: float, shown: str):
    assert length_text(metres) == shown


def test_texts_of_narrow_segments_keep_their_order():
    measured = np.cumsum([0.0, 0.38, 0.1, 0.025, 0.0125])
    dimensions = [
        Dimension((a, 0.0), (b, 0.0), f"d_{k}", "top") for k, (a, b) in enumerate(pairwise(measured.tolist()), 4)
    ]
    for scale in (50.0, 100.0, 200.0, 400.0):
        (row,) = side_chains(dimensions, "top", lambda m, s=scale: m * s, (0.0, float(measured[-1]) * scale)).rows
        for level in {text.level for text in row.texts}:
            mine = sorted((text for text in row.texts if text.level == level), key=lambda text: text.at)
            assert [text.segment.low for text in mine] == sorted(text.segment.low for text in mine)
        out = [text for text in row.texts if text.level or not text.segment.low <= text.at <= text.segment.high]
        assert [t.segment.low for t in sorted(out, key=lambda t: t.at)] == sorted(t.segment.low for t in out)


def test_spread_out_texts_stand_side_by_side():
    places = spread_out([10.0, 11.0, 12.0, 40.0], [6.0, 6.0, 6.0, 6.0], (0.0, 60.0))
    assert places == pytest.approx([5.0, 11.0, 17.0, 40.0])  # exact: the three move as little as they can
    assert spread_out([1.0, 2.0], [6.0, 6.0], (0.0, 60.0)) == pytest.approx([3.0, 9.0])  # exact: pushed by the end


ROOM, OUTDOORS = Environment("room", 20.0), Environment("outside", -5.0)


def test_the_heavy_line_is_the_onset_of_mould():
    line = critical_line((OUTDOORS, ROOM))
    assert line is not None
    assert line.temperature == pytest.approx(12.62, abs=0.01)  # ISO 13788: 20 °C and 50 % (tests/standards)
    assert "air of 20 °C and 50 % relative humidity" in "".join(r.text for r in line.words)


def test_the_heavy_line_follows_the_rooms_air():
    damp, cool = critical_line((OUTDOORS, Environment("bath", 24.0, 0.65))), critical_line((OUTDOORS, ROOM))
    assert damp is not None
    assert cool is not None
    assert damp.temperature > cool.temperature + 5.0
    assert "24 °C and 65 %" in "".join(r.text for r in damp.words)


def test_the_heavy_line_is_the_limit_where_there_is_one():
    limits = (Requirement("f_rsi", 0.7, "minimum", "", ""), Requirement("psi", 0.1, "maximum", "", ""))
    line = critical_line((OUTDOORS, ROOM), limits)
    assert line is not None
    assert line.temperature == pytest.approx(12.5)  # exact: −5 + 0.7 × 25
    assert "the limit fRsi ≥ 0.700 between −5.0 °C and 20 °C" in "".join(r.text for r in line.words)


def test_no_heavy_line_where_no_surface_is_that_cold(real):
    (section,) = real("plane_wall").sections
    assert isotherm_picture(section).critical is not None
    limit = (Requirement("f_rsi", 0.999, "minimum", "", ""),)
    picture = isotherm_picture(section, requirements=limit)
    assert picture.critical is None
    assert not any(path.width == 0.65 for path in paths(picture.scene.items))


@pytest.mark.parametrize(
    ("conductivity", "kind"),
    [(50.0, "as_metal"), (10.0, "as_metal"), (0.77, "as_masonry"), (0.13, "as_timber"), (0.04, "as_insulation")],
)
def test_bare_conductivities_are_hatched_by_class(conductivity: float, kind: str):
    assert hatch_kind(Material("x", conductivity), None) == kind


def test_the_legend_says_that_hatches_go_by_conductivity(real, joist: SectionResult):
    (section,) = real("corner").sections
    assert "hatch by conductivity" in " ".join(spoken(dimensioned_section(section).items))
    assert "hatch by conductivity" not in " ".join(spoken(dimensioned_section(joist).items))


@pytest.mark.parametrize("kind", ["isotherms", "dimensions"])
def test_svg_tells_whose_it_is_and_has_a_margin(joist: SectionResult, result: DetailResult, kind: str):
    text = section_svg(joist, kind, detail=result.detail)
    root = ET.fromstring(text)
    said = " ".join(element.text or "" for element in root if element.tag.endswith(("title", "desc")))
    assert "Tollhouse" in said
    assert "invented" in said
    left, low, width, height = map(float, root.attrib["viewBox"].split())
    assert (left, low) == (-2.0, -2.0)
    assert width == pytest.approx(168.0 + 4.0)
    assert height > 20.0


def test_a_tight_curve_keeps_its_corner_when_points_are_thinned() -> None:
    # A square whose corners are rounded in short pieces: each of them bends by less than counts as a corner, and
    # without any of them nothing of the square would be left.
    radius, side = 0.2, 20.0
    centres = [(side - radius, radius), (side - radius, side - radius), (radius, side - radius), (radius, radius)]
    angles = [[-np.pi / 2 + k * np.pi / 2 + np.pi / 2 * j / 60 for j in range(61)] for k in range(4)]
    ring = np.array(
        [
            (x + radius * np.cos(a), y + radius * np.sin(a))
            for (x, y), turn in zip(centres, angles, strict=True)
            for a in turn
        ]
    )
    (found,) = thinned([ring], closed=True, spacing=0.12, tolerance=1e-3)
    assert len(found) < 40
    assert enclosed_area([found]) == pytest.approx(enclosed_area([ring]), rel=1e-3)


@pytest.mark.parametrize("name", ["tollhouse_joist", "tollhouse_hatch_b", "tollhouse_window", "tollhouse_framed_wall"])
def test_no_leader_crosses_a_text(name: str, monkeypatch: pytest.MonkeyPatch):
    found = calculate(load(FilePath(__file__).parents[2] / "details" / f"{name}.toml").detail, 0.05)
    drawn = material_marks._leader_and_circle
    crossed: list[int] = []

    def watched(sheet: Sheet, number: int, start: np.ndarray, chosen: tuple[float, float]):
        way = np.array(chosen) - start
        end = np.array(chosen) - way / np.hypot(*way) * (material_marks.RADIUS + 0.3)
        crossed.extend([number] if sheet.crossed(start, end[None], texts_only=True)[0] else [])
        return drawn(sheet, number, start, chosen)

    monkeypatch.setattr(material_marks, "_leader_and_circle", watched)
    for section in found.sections:
        dimensioned_section(section, 168.0, 118.0)
    assert not crossed
