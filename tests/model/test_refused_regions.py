"""What a region of a free section or of a frame cannot be is refused by its key, with what would be right."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from bridge2d.detail_file import read
from bridge2d.errors import InputError, QuantityError
from bridge2d.junctions.frame_polygons import frame_shape
from bridge2d.junctions.free_section import RegionBlock
from bridge2d.partition import partition

SQUARE = [[0, 0], [100, 0], [100, 80], [0, 80]]
WALL = """\
junction = "free_section"
title = "A wall"
[[region]]
name = "brick"
conductivity = 0.8
polygon = [[0, 0], [300, 0], [300, 400], [0, 400]]
[[environment]]
name = "outside"
temperature = 0
surface_resistance = 0.04
edge = [[0, 400], [0, 0]]
[[environment]]
name = "inside"
temperature = 20
surface_resistance = 0.13
edge = [[300, 0], [300, 400]]
"""


def block(**keys: Any) -> RegionBlock:
    return RegionBlock(**{"name": "piece", "polygon": SQUARE, **keys})


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[list[float]]:
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def wood(polygon: list[list[float]], **keys: Any) -> RegionBlock:
    return block(conductivity=0.13, polygon=polygon, **keys)


def refusal_of(call: Any) -> QuantityError:
    try:
        call()
    except ValidationError as error:
        found = error.errors()[0]["ctx"]["error"]
        assert isinstance(found, QuantityError)
        return found
    except QuantityError as found:
        return found
    raise AssertionError("not refused")


@pytest.mark.parametrize(
    ("keys", "key", "words"),
    [
        (
            {"material": "solid brick, old, 1600", "grain_direction": 30},
            "grain_direction",
            "conductivity = [along, across]",
        ),
        ({"conductivity": [0.3, 0.13]}, "conductivity", "grain_direction"),
        ({"material": "softwood", "emissivity": 0}, "emissivity", "above 0"),
        ({"material": "softwood", "emissivity": 1.2}, "emissivity", "up to 1"),
        ({"material": "softwood", "hatch": "dots"}, "hatch", "known are"),
        ({"material": "softwood", "heat_flow": "up"}, "heat_flow", "air layer"),
        ({"cavity": "unventilated", "material": "softwood"}, "material", "leave material out"),
        ({"cavity": "unventilated", "conductivity": 0.1}, "conductivity", "leave conductivity out"),
        ({"cavity": "unventilated", "heat_flow": "up"}, "heat_flow", "computed"),
        ({"cavity": "air layer"}, "cavity", 'heat_flow = "horizontal"'),
    ],
)
def test_a_region_that_contradicts_itself(keys: dict[str, Any], key: str, words: str) -> None:
    error = refusal_of(lambda: block(**keys))
    assert error.path == (key,)
    assert words in f"{error.message}; {error.right}"


def test_an_air_layer_takes_its_own_sides() -> None:
    # 25 mm of air upward: 0.16 m²·K/W (ISO 6946, table 8, remembered to two digits)
    thin = block(cavity="air layer", heat_flow="up", polygon=rectangle(0, 0, 2000, 25)).region()
    assert 0.025 / thin.material.conductivity == pytest.approx(0.16, abs=0.005)


def test_an_air_layer_that_is_a_room() -> None:
    error = refusal_of(lambda: block(cavity="air layer", heat_flow="up", polygon=rectangle(0, 0, 2000, 400)))
    assert error.message == "an air layer of 400 mm is no air layer"
    assert "up to 300 mm" in error.right


def test_a_hatch_of_its_own_is_drawn_instead_of_the_material_s() -> None:
    plain, hatched = (wood(SQUARE, **more).region().material for more in ({}, {"hatch": "brick"}))
    assert hatched.hatch == "brick" != plain.hatch
    assert hatched.conductivity == plain.conductivity


def test_two_elements_of_a_solid_of_revolution() -> None:
    elements = "".join(f'[[flanking]]\nname = "{k}"\ncut = [[300, 0], [300, 400]]\n' for k in "ab")
    with pytest.raises(InputError) as caught:
        read(WALL.replace("title", "revolution = true\ntitle") + elements, Path("wall.toml"))
    assert "has one flanking element; keep the one at the greatest radius" in str(caught.value)
    assert caught.value.line == WALL.count("\n") + 5


def test_a_cut_across_the_air_between_two_surfaces() -> None:
    outline = "[[0, 0], [300, 0], [300, 100], [100, 100], [100, 300], [300, 300], [300, 400], [0, 400]]"
    text = WALL.replace("[[0, 0], [300, 0], [300, 400], [0, 400]]", outline)
    text = text.replace("[[300, 0], [300, 400]]", "[[300, 100], [100, 100], [100, 300], [300, 300]]")
    text += '[[flanking]]\nname = "w"\ncut = [[200, 100], [200, 300]]\nlengths = { external = 1 }\n'
    with pytest.raises(InputError, match="the cut plane does not run through the section"):
        read(text, Path("wall.toml"))


def test_corners_within_a_hundredth_of_a_millimetre_are_one() -> None:
    """Two oblique strips whose common corners are 5 µm off, and which leave no gap between them for it."""
    strip = '[[region]]\nname = "{}"\nconductivity = 0.1\npolygon = {}\n'
    text = 'junction = "free_section"\n' + strip.format("lower", "[[0, 0], [1600, 800], [1520, 980], [-80, 180]]")
    upper = "[[-80, 180.005], [1520, 980], [1520.003, 980.003], [1509, 1002], [-91, 202]]"
    text += strip.format("upper", upper) + WALL[WALL.index("[[environment]]") :]
    text = text.replace("[[0, 400], [0, 0]]", "[[-91, 202], [1509, 1002]]").replace(
        "[[300, 0], [300, 400]]", "[[0, 0], [1600, 800]]"
    )
    faces = partition(read(text, Path("strip.toml")).detail.sections[0])
    assert {tuple(corner) for corner in faces.points.tolist()} == {
        (0, 0), (1600000, 800000), (1520000, 980000), (-80000, 180000), (1509000, 1002000), (-91000, 202000),
    }  # fmt: skip
    sliver = text.replace(upper, "[[-80, 180], [1520, 980], [1520.003, 980.003]]")
    with pytest.raises(InputError, match="not a plain polygon"):
        read(sliver, Path("strip.toml"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (WALL[WALL.index("[[environment]]") :], "", "no [[environment]]"),
        (WALL[WALL.index("[[region]]") : WALL.index("[[environment]]")], "", "no [[region]]"),
        ("temperature = 20", "temperature = 20\nhumidity = 1.5", "no relative humidity"),
        ('title = "A wall"', 'title = "A wall"\nrevolution = true\n', "x"),
        ("[[region]]", '[[flanking]]\nname = "w"\ncut = [[0, 0], [300, 0]]\n[[region]]', "lengths"),
        ('name = "inside"\ntemperature = 20', 'name = "outside"\ntemperature = 0', "another"),
    ],
)
def test_a_section_that_cannot_be_one(old: str, new: str, words: str) -> None:
    assert old in WALL
    text = WALL.replace(old, new)
    if "revolution" in new:
        text += '[[flanking]]\nname = "w"\ncut = [[0, 0], [300, 0]]\nlengths = { external = 1 }\n'
        words = "no length"
    with pytest.raises(InputError) as caught:
        read(text, Path("wall.toml"))
    assert words in str(caught.value)


PANE = (0.03, 0.05)
"""Depths of the glazing's outer and inner face in frames of 80 mm [m]."""


@pytest.mark.parametrize(
    ("blocks", "number", "words"),
    [
        ([wood(SQUARE), wood(rectangle(200, 0, 240, 80))], 1, "leaves a gap"),
        ([wood(SQUARE), wood(rectangle(80, 20, 120, 60))], 1, "overlaps an earlier polygon"),
        ([wood(rectangle(-5, 0, 100, 80))], 0, "negative"),
        ([wood(rectangle(5, 0, 100, 80))], 0, "does not begin at x = 0"),
        ([wood(rectangle(0, 5, 100, 80))], 0, "does not begin at y = 0"),
        ([block(conductivity=[0.3, 0.13], grain_direction=0)], 0, "grain"),
        ([wood(SQUARE), block(cavity="air layer", heat_flow="up", polygon=rectangle(20, 20, 40, 60))], 1, "air layers"),
        (
            [
                wood(SQUARE),
                block(name="hollow", cavity="unventilated", polygon=rectangle(20, 20, 40, 60)),
                wood(rectangle(50, 20, 60, 60), name="hollow"),
            ],
            2,
            "cavity's name",
        ),
        ([wood([[0, 0], [100, 0], [100, 80], [0, 80]], holes=[rectangle(20, 20, 40, 60)])], 0, "leaves a void"),
    ],
)
def test_polygons_that_make_no_frame(blocks: list[RegionBlock], number: int, words: str) -> None:
    error = refusal_of(lambda: frame_shape(tuple(blocks), PANE, 0.0))
    assert error.path[:2] == ("frame", number)
    assert words in error.message
    assert error.right


def test_a_frame_without_an_outer_edge_is_refused() -> None:
    pointed = wood([[0, 0], [100, 0], [100, 80]])
    error = refusal_of(lambda: frame_shape((pointed,), PANE, 0.0))
    assert "outer edge" in error.message
