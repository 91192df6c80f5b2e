"""Named sets of limits: what comes with the program, what a file of one's own may say, how a detail chooses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bridge2d.cli import main
from bridge2d.detail_file import LoadedDetail, read
from bridge2d.errors import InputError
from bridge2d.listings import requirement_table
from bridge2d.requirement_sets import REMEMBERED, matching, own_sets, requirement_set, requirement_sets
from tests.small_detail import BARE_WALL

CORNER = 'junction = "wall_corner"\ntitle = "Corner (invented)"\n'
OWN = """\
# Limits of the Tollhouse, invented.
[tollhouse]
title = "The Tollhouse's brief (invented)"
source = "brief, invented"

[[tollhouse.requirement]]
quantity = "f_rsi"
minimum = 0.72

[[tollhouse.requirement]]
quantity = "psi"
dimensions = "external"
maximum = 0.05
name = "edges"
source = "brief of the edges, invented"
"""


def loaded(text: str, own: str = OWN) -> LoadedDetail:
    return read(text, Path("corner.toml"), attached={"our_limits.toml": own.encode()})


# -- the sets that come with the program -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "quantity", "limit"),
    [
        ("din-4108-2", "f_rsi", 0.70),  # published: gebaeudeforum.de on DIN 4108-2
        ("thermal-bridge-free", "psi", 0.01),  # published: passipedia.org
        ("uk-ip-1-06-dwellings", "f_rsi", 0.75),  # published: BBA assessment report on IP 1/06
        ("uk-ip-1-06-pools", "f_rsi", 0.90),  # remembered
        ("uk-ip-1-06-kitchens", "f_rsi", 0.80),  # remembered
        ("uk-ip-1-06-offices", "f_rsi", 0.50),  # remembered
        ("uk-ip-1-06-stores", "f_rsi", 0.30),  # remembered
        ("es-he-2-alpha-3", "f_rsi", 0.42),  # published, like all of DA DB-HE/2: Fundación MUSAAT, 2020
        ("es-he-2-a-3", "f_rsi", 0.50),
        ("es-he-2-b-3", "f_rsi", 0.52),
        ("es-he-2-c-3", "f_rsi", 0.56),
        ("es-he-2-d-3", "f_rsi", 0.61),  # published a second time: M. Epelde, Building & Management 5 (3), 2021
        ("es-he-2-d-4", "f_rsi", 0.75),  # likewise
        ("es-he-2-d-5", "f_rsi", 0.90),  # likewise
        ("es-he-2-e-3", "f_rsi", 0.64),
        ("nl-dwellings", "f_rsi", 0.65),  # published: bouwkunde.org on Bouwbesluit 2012, 3.22
        ("nl-other-uses", "f_rsi", 0.50),  # likewise
        ("pl-wt", "f_rsi", 0.72),  # published: a public calculation for Poznań
        ("passive-house-cool-temperate", "f_rsi", 0.70),  # remembered
        ("passive-house-warm-temperate", "f_rsi", 0.65),  # published: sustainableengineering.co.nz
    ],
)
def test_limits_of_the_sets(name: str, quantity: str, limit: float):
    [requirement] = requirement_set(name)
    assert (requirement.quantity, requirement.limit) == (quantity, limit)


@pytest.mark.parametrize(
    ("name", "use"),
    [  # published of dwellings and schools: BBA assessment report on IP 1/06; remembered of the others
        ("dwellings", "dwellings"),
        ("dwellings", "schools"),
        ("pools", "swimming pools"),
        ("kitchens", "sports halls"),
        ("kitchens", "kitchens"),
        ("offices", "offices"),
        ("stores", "storage"),
    ],
)
def test_uses_of_the_british_sets(name: str, use: str):
    assert use in requirement_sets()[f"uk-ip-1-06-{name}"].title


def test_a_junction_has_the_conditions_that_the_german_limit_goes_with():
    # published: Mindestwärmeschutz, gebaeudeforum.de (20 and -5 °C, Rsi 0.25); remembered: DIN 4108-2 with Rse 0.04
    section = loaded(CORNER).detail.sections[0]
    assert {one.name: one.temperature for one in section.environments} == {"outside": -5.0, "inside": 20.0}
    found = {one.environment: (one.resistance, one.f_rsi_resistance) for one in section.surfaces}
    assert found["inside"][1] == 0.25
    assert found["outside"] == (0.04, 0.04)


def test_every_set_has_a_source_and_says_whether_it_was_read():
    for name, one in requirement_sets().items():
        assert name == one.name == name.lower()
        assert one.title != name
        assert one.applies
        assert one.read is not None
        for limit in one.requirements:
            assert limit.source.endswith(REMEMBERED) is not one.read
            assert (" read " in limit.source) is one.read
            assert limit.sense == ("minimum" if limit.quantity == "f_rsi" else "maximum")


def test_damper_classes_and_colder_zones_ask_for_more():
    for zone in ("alpha", "a", "b", "c", "d", "e"):
        limits = [requirement_set(f"es-he-2-{zone}-{number}")[0].limit for number in (3, 4, 5)]
        assert limits == sorted(limits)
    climates = ("warm", "warm-temperate", "cool-temperate", "cold", "arctic")
    limits = [requirement_set(f"passive-house-{one}")[0].limit for one in climates]
    assert limits == sorted(limits)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("din-4108", "did you mean 'din-4108-2'?"),
        ("DIN 4108-2", "did you mean 'din-4108-2'?"),
        ("uk-ip-1-06", "'uk-ip-1-06-dwellings' or 'uk-ip-1-06-pools'"),
        ("thermal-bridge-fre", "did you mean 'thermal-bridge-free'?"),
        ("xyz", "`bridge2d requirements` lists the sets"),
        ("", "`bridge2d requirements` lists the sets"),
    ],
)
def test_unknown_name_names_the_nearest(name: str, said: str):
    with pytest.raises(InputError) as caught:
        requirement_set(name)
    assert f"there is no requirement set {name!r}" in str(caught.value)
    assert said in str(caught.value)


def test_the_readme_names_the_sets():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    named = readme[readme.index("| sets | limit |") : readme.index("### Climate by month")]
    for name in requirement_sets():
        stems = [name, *(f"{stem}…" for stem in ("uk-ip-1-06-", "es-he-2-", "passive-house-") if name.startswith(stem))]
        assert any(f"`{stem}`" in named for stem in stems), name
    own = readme[readme.index("# our_limits.toml") :]
    assert [limit.limit for limit in own_sets(own[: own.index("```")].encode(), "x")["our-brief"].requirements] == [
        0.05
    ]


# -- own sets --------------------------------------------------------------------------------------------------------


def test_own_sets_stand_beside_the_others():
    own = own_sets(OWN.encode(), "our_limits.toml")
    first, second = requirement_set("tollhouse", own)
    assert (first.quantity, first.limit, first.source) == ("f_rsi", 0.72, "brief, invented")
    assert (second.name, second.source) == ("edges", "brief of the edges, invented")
    assert requirement_set("din-4108-2", own) == requirement_set("din-4108-2")
    assert [one.name for one in matching("tollhouse", own)] == ["tollhouse"]


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        (OWN.replace("tollhouse", "din-4108-2"), 2, "a set of this name comes with the program"),
        (OWN.replace("minimum = 0.72", "minimum = 72"), 8, "72 is no temperature factor"),
        (OWN.replace("minimum = 0.72", "maximum = 0.72"), 8, "f_rsi has no maximum"),
        (OWN.replace('dimensions = "external"\n', ""), 10, "a Ψ needs its dimensions"),
        (OWN.replace('source = "brief, invented"\n', ""), 5, "the key source is missing"),
        (OWN.replace("quantity", "quantitty", 1), None, "quantit"),
        (OWN.replace("title =", "titel ="), 3, "did you mean 'title'"),
        (OWN.replace("[[tollhouse.requirement]]", "[[tollhouse]]"), None, "not TOML"),
        ("[tollhouse]\ntitle = 'x'\n", 1, "the key requirement is missing"),
        ("[tollhouse]\nrequirement = []\n", 2, "requirement"),
        ("[[tollhouse]]\nquantity = 'f_rsi'\n", 1, "write [[tollhouse.requirement]]"),
        ("tollhouse = 0.7\n", 1, "is no set"),
        ("# nothing\n", None, "the file holds no set"),
        ("[tollhouse\n", 1, "not TOML"),
    ],
)
def test_wrong_own_sets_give_one_message(text: str, line: int | None, said: str):
    with pytest.raises(InputError) as caught:
        own_sets(text.encode(), "our_limits.toml")
    assert caught.value.file == "our_limits.toml"
    if line is not None:
        assert caught.value.line == line
    assert said in str(caught.value)


# -- a detail's choice -----------------------------------------------------------------------------------------------


def test_a_detail_chooses_sets_beside_its_own_limits():
    own = '[[requirement]]\nquantity = "psi"\ndimensions = "external"\nmaximum = 0.1\nsource = "invented"\n'
    chosen = loaded(f'requirements = ["din-4108-2", "tollhouse"]\nrequirement_sets = "our_limits.toml"\n{CORNER}{own}')
    assert [limit.limit for limit in chosen.detail.requirements] == [0.1, 0.70, 0.72, 0.05]
    assert dict(chosen.files) == {"our_limits.toml": OWN.encode()}


def test_one_name_needs_no_brackets_and_order_of_spelling_changes_nothing():
    bare = loaded(f'requirements = "din-4108-2"\n{CORNER}')
    listed = loaded(f'{CORNER}requirements = ["din-4108-2"]\n')
    assert bare.input_hash == listed.input_hash
    assert bare.detail.requirements == requirement_set("din-4108-2")
    assert bare.input_hash != loaded(CORNER).input_hash


def test_a_limit_that_changes_in_the_file_of_sets_changes_the_fingerprint():
    text = f'requirements = "tollhouse"\nrequirement_sets = "our_limits.toml"\n{CORNER}'
    assert loaded(text).input_hash != loaded(text, OWN.replace("0.72", "0.73")).input_hash


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ('requirements = ["din-4108"]', "line 1, requirements, value 1: there is no requirement set 'din-4108'"),
        ('requirements = ["din-4108-2", "din-4108-2"]', "value 2: names 'din-4108-2' twice"),
        ("requirements = 7", "line 1, requirements: is no list of names"),
        ("requirements = [7]", "value 1: is not text"),
        ('requirements = [{ quantity = "f_rsi" }]', "a limit of its own stands under [[requirement]]"),
        ('requirements = ["tollhouse"]', "there is no requirement set 'tollhouse'"),
        ('requirement_sets = "other.toml"', "the file of requirement sets 'other.toml' is not at hand"),
        ("requirement_sets = 3", "line 1, requirement_sets: is not text"),
    ],
)
def test_wrong_choices_give_one_message(head: str, said: str):
    with pytest.raises(InputError) as caught:
        loaded(f"{head}\n{CORNER}")
    assert said in str(caught.value)


def test_a_set_with_a_limit_that_the_detail_cannot_have():
    with pytest.raises(InputError, match="requirements, value 2: this section has no Ψ"):
        loaded(f'requirements = ["din-4108-2", "thermal-bridge-free"]\n{BARE_WALL}')


def test_own_sets_are_read_from_the_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    (tmp_path / "our_limits.toml").write_text(OWN, encoding="utf-8")
    detail = tmp_path / "corner.toml"
    text = f'requirements = ["tollhouse", "thermal-bridge-free"]\nrequirement_sets = "our_limits.toml"\n{CORNER}'
    detail.write_text(text, encoding="utf-8")
    assert main(["solve", str(detail), "--json", "--tolerance", "0.01"]) in (0, 1)
    told = json.loads(capsys.readouterr().out)["requirements"]
    assert [one["limit"] for one in told] == [0.72, 0.05, 0.01]
    detail.write_text(text.replace("our_limits", "../our_limits"), encoding="utf-8")
    assert main(["check", str(detail)]) == 2
    assert "lies outside the detail file's folder" in capsys.readouterr().err


# -- the listing -----------------------------------------------------------------------------------------------------


def test_the_command_lists_every_set_and_sources_of_those_looked_for(capsys: pytest.CaptureFixture[str]):
    assert main(["requirements"]) == 0
    listed = capsys.readouterr().out
    assert all(f"\n{name} " in listed for name in requirement_sets())
    assert main(["requirements", "zone D"]) == 0
    found = capsys.readouterr().out
    assert "es-he-2-d-3      fRsi ≥ 0.61" not in found
    assert "es-he-2-d-3  fRsi ≥ 0.61  read" in found
    assert "es-he-2-e-3" not in found
    assert "DA DB-HE/2, table 1; read in" in found
    assert main(["requirements", "zzz"]) == 2
    assert "no requirement set matches 'zzz'" in capsys.readouterr().err


def test_a_word_is_looked_for_at_the_beginning_of_words():
    assert requirement_table("din").count("\n\n") == 1
    assert [one.name for one in matching("din")] == ["din-4108-2"]
    assert {one.name for one in matching("pools")} >= {"uk-ip-1-06-pools", "es-he-2-a-5"}
    assert [one.name for one in matching("retail offices")] == ["uk-ip-1-06-offices"]
