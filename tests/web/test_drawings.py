"""Several drawings on one page: each with its own clips, all at one scale."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bridge2d.web.inlined import with_own_ids
from tests.web.conftest import DETAILS

WALL = "/detail/tollhouse_party_wall.toml"
COMPARE = "/compare?d=tollhouse_joist.toml&d=tollhouse_party_wall.toml"
JOISTS = "/compare?d=tollhouse_joist.toml"
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
    found = re.findall(
        r"<svg.*?</svg>", re.sub(r'<span class="swatch">.*?</span>', "", page, flags=re.DOTALL), re.DOTALL
    )
    assert len(found) == drawings
    for svg in found:
        assert set(re.findall(r'(?:="url\(| href=")#([^")]*)', svg)) <= set(re.findall(r' id="([^"]*)"', svg))


def test_an_id_of_a_drawing_takes_a_name_of_any_letters() -> None:
    svg = '<clipPath id="clip0"/><use href="#a1"/><g clip-path="url(#clip0)" fill="#b1"><title>url(#x)</title></g>'
    own = (
        '<clipPath id="N-clip0"/><use href="#N-a1"/><g clip-path="url(#N-clip0)" fill="#b1"><title>url(#x)</title></g>'
    )
    assert with_own_ids(svg, "a b.toml") == own.replace("N", "a_20b_2etoml")


@pytest.mark.parametrize("layers", ["", "&layers=isotherms", "&layers=materials.dimensions.heat"])
def test_options_of_a_comparison_have_shares_of_the_width_at_one_scale(visitor: TestClient, layers: str) -> None:
    page = visitor.get(COMPARE + layers).text
    found = re.findall(r'<svg width="(\S+)%"[^>]*viewBox="\S+ \S+ (\S+) \S+"', page)
    widths = [float(width) / float(share) for share, width in found]
    assert len(widths) == 2
    assert found[0] != found[1]
    assert max(float(share) for share, _ in found) == 100.0
    assert widths[0] == pytest.approx(widths[1], rel=1e-3)
    assert len(set(re.findall(r'data-metres="([^"]+)"', page))) == 1
    assert "scale 1:" not in page


def test_a_comparison_shows_the_layers_that_are_wanted(visitor: TestClient) -> None:
    address = f"{JOISTS}&d=tollhouse_joist.toml%3Fp.insulation_material%3Dhemp+fibre"
    drawn = {}
    for layers in ("", "&ticked=yes&drawn=yes", "&ticked=yes&drawn=yes&layer=materials&layer=heat"):
        answer = visitor.get(address + layers)
        assert answer.status_code == 200
        drawn[answer.url.params.get("layers")] = set(re.findall(r'data-layer="(\w+)"', answer.text))
        ticked = set(re.findall(r'name="layer" value="(\w+)" checked', answer.text))
        wanted = answer.url.params.get("layers", "materials.isotherms.airtight.coldest").split(".")
        assert ticked == set(wanted) - {""}
    assert set(drawn) == {None, "", "materials.heat"}
    assert {"isotherms", "airtight", "numbers"} <= drawn[None]
    assert not {"isotherms", "airtight", "numbers", "heat"} & drawn[""]
    assert {"numbers", "heat"} <= drawn["materials.heat"]


def test_the_legend_of_a_comparison_tells_whose_material_it_is(visitor: TestClient) -> None:
    page = visitor.get(COMPARE).text
    legend = re.search(r'<div class="legend">(.*?)</ul>', page, re.DOTALL)[1]
    numbers = [int(one) for one in re.findall(r"<strong>(\d+)</strong>", legend)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert legend.count('class="swatch"') == len(numbers) + 2  # the airtight layer and the isotherms
    assert "<strong>only A</strong>" in legend
    assert re.search(r"oak|softwood", legend)
    assert "airtight layer, where it is given" in legend
    under = re.findall(r"Insulation: \((\d+)\) ([^<;]+)", page)
    assert len(under) == 2
    assert all(f"<strong>{number}</strong> {name}, λ" in legend for number, name in under)


def test_fine_parts_are_enlarged_at_one_scale(visitor: TestClient, folder: Path) -> None:
    shutil.copy(DETAILS / "tollhouse_hatch_a.toml", folder)
    one = "tollhouse_hatch_a.toml"
    page = visitor.get(f"/compare?d={one}&d={one}%3Fp.covering_thickness%3D12").text
    assert page.count(", enlarged</title>") == 2
    assert "Fine parts, enlarged" in page
    assert "scale 1:" not in page
