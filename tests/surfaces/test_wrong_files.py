"""Wrong detail files: each gives exit status 2 and one message that names file, line and key, and no traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bridge2d.cli import main

GOOD = """\
junction = "free_section"
title = "Brick wall"

[[region]]
name = "brick"
conductivity = 0.77
polygon = [[0, 0], [1000, 0], [1000, 330], [0, 330]]

[[region]]
name = "insulation"
conductivity = 0.04
polygon = [[0, 330], [1000, 330], [1000, 400], [0, 400]]

[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [1000, 0]]

[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.13
edge = [[1000, 400], [0, 400]]

[[flanking]]
name = "wall"
cut = [[500, 0], [500, 400]]
lengths = { external = 1000, internal = 1000 }

[[probe]]
name = "middle"
point = [500, 400]

[[requirement]]
quantity = "f_rsi"
minimum = 0.5
source = "invented"
"""
BRICK = "polygon = [[0, 0], [1000, 0], [1000, 330], [0, 330]]"
OUTSIDE = "edge = [[0, 0], [1000, 0]]"
OVERALL = '"psi"\ndimensions = "overall_internal"\nmaximum'
REGIONS = GOOD[GOOD.index("[[region]]") : GOOD.index("[[environment]]")]
ENVIRONMENTS = GOOD[GOOD.index("[[environment]]") : GOOD.index("[[flanking]]")]
ROOM = ENVIRONMENTS[ENVIRONMENTS.index('[[environment]]\nname = "room"') :]

# name, what is replaced, by what, text whose line the message names (None: no line), what else the message says
CHANGES = [
    ("syntax", "temperature = -5", "temperature = = -5", "temperature = = -5", "not TOML"),
    ("open string", 'title = "Brick wall"', 'title = "Brick wall', 'title = "Brick wall', "not TOML"),
    ("open array", BRICK, "polygon = [[0, 0], [1000, 0]", None, "not TOML"),
    ("text without quotes", 'title = "Brick wall"', "title = Brick wall", "title = Brick", "not TOML"),
    ("key twice", "temperature = 20", "temperature = 20\ntemperature = 21", "temperature = 21", "each key once"),
    ("comma for point", "conductivity = 0.77", "conductivity = 0,77", "conductivity = 0,77", "not TOML"),
    ("no junction", 'junction = "free_section"', "", None, "the key junction is missing"),
    ("unknown junction", '"free_section"', '"free_sektion"', "junction =", "did you mean 'free_section'"),
    ("junction is a number", '"free_section"', "7", "junction =", "is not text"),
    ("unknown key at the top", "title =", "titel =", "titel =", "did you mean 'title'"),
    ("unknown key in a block", 'name = "brick"', 'name = "brick"\ncolour = "red"', "colour =", "unknown key 'colour'"),
    ("misspelt key", "conductivity = 0.77", "conductivty = 0.77", "conductivty", "did you mean 'conductivity'"),
    ("misspelt block", "[[probe]]", "[[prob]]", "[[prob]]", "did you mean 'probe'"),
    ("single brackets", "[[probe]]", "[probe]", "[probe]", "[[probe]]"),
    ("block is a list of numbers", "title =", "airtight = [1, 2]\ntitle =", "airtight", "[[airtight]]"),
    ("parameters of a free section", "[[probe]]", "[parameters]\na = 1\n[[probe]]", "[parameters]", "no [parameters]"),
    ("unknown material", "conductivity = 0.77", 'material = "sotfwood"', "sotfwood", "'softwood'"),
    ("material is a number", "conductivity = 0.77", "material = 7", "material = 7", "material"),
    ("neither material nor value", "conductivity = 0.77\n", "", '[[region]]\nname = "brick"', "neither material"),
    (
        "value replaced without a reason",
        "conductivity = 0.77",
        'material = "softwood"\nconductivity = 0.14',
        "conductivity = 0.14",
        "basis",
    ),
    (
        "reason for nothing",
        "conductivity = 0.77",
        'material = "softwood"\nbasis = "data sheet"',
        "basis =",
        "no conductivity that it is for",
    ),
    ("cavity", "conductivity = 0.77", 'cavity = "leaky"', "cavity =", "unventilated"),
    (
        "cavity with λ",
        "conductivity = 0.77",
        'cavity = "unventilated"\nconductivity = 0.1',
        "conductivity = 0.1",
        "cavity",
    ),
    ("air layer", "conductivity = 0.77", 'cavity = "air layer"', "cavity =", "direction of the heat flow"),
    ("conductivity negative", "= 0.77", "= -0.77", "= -0.77", "conductivity"),
    ("conductivity zero", "= 0.77", "= 0", "conductivity = 0\n", "0.0001 to 10000"),
    ("conductivity NaN", "= 0.77", "= nan", "= nan", "not finite"),
    ("conductivity infinite", "= 0.77", "= inf", "= inf", "not finite"),
    ("conductivity absurd", "= 0.77", "= 1e9", "= 1e9", "beyond"),
    ("conductivity huge whole number", "= 0.77", "= 1" + "0" * 400, "= 1000", "too large"),
    ("whole number of 5000 digits", "= 0.77", "= 1" + "0" * 5000, None, "cannot be read"),
    ("conductivity is true", "= 0.77", "= true", "= true", "true or false"),
    ("conductivity is a date", "= 0.77", "= 2020-01-01", "= 2020", "date"),
    ("wrong unit", "= 0.77", '= "0.77 W/(m2 K)"', "W/(m2 K)", "is not one for this quantity"),
    ("no unit", "= 0.77", '= "0.77"', '= "0.77"', "has no unit"),
    ("three conductivities", "= 0.77", "= [0.2, 0.1, 0.1]", "[0.2", "[along, across]"),
    ("second conductivity wrong", "= 0.77", '= [0.2, "x"]', "[0.2", "number 2"),
    ("grain without direction", "= 0.77", "= [0.2, 0.1]", "[0.2", "grain_direction"),
    ("direction without grain", "= 0.77", "= 0.77\ngrain_direction = 90", "grain_direction", "no grain"),
    ("polygon missing", BRICK + "\n", "", '[[region]]\nname = "brick"', "the key polygon is missing"),
    ("polygon of two points", BRICK, "polygon = [[0, 0], [1000, 0]]", "[1000, 0]]", "at least 3"),
    ("polygon of one point thrice", BRICK, "polygon = [[5, 5], [5, 5], [5, 5]]", "[[5, 5]", "1 distinct point;"),
    ("polygon without area", BRICK, "polygon = [[0, 0], [500, 0], [1000, 0]]", "[500, 0]", "polygon"),
    (
        "polygon crosses itself",
        BRICK,
        "polygon = [[0, 0], [1000, 330], [1000, 0], [0, 330]]",
        "[1000, 330], [1000, 0]",
        "crosses or touches itself at (500, 165) mm",
    ),
    (
        "polygon touches itself",
        BRICK,
        "polygon = [[0, 0], [1000, 0], [1000, 330], [500, 0], [0, 330]]",
        "[500, 0], [0",
        "at (500, 0) mm",
    ),
    (
        "polygon runs back",
        BRICK,
        "polygon = [[0, 0], [1000, 0], [2000, 0], [1000, 0], [1000, 330], [0, 330]]",
        "[2000, 0]",
        "itself",
    ),
    ("point of three numbers", BRICK, BRICK.replace("[0, 0]", "[0, 0, 0]"), "[0, 0, 0]", "point 1"),
    ("point is a number", BRICK, "polygon = [0, 1, 2, 3]", "[0, 1, 2, 3]", "is not a point"),
    ("polygon is text", BRICK, 'polygon = "square"', '"square"', "not a list of points"),
    ("coordinate is text", BRICK, BRICK.replace("330]", '"wide"]'), '"wide"', "point 3"),
    ("coordinate too far", BRICK, BRICK.replace("1000", "1e9"), "1e9", "too far away"),
    ("coordinate infinite", BRICK, BRICK.replace("1000", "inf"), "[inf", "not finite"),
    (
        "hole outside",
        BRICK,
        BRICK + "\nholes = [[[10, 10], [20, 10], [20, 900]]]",
        "holes =",
        "hole 1",
    ),
    ("holes are a number", BRICK, BRICK + "\nholes = 3", "holes =", "not a list of polygons"),
    (
        "polygon runs along itself",
        BRICK,
        "polygon = [[300, 0], [600, 0], [600, 200], [1000, 200], [1000, 0], [0, 0], [0, 330], [300, 330]]",
        "[300, 0]",
        "crosses or touches itself at (300, 0) mm, between corners 1 and 5",
    ),
    (
        "holes overlap",
        BRICK,
        BRICK + "\nholes = [[[10, 10], [90, 10], [90, 90]], [[20, 15], [80, 15], [80, 60]]]",
        "holes =",
        "overlaps",
    ),
    (
        "island",
        "polygon = [[0, 330], [1000, 330], [1000, 400], [0, 400]]",
        "polygon = [[0, 500], [1000, 500], [1000, 600], [0, 600]]",
        "[0, 500]",
        '[[region]] 2 "insulation", polygon: stands apart',
    ),
    ("edge off the outline", OUTSIDE, "edge = [[0, 50], [1000, 50]]", "[1000, 50]", "outline"),
    ("edge partly off the outline", OUTSIDE, "edge = [[0, 0], [2000, 0]]", "[2000, 0]", "outline"),
    ("edge of one point", OUTSIDE, "edge = [[0, 0]]", "edge = [[0, 0]]", "at least 2"),
    ("edge missing", OUTSIDE, "", '[[environment]]\nname = "outside"', "the key edge is missing"),
    ("edge taken twice", "edge = [[1000, 400], [0, 400]]", OUTSIDE, None, "already taken"),
    ("no environment", ENVIRONMENTS, "", None, "there is no [[environment]] block"),
    ("one environment", ROOM, "", "[[environment]]", "is the only environment"),
    ("no region", REGIONS, "", None, "there is no [[region]] block"),
    (
        "no temperature difference",
        "temperature = 20",
        "temperature = -5",
        '[[environment]]\nname = "room"',
        "same temperature",
    ),
    ("temperature missing", "temperature = 20\n", "", '[[environment]]\nname = "room"', "has no temperature"),
    ("temperatures differ", 'name = "room"', 'name = "outside"', "temperature = 20", "share one temperature"),
    ("temperature absurd", "temperature = 20", "temperature = 2000", "= 2000", "-100 to 200 °C"),
    ("temperature in no unit", "temperature = 20", 'temperature = "20 grad"', "20 grad", "unit"),
    ("resistance negative", "= 0.13", "= -0.13", "= -0.13", "surface_resistance"),
    ("resistance tiny", "= 0.13", "= 1e-9", "= 1e-9", "0.0001 to 10"),
    ("resistance missing", "surface_resistance = 0.13\n", "", '[[environment]]\nname = "room"', "is missing"),
    (
        "cut of three points",
        "cut = [[500, 0], [500, 400]]",
        "cut = [[500, 0], [500, 9], [500, 400]]",
        "cut =",
        "straight",
    ),
    (
        "cut of 5001 points",
        "cut = [[500, 0], [500, 400]]",
        "cut = [" + "[0, 0], " * 5001 + "]",
        "cut =",
        "has 5001 points; a detail may have at most 5000",
    ),
    ("2001 regions", REGIONS, '[[region]]\nname = "x"\n' * 2001, None, "the file has 2001 regions"),
    ("cut off the surfaces", "cut = [[500, 0], [500, 400]]", "cut = [[500, 10], [500, 400]]", "cut =", "surface"),
    ("unknown dimensions", "external = 1000", "outer = 1000", "lengths", "external"),
    ("length negative", "external = 1000", "external = -1000", "lengths", "negative"),
    ("no lengths", "{ external = 1000, internal = 1000 }", "{}", "lengths", "no length"),
    ("lengths are a number", "{ external = 1000, internal = 1000 }", "1000", "lengths", "is not a table"),
    ("symmetric is text", "cut =", 'symmetric = "yes"\ncut =', "symmetric", "true nor false"),
    ("probe outside", "point = [500, 400]", "point = [500, 900]", "point =", "outside"),
    ("name empty", 'name = "brick"', 'name = ""', 'name = ""', "is empty"),
    ("name of two lines", 'name = "brick"', 'name = "a\\nb"', 'name = "a', "control character"),
    ("title too long", "Brick wall", "x" * 301, "title =", "at most 300"),
    ("quantity unknown", '"f_rsi"', '"u"', 'quantity = "u"', "is not known"),
    ("no limit", "minimum = 0.5\n", "", "[[requirement]]", "neither maximum nor minimum"),
    ("two limits", "minimum = 0.5", "minimum = 0.5\nmaximum = 0.6", "[[requirement]]", "both"),
    ("misspelt key", "surface_resistance = 0.04", "surface_resistence = 0.04", "surface_resistence", "did you mean"),
    ("limit in percent", "minimum = 0.5", "minimum = 50", "minimum = 50", "from 0 to 1"),
    ("limit without source", 'source = "invented"\n', "", "[[requirement]]", "the key source is missing"),
    ("psi without dimensions", '"f_rsi"\nminimum', '"psi"\nmaximum', "[[requirement]]", "dimensions"),
    (
        "f_rsi with dimensions",
        "minimum = 0.5",
        'minimum = 0.5\ndimensions = "external"',
        "dimensions =",
        "f_rsi has no dimensions; leave the key out",
    ),
    ("psi in other dimensions", '"f_rsi"\nminimum', OVERALL, "dimensions", "overall_internal"),
    ("limit of the wrong sense", "minimum = 0.5", "maximum = 0.5", "maximum = 0.5", "write minimum instead"),
    ("chi of a free section", '"f_rsi"\nminimum', '"chi"\nmaximum', "[[requirement]]", "no χ"),
    ("5001 points", OUTSIDE, "edge = [" + "[0, 0], " * 5001 + "]", "[[environment]]", "more than 5000 points"),
    ("nested too deeply", BRICK, "polygon = " + "[" * 5000 + "]" * 5000, None, "nested too deeply"),
]


def line_of(text, needle):
    return text[: text.index(needle)].count("\n") + 1


def one_message(argv, capsys):
    """Run the command in this process; the one message that it gives."""
    status = main(argv)
    out, err = capsys.readouterr()
    assert status == 2
    assert out == ""
    assert err.count("\n") == 1
    assert err.endswith("\n")
    assert "Traceback" not in err
    return err


@pytest.mark.parametrize(("old", "new", "needle", "says"), [pytest.param(*c[1:], id=c[0]) for c in CHANGES])
def test_wrong_value_is_told(tmp_path, capsys, old, new, needle, says):
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1)
    file = tmp_path / "wrong.toml"
    file.write_text(text, encoding="utf-8")
    message = one_message(["check", str(file)], capsys)
    assert str(file) in message
    assert says in message
    if needle is not None:
        assert f"line {line_of(text, needle)}," in message or f"line {line_of(text, needle)}:" in message
    assert len(message) < 500 + len(str(file))


def test_the_file_that_is_changed_is_right(tmp_path, capsys):
    file = tmp_path / "right.toml"
    file.write_text(GOOD, encoding="utf-8")
    assert main(["check", str(file)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "2 environments (outside -5 °C, room 20 °C)" in out


FILES = [
    ("empty", b"", None, "empty"),
    ("only spaces", b" \n\n", None, "empty"),
    ("latin-1", GOOD.replace("Brick wall", "Maçonnerie").encode("latin-1"), 2, "UTF-8"),
    ("utf-16", GOOD.encode("utf-16"), 1, "UTF-16"),
    ("binary", b"junction\n\x00\x01\x02", 2, "binary"),
    ("too large", b"#" * 2_000_001, None, "MB"),
    ("a PDF", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", 2, "UTF-8"),
    ("a drawing", b"  0\nSECTION\n  2\nHEADER\n", 1, "not TOML"),
]


@pytest.mark.parametrize(("raw", "line", "says"), [pytest.param(*f[1:], id=f[0]) for f in FILES])
def test_wrong_file_is_told(tmp_path, capsys, raw, line, says):
    file = tmp_path / "wrong.toml"
    file.write_bytes(raw)
    message = one_message(["check", str(file)], capsys)
    assert f"{file}" in message
    assert says in message
    if line is not None:
        assert f"line {line}:" in message


def test_a_folder_and_a_missing_file_are_told(tmp_path, capsys):
    assert "folder" in one_message(["check", str(tmp_path)], capsys)
    assert "no such file" in one_message(["check", str(tmp_path / "none.toml")], capsys)
    assert "cannot be read" in one_message(["check", "a\0b"], capsys)
    assert "cannot be read" in one_message(["check", "x" * 5000], capsys)
    assert "not an ordinary file" in one_message(["check", os.devnull], capsys)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
@pytest.mark.parametrize("command", ["check", "solve", "report"])
def test_a_pipe_that_nobody_writes_is_not_waited_for(command: str, tmp_path: Path, capsys) -> None:
    pipe = tmp_path / "joist.toml"
    os.mkfifo(pipe)
    assert "not an ordinary file" in one_message([command, str(pipe)], capsys)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_is_told(tmp_path, capsys):
    file = tmp_path / "wrong.toml"
    file.write_text(GOOD, encoding="utf-8")
    file.chmod(0)
    assert "may not be read" in one_message(["check", str(file)], capsys)


def test_a_refusal_of_the_system_is_told(tmp_path, capsys, monkeypatch):
    def refuse(_path):
        raise PermissionError(13, "Permission denied")

    file = tmp_path / "wrong.toml"
    file.write_text(GOOD, encoding="utf-8")
    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert "may not be read" in one_message(["check", str(file)], capsys)


def test_the_first_of_several_mistakes_is_told(tmp_path, capsys):
    text = GOOD.replace("= 0.77", "= -1").replace("temperature = 20", 'temperature = "x"').replace("minimum", "maxi")
    file = tmp_path / "wrong.toml"
    file.write_text(text, encoding="utf-8")
    assert f"line {line_of(text, '= -1')}," in one_message(["check", str(file)], capsys)


@pytest.mark.parametrize("command", [["solve"], ["solve", "--json"], ["report"], ["check"]])
def test_a_process_of_its_own_says_the_same(tmp_path, command):
    file = tmp_path / "wrong.toml"
    file.write_text(GOOD.replace("= 0.77", "= -0.77"), encoding="utf-8")
    run = subprocess.run(
        [sys.executable, "-m", "bridge2d", *command, str(file)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=Path(__file__).parents[2],
        check=False,
    )
    assert run.returncode == 2
    assert run.stdout == ""
    assert run.stderr.count("\n") == 1
    assert f"{file}, line 6, " in run.stderr
    assert "conductivity" in run.stderr
    assert list(tmp_path.iterdir()) == [file]


def test_a_building_is_no_detail_and_the_message_says_which_command_takes_it(capsys):
    assert main(["report", "details/tollhouse_building.toml"]) == 2
    said = capsys.readouterr().err
    assert "this is a building with its junctions, not a detail" in said
    assert "bridge2d schedule" in said
