"""Seals, joints and fixings that are thin in a drawing of the whole are drawn enlarged."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path as FilePath

import numpy as np
import pytest

from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.drawing.fine_part import fine_part, pieces_within
from bridge2d.drawing.frame import frame
from bridge2d.drawing.labels import longest_face_middle
from bridge2d.drawing.material_marks import NUMBER
from bridge2d.drawing.scene import Placed, Scene, Text, all_texts, runs
from bridge2d.drawing.section_drawing import PART_DASH, dimensioned_section, enlarged_section
from bridge2d.drawing.section_geometry import Box, SectionGeometry, section_geometry
from bridge2d.drawing.shown_materials import material_numbers
from bridge2d.report.layout import A4, LETTER, Heading, NewPage
from bridge2d.report.section_pictures import SECTIONS, drawings
from bridge2d.results import DetailResult, SectionResult
from tests.surfaces.test_drawing import clashes, paths, spoken

FINE = [
    ("fixing", "axis", "stainless steel"),
    ("hatch_a", "half section", "epdm"),
    ("hatch_b", "half section", "epdm"),
    ("window_frame", "jamb", "epdm"),
    ("window_frame", "head", "epdm"),
    ("window_frame", "sill", "epdm"),
]


@cache
def computed(name: str) -> DetailResult:
    return calculate(load(FilePath(f"details/tollhouse_{name}.toml")).detail, tolerance=0.05)


def section_of(name: str, section: str) -> SectionResult:
    return next(one for one in computed(name).sections if one.section.name == section)


def scale_of(scene: Scene) -> float:
    (found,) = re.findall(r"scale 1:([\d.]+)", " ".join(spoken(scene.items)))
    return float(found)


def part_of(result: SectionResult) -> tuple[SectionGeometry, Box]:
    geometry = section_geometry(result)
    part = fine_part(geometry, 140.0 if result.section.large else 55.0)
    assert part is not None
    return geometry, part


@pytest.mark.parametrize(("name", "section", "material"), [one for one in FINE if one[0] != "fixing"])
def test_the_part_holds_fine_pieces_whole(name: str, section: str, material: str):
    geometry, part = part_of(section_of(name, section))
    rings = [ring for piece in geometry.pieces if piece.material.name == material for ring in piece.rings]
    whole = [ring for ring in rings if (ring > part[:2]).all() and (ring < part[2:]).all()]
    assert whole
    assert len(whole) == len(rings) or name == "hatch_b"  # its outer seal is 190 mm away


def test_a_long_part_is_shortened_to_where_most_corners_are():
    """The anchor's head with its plate, 60 mm wide and 3 mm thick, at 1:2; the shank ends 85 mm below."""
    geometry, part = part_of(section_of("fixing", "axis"))
    plate = next(ring for piece in geometry.pieces if piece.material.name == "polyamide" for ring in piece.rings)
    assert part[3] > plate[:, 1].max()
    assert (part[0], part[2]) < (plate[:, 0].min(), plate[:, 0].max() + 1.0)
    shank = next(ring for piece in geometry.pieces if piece.material.name == "stainless steel" for ring in piece.rings)
    assert shank[:, 1].min() < part[1] < shank[:, 1].max()


@pytest.mark.parametrize("name", ["joist", "party_wall", "framed_wall", "roof_edge", "duct"])
def test_what_the_whole_shows_well_is_not_enlarged(name: str):
    assert [fine_part(section_geometry(section), 55.0) for section in computed(name).sections] == [None] * len(
        computed(name).sections
    )


@pytest.mark.parametrize(("name", "section", "material"), FINE)
@pytest.mark.parametrize("height", [62.0, 90.0])
def test_the_enlarged_part_is_larger_and_legible(name: str, section: str, material: str, height: float):
    result = section_of(name, section)
    numbers = material_numbers(computed(name).detail.sections)
    width = 168.0 if result.section.large else 78.0
    geometry, part = part_of(result)
    scene = enlarged_section(result, width, height, numbers, geometry, part)
    whole = dimensioned_section(result, 168.0, 118.0, numbers, geometry)
    assert scale_of(scene) <= 0.4 * scale_of(whole)
    assert clashes(scene) == []
    for text in all_texts(scene.items):
        assert text.corners().min() > -0.6
        assert text.corners()[:, 0].max() < width + 0.6
        assert text.corners()[:, 1].max() < scene.height + 0.6
    within = {str(numbers[piece.material]) for piece in pieces_within(geometry, part)}
    assert str(next(numbers[p.material] for p in geometry.pieces if p.material.name == material)) in within
    circled = numbered(scene)
    assert circled <= within
    assert len(circled) >= len(within) - 1  # a sliver at the frame may have no room for its number


def test_what_is_numbered_in_the_enlarged_part_has_no_number_in_the_whole():
    result, numbers = section_of("window_frame", "jamb"), material_numbers(computed("window_frame").detail.sections)
    geometry, part = part_of(result)
    seal = str(next(numbers[p.material] for p in geometry.pieces if p.material.name == "epdm"))
    assert seal in numbered(enlarged_section(result, 78.0, 62.0, numbers, geometry, part))
    assert seal not in numbered(dimensioned_section(result, 168.0, 118.0, numbers, geometry, part=part))
    assert seal in numbered(dimensioned_section(result, 168.0, 118.0, numbers, geometry))


def test_a_surface_beyond_the_window_draws_no_leader_along_its_edge():
    """Hatch A: the outside has one surface in the part, the lid's edge on the right."""
    geometry, part = part_of(section_of("hatch_a", "half section"))
    cut_out = geometry._replace(window=part, box=part)
    placed = frame(cut_out, 160.0, 90.0)
    outside = [face for face in geometry.faces if face.surface.environment == "outside"]
    at = longest_face_middle(placed, outside)
    x = (at[0] - placed.left) * placed.scale / 1000.0 + part[0]
    assert any(abs(x - edge) < 1e-6 for face in outside for line in face.lines for edge in line[:, 0])


def numbered(scene: Scene) -> set[str]:
    """The numbers in circles, without those of the legend."""
    drawing = next(item.scene for item in scene.items if isinstance(item, Placed))
    return {word for text in all_texts(drawing.items) if (word := number_of(text))}


def number_of(text: Text) -> str:
    return text.runs[0].text if text.size == NUMBER and text.runs[0].style == "bold" else ""


def test_the_drawing_frames_what_is_enlarged():
    result = section_of("fixing", "axis")
    geometry, part = part_of(result)
    scene = dimensioned_section(result, geometry=geometry, part=part)
    (frame,) = [path for path in paths(scene.items) if path.dash == PART_DASH]
    size = np.ptp(frame.lines[0], axis=0) * scale_of(scene) / 1000.0
    assert size == pytest.approx((part[2] - part[0], part[3] - part[1]), abs=1e-6)  # exact: paper times scale
    assert not [path for path in paths(dimensioned_section(result).items) if path.dash == PART_DASH]


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("name", ["fixing", "hatch_a", "hatch_b", "window_frame"])
def test_pictures_with_an_enlarged_part_fit_their_pages(name: str, paper):
    result = computed(name)
    blocks = drawings(result.sections, material_numbers(result.detail.sections), paper=paper)
    pages: list[list] = [[]]
    for block in blocks:
        if isinstance(block, NewPage):
            pages.append([])
        else:
            pages[-1].append(block)
    title = Heading(runs(SECTIONS), "1").height
    assert max(sum(block.height for block in page) for page in pages) <= paper.room
    assert title + sum(block.height for block in pages[0]) <= paper.room


def test_the_captions_lead_from_the_frame_to_the_enlarged_part():
    result = computed("window_frame")
    blocks = drawings(result.sections, material_numbers(result.detail.sections))
    words = " ".join(" ".join(spoken(block.items(0.0, 0.0))) for block in blocks)
    for figure in (1, 3, 5):
        assert f"dashed frame: figure {figure}a" in words
        assert f"The part framed in figure {figure}, enlarged" in words
    assert "figure 7a" not in words  # the window alone is drawn at half its size
