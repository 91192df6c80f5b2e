"""Several drawings on one page: each with its own clips, all at one scale."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from bridge2d.web.inlined import with_own_ids

WALL = "/detail/tollhouse_party_wall.toml"
COMPARE = "/compare?d=tollhouse_joist.toml&d=tollhouse_party_wall.toml"
SWEEP = "v1=insulation_thickness&v1.first=20&v1.last=200&v1.count=2&all=yes"


@pytest.mark.parametrize(
    ("address", "drawings"),
    [
        ("/?all=yes", 3),
        (COMPARE, 2),
        (WALL, 1),
        (f"{WALL}/what-if?all=yes&w=insulation_thickness&w=masonry_thickness", 4),
        (f"{WALL}/sweep?{SWEEP}", 1),
    ],
)
def test_no_id_stands_twice_and_each_drawing_refers_to_its_own(
    visitor: TestClient, address: str, drawings: int
) -> None:
    page = visitor.get(address).text
    ids = re.findall(r'<[^>]* id="([^"]*)"', page)
    assert sorted(ids) == sorted(set(ids))
    found = re.findall(r"<svg.*?</svg>", page, re.DOTALL)
    assert len(found) == drawings
    for svg in found:
        assert set(re.findall(r'(?:="url\(| href=")#([^")]*)', svg)) <= set(re.findall(r' id="([^"]*)"', svg))


def test_an_id_of_a_drawing_takes_a_name_of_any_letters() -> None:
    svg = '<clipPath id="clip0"/><use href="#a1"/><g clip-path="url(#clip0)" fill="#b1"><title>url(#x)</title></g>'
    own = (
        '<clipPath id="N-clip0"/><use href="#N-a1"/><g clip-path="url(#N-clip0)" fill="#b1"><title>url(#x)</title></g>'
    )
    assert with_own_ids(svg, "a b.toml") == own.replace("N", "a_20b_2etoml")


def test_options_of_a_comparison_have_shares_of_the_width_at_one_scale(visitor: TestClient) -> None:
    found = re.findall(r'<svg[^>]*viewBox="\S+ \S+ (\S+) \S+"[^>]* width="(\S+)%"', visitor.get(COMPARE).text)
    widths = [float(width) / float(share) for width, share in found]
    assert len(widths) == 2
    assert found[0] != found[1]
    assert max(float(share) for _, share in found) == 100.0
    assert widths[0] == pytest.approx(widths[1], rel=1e-3)
