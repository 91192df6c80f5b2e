"""The catalogue of materials: whole, plausible row by row, and found by name or word."""

import csv
import re
import subprocess
import sys
import zipfile
from dataclasses import FrozenInstanceError
from itertools import groupby
from pathlib import Path

import pytest

import bridge2d
from bridge2d.materials import (
    GROUPS,
    HATCHES,
    Material,
    UnknownMaterialError,
    catalogue,
    find,
    get,
    read_rows,
    rows_text,
)

PACKAGE = Path(bridge2d.__file__).parent
FILE = PACKAGE / "data" / "materials.csv"
ROWS = list(csv.DictReader(FILE.read_text(encoding="utf-8").splitlines()))
ANY_MATERIAL = pytest.mark.parametrize("material", [pytest.param(m, id=m.name) for m in catalogue().values()])

# Sites that show other people's documents: a source may name one only as the place of a copy.
MIRRORS = (
    "scribd.com",
    "yumpu.com",
    "paperzz.com",
    "issuhub.com",
    "fdocument.org",
    "certyfikat-energetyczny.powiat.pl",
)
# Sites that have nothing to do with the publication read there: no certifier can be sent to them.
UNRELATED = (
    "cricutcom-setup.com",
    "freedomwares.ca",
    "liquimondo.nl",
    "northernarchitecture.us",
    "ns1.engineersedge.com",
    "userdeck.net",
    "warmfieldhome.eu",
    "wikipedia.jakami.de",
    "zanotowane.pl",
)

# Lowest and highest conductivity [W/(m·K)] and density [kg/m³] that a kind can have: common practice.
PLAUSIBLE = {
    "masonry": (0.1, 3.5, 300, 2600),
    "stone": (0.4, 3.6, 1200, 3100),
    "mortar": (0.08, 1.6, 150, 2200),
    "plaster": (0.02, 1.6, 150, 2200),
    "concrete": (0.1, 2.6, 300, 2500),
    "screed": (0.3, 2.0, 1200, 2500),
    "timber": (0.07, 0.3, 300, 1000),
    "wood-based panel": (0.05, 0.3, 200, 1300),
    "board": (0.1, 0.6, 500, 1500),
    "insulation": (0.004, 0.10, 8, 400),
    "metal": (15, 400, 2600, 11500),
    "plastic": (0.1, 0.6, 850, 2000),
    "seal": (0.03, 0.5, 40, 1800),
    "glass": (0.7, 1.5, 2200, 2600),
    "membrane": (0.1, 250, 200, 2900),
    "covering": (0.04, 2.5, 100, 2600),
    "ground": (0.1, 4.0, 700, 2700),
    "fluid": (0.02, 2.5, 1, 1000),
}


def test_catalogue_is_large_enough():
    assert len(catalogue()) >= 95


def test_names_are_unique_and_none_is_lost():
    assert [row["name"] for row in ROWS] == list(catalogue())


def test_every_cell_is_read():
    for row in ROWS:
        assert None not in row, row["name"]  # more cells than columns
        assert None not in row.values(), row["name"]  # fewer
        assert row["read"] in ("yes", "no"), row["name"]
        material = get(row["name"])
        for column in ("conductivity", "conductivity_along", "low", "high", "density", "vapour_factor"):
            value = getattr(material, column)
            assert value == (float(row[column]) if row[column] else None), (row["name"], column)
        assert (material.group, material.hatch, material.source) == (row["group"], row["hatch"], row["source"])
        assert material.read == (row["read"] == "yes")
        assert all(re.fullmatch(r"[a-z][a-z0-9 -]*[a-z0-9]", alias) for alias in row["aliases"].split("; ") if alias)


def test_groups_stand_together_in_their_order():
    order = [group for group, _ in groupby(material.group for material in catalogue().values())]
    assert order == [group for group in GROUPS if group != "other"]
    assert set(order) == set(PLAUSIBLE)


@ANY_MATERIAL
def test_name_is_plain(material):
    assert re.fullmatch(r"[a-z][a-z0-9 ,.%'-]*[a-z0-9]", material.name)
    assert "  " not in material.name


@ANY_MATERIAL
def test_values_are_plausible(material):
    lowest, highest, lightest, heaviest = PLAUSIBLE[material.group]
    assert lowest <= material.conductivity <= highest
    if material.density is not None:
        assert lightest <= material.density <= heaviest
    if material.vapour_factor is not None:
        assert material.vapour_factor >= 1
    assert material.hatch in HATCHES


@ANY_MATERIAL
def test_value_lies_in_its_range(material):
    assert (material.low is None) == (material.high is None)
    if material.low is not None:
        assert 0 < material.low <= material.conductivity <= material.high
        assert material.low < material.high


@ANY_MATERIAL
def test_along_the_grain_is_timber_s_alone(material):
    assert (material.conductivity_along is not None) == (material.group == "timber")
    assert (material.hatch == "timber") == (material.group == "timber")
    if material.conductivity_along is not None:
        # published: Wood Handbook (USDA Forest Service), chapter 4: 1.5 to 2.8 times, 1.8 on average
        assert 1.5 <= material.conductivity_along / material.conductivity <= 2.8


@ANY_MATERIAL
def test_source_tells_where_the_value_comes_from(material):
    assert material.source.strip() == material.source != ""
    if material.read:
        # an address, a standard with its number, or a journal with volume and year
        assert re.search(r"https?://\S+\.\S|\b(EN|ISO|DIN)\b.* \d{3,}|\w \d+ \(\d{4}\)", material.source)
    else:
        assert "remembered" in material.source


@ANY_MATERIAL
def test_publication_comes_before_the_address(material):
    # What a certifier looks up is the publication; an address only says where it was read.
    assert re.match(r"(?!(?:https?:|read |web page|web site|reproduced)).{6,}", material.source, re.IGNORECASE)
    for address in re.finditer(r"https?://([^/\s]+)", material.source):
        before, host = material.source[: address.start()], address[1].removeprefix("www.")
        if host in MIRRORS or host.endswith(".scribd.com"):
            assert re.search(r"\bread in a copy (of an extract )?at $", before), host
        else:  # the publisher's own page, or a journal with year and article number
            assert re.search(r"\b(web page|copy|extract) at $|\(\d{4}\) \d+, $", before), host
        assert host not in UNRELATED


@ANY_MATERIAL
def test_source_without_author_and_year_does_not_carry_a_read_value(material):
    if material.read:
        assert "author and year not stated" not in material.source.split(";")[0]
    assert "reproduced at" not in material.source


def test_most_rows_were_read():
    read = sum(material.read for material in catalogue().values())
    assert len(catalogue()) / 2 < read < len(catalogue())


@pytest.mark.parametrize(
    "family",
    [
        r"solid brick, old, (\d+)",
        r"engineering brick (\d+)",
        r"sand-lime brick (\d+)",
        r"aerated concrete block (\d+)",
        r"adobe (\d+)",
        r"concrete (\d+)",
        r"lightweight aggregate concrete (\d+)",
        r"insulating plaster (\d+)",
    ],
)
def test_heavier_conducts_more(family):
    members = [(int(found[1]), m) for m in catalogue().values() if (found := re.fullmatch(family, m.name))]
    members.sort(key=lambda member: member[0])
    assert len(members) >= 2
    assert all(named == m.density for named, m in members)
    values = [m.conductivity for _, m in members]
    assert values == sorted(set(values))


@pytest.mark.parametrize("pattern", [r"mineral wool (0\.\d+)", r"(?:expanded|extruded) polystyrene\D* (0\.\d+)"])
def test_name_with_a_conductivity_tells_the_truth(pattern):
    named = {m.name: float(found[1]) for m in catalogue().values() if (found := re.fullmatch(pattern, m.name))}
    assert len(named) >= 4
    assert named == {name: get(name).conductivity for name in named}


@pytest.mark.parametrize(
    ("name", "conductivity"),
    [
        # published: EN ISO 10077-2:2003, Annex A
        ("softwood", 0.13),
        ("hardwood", 0.18),
        ("steel", 50),
        ("stainless steel", 17),
        ("aluminium alloy", 160),
        ("pvc, rigid", 0.17),
        ("polyamide, 25 % glass fibre", 0.30),
        ("epdm", 0.25),
        ("silicone", 0.35),
        ("butyl", 0.24),
        ("glass", 1.0),
        # published: ISO 10456:2007, Table 3
        ("concrete 2400", 2.0),
        ("reinforced concrete, 1 % steel", 2.3),
        ("reinforced concrete, 2 % steel", 2.5),
        # published: NF EN 1745 as in rules Th-U part 2
        ("granite", 2.8),
        ("marble", 3.5),
        ("limestone, hard", 1.7),
    ],
)
def test_published_values(name, conductivity):
    assert get(name).conductivity == conductivity


def test_unknown_old_brick_takes_in_what_was_measured():
    # published: Cabeza-Prieto et al., Materials 15 (2022) 4001, dry brickwork over a century old
    unknown = get("solid brick, old, unknown")
    assert unknown.low < 0.61 < 0.98 < unknown.high
    assert unknown.high > 2 * unknown.low
    assert "unknown" in unknown.source


def test_get_gives_the_record_of_the_catalogue():
    assert get("softwood") is catalogue()["softwood"]
    assert isinstance(get("softwood"), Material)


def test_catalogue_cannot_be_changed():
    with pytest.raises(TypeError):
        catalogue()["softwood"] = Material("softwood", 1.0)
    with pytest.raises(FrozenInstanceError):
        get("softwood").conductivity = 1.0
    assert catalogue() is catalogue()


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        ("soft wood", "softwood"),
        ("Granite", "granite"),
        ("lime morter", "lime mortar"),
        ("solid brick old 1800", "solid brick, old, 1800"),
        ("EPS", "expanded polystyrene 0.035"),  # a word of the source
        ("brik", "solid brick, old, 1200"),  # a word of the name, misspelt
        ("beech", "hardwood"),  # an alias
        ("Larch", "softwood"),
        ("fir", "softwood"),
        ("glulam", "glued laminated timber"),
        ("PUR", "polyurethane board, foil-faced"),
        ("beach", "hardwood"),  # an alias, misspelt
    ],
)
def test_unknown_name_is_answered_with_the_nearest(asked, meant):
    with pytest.raises(UnknownMaterialError) as caught:
        get(asked)
    assert meant in caught.value.nearest
    assert 1 <= len(caught.value.nearest) <= 3
    message = str(caught.value)
    assert message.startswith(f"The catalogue has no material {asked!r}; did you mean {caught.value.nearest[0]!r}")
    assert message.endswith("?")
    assert "\n" not in message


@pytest.mark.parametrize("asked", ["", "x", "qqqqq", "q" * 100_000])
def test_name_like_none_is_answered_without_guessing(asked):
    with pytest.raises(KeyError) as caught:
        get(asked)
    assert caught.value.nearest == ()
    assert str(caught.value) == f"The catalogue has no material {asked[:60]!r}; `bridge2d materials` lists all it has."


def test_find_asks_for_every_word_in_either_case():
    found = find("OLD Brick")
    assert {"solid brick, old, 1600", "solid brick, old, unknown"} <= {m.name for m in found}
    for material in found:
        assert "old" in f"{material.name} {material.group} {material.source}".casefold()
        assert "brick" in f"{material.name} {material.group} {material.source}".casefold()
    assert "granite" not in {m.name for m in found}


def test_find_looks_at_group_and_source():
    assert {m for m in catalogue().values() if m.group == "wood-based panel"} <= set(find("wood-based panel"))
    assert get("clay roof tile") in find("iso 10456 remembered")


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        # kinds of wood: common practice
        ("beech", {"hardwood"}),
        ("Ash", {"hardwood", "ash fill"}),
        ("birch", {"hardwood"}),
        ("chestnut", {"hardwood"}),
        ("oak", {"oak"}),  # not "a soaked outer leaf"
        ("larch", {"softwood", "softwood, dense"}),
        ("pine", {"softwood", "softwood, dense", "spruce or pine, moist"}),
        ("fir", {"softwood", "spruce or pine, moist"}),  # neither "firm" nor "fire"
        ("douglas fir", {"softwood"}),
        ("spruce", {"softwood", "spruce or pine, moist"}),
        # words and abbreviations of the trade: common practice
        ("OSB", {"osb"}),
        ("oriented strand", {"osb"}),
        ("LVL", {"laminated veneer lumber"}),
        ("glulam", {"glued laminated timber"}),
        ("particleboard", {"chipboard"}),
        ("drywall", {"gypsum plasterboard", "gypsum plasterboard 700"}),
        ("EPS", {"expanded polystyrene, graphite 0.032", "expanded polystyrene 0.035", "expanded polystyrene 0.040"}),
        ("XPS", {"extruded polystyrene 0.035", "extruded polystyrene 0.040"}),
        ("PIR", {"polyurethane board, foil-faced", "polyurethane board, open-faced"}),
        ("VIP", {"vacuum panel, centre"}),
        ("glass wool 0.035", {"mineral wool 0.035"}),
        ("anhydrite", {"calcium sulphate screed"}),
        ("hempcrete", {"hemp lime"}),
        ("AAC 500", {"aerated concrete block 500"}),
        ("mud brick", {"adobe 1600", "adobe 1800"}),
        ("DPC", {"bitumen felt"}),
        ("nylon", {"polyamide", "polyamide, 25 % glass fibre"}),
        ("GRP", {"glass-fibre reinforced polyester"}),
        ("PMMA", {"acrylic sheet"}),
        ("aluminum", {"aluminium alloy", "aluminium foil"}),
        ("asbestos cement", {"fibre-cement sheet"}),
    ],
)
def test_find_knows_what_the_trade_also_says(asked, meant):
    assert {m.name for m in find(asked)} == meant


def test_every_alias_finds_its_row_and_takes_no_other_s_name():
    for row in ROWS:
        for alias in filter(None, row["aliases"].split("; ")):
            assert get(row["name"]) in find(alias), alias
            assert alias not in catalogue() or alias == row["name"], alias


def test_short_word_is_looked_for_inside_of_others_where_it_stands_nowhere_alone():
    assert {"plywood", "plywood 700"} <= {m.name for m in find("ply")}
    assert find("pl") == tuple(m for m in find("") if m in find("pl"))
    assert "polycarbonate" in {m.name for m in find("car")}


def test_find_keeps_the_order_and_finds_all_or_none():
    assert find("") == tuple(catalogue().values())
    assert find("qqqqq") == ()
    order = list(catalogue().values())
    places = [order.index(m) for m in find("concrete")]
    assert len(places) > 5
    assert places == sorted(places)


def test_rows_beyond_what_is_read_are_refused(monkeypatch):
    monkeypatch.setattr("bridge2d.materials.MOST_ROWS", 3)
    few = rows_text(find("softwood")[:1])
    assert [one.name for one in read_rows(few)] == [find("softwood")[0].name]
    many = rows_text(find("")[:3])
    with pytest.raises(ValueError, match="it has 4 rows; at most 3 are read"):
        read_rows(many)


def test_nothing_is_read_before_it_is_asked_for():
    code = "import sys, bridge2d.materials; print('csv' in sys.modules, 'difflib' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=PACKAGE.parent, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_catalogue_is_found_in_a_packed_package(tmp_path):
    packed = tmp_path / "packed.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for part in ("__init__.py", "materials.py", "data/materials.csv"):
            archive.write(PACKAGE / part, f"bridge2d/{part}")
    code = (
        f"import sys; sys.path.insert(0, {str(packed)!r}); import bridge2d.materials as m; "
        "print(m.__file__); print(len(m.catalogue()))"
    )
    done = subprocess.run([sys.executable, "-P", "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
    place, count = done.stdout.split()
    assert place.startswith(str(packed))
    assert int(count) == len(catalogue())
