"""A climate in a detail file: lists or a table, the room's air, and one message for whatever is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.climate import Climate
from bridge2d.climate_file import table_columns
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.errors import InputError
from bridge2d.months_words import critical_lines
from bridge2d.standards import iso_13788

ROOT = Path(__file__).parents[2]
WALL = """\
junction = "wall_corner"
title = "Corner (invented)"
"""
TEMPERATURES = [-1, 0, 4, 9, 14, 18, 19, 19, 15, 10, 5, 1]
HUMIDITIES = [0.85, 0.84, 0.78, 0.72, 0.68, 0.69, 0.73, 0.75, 0.79, 0.83, 0.88, 0.88]
HEAD = """
[climate]
name = "invented"
source = "invented"
"""
LISTS = f"{HEAD}outside_temperature = {TEMPERATURES}\noutside_humidity = {HUMIDITIES}\n"
ROWS = "\n".join(f"{k},{t},{h}" for k, (t, h) in enumerate(zip(TEMPERATURES, HUMIDITIES, strict=True), start=1))
TABLE = f"# invented\nmonth,outside_temperature,outside_humidity\n{ROWS}\n"


def loaded(text: str, **attached: str) -> LoadedDetail:
    files = {f"{name}.csv": table.encode() for name, table in attached.items()}
    return read(WALL + text, Path("invented.toml"), attached=files)


def climate(text: str, **attached: str) -> Climate:
    found = loaded(text, **attached).detail.climate
    assert found is not None
    return found


def test_lists_and_a_table_give_the_same_climate():
    with_lists = loaded(f"{LISTS}humidity_class = 3\n")
    with_table = loaded(f'{HEAD}file = "year.csv"\nhumidity_class = 3\n', year=TABLE)
    assert with_lists.detail.climate == with_table.detail.climate
    assert with_lists.input_hash == with_table.input_hash
    assert dict(with_table.files) == {"year.csv": TABLE.encode()}
    assert [air.external for air in climate(f"{LISTS}humidity_class = 3\n").months] == TEMPERATURES


def test_semicolons_decimal_commas_percent_and_names_of_months():
    rows = [row.split(",") for row in TABLE.splitlines()[2:]]
    table = "month;outside_temperature;outside_humidity\n" + "\n".join(
        f"{k};{t},0;{100 * float(h):.0f} %" for k, t, h in rows
    )
    assert table_columns(table.encode(), "year.csv") == table_columns(TABLE.encode(), "year.csv")
    named = TABLE.replace("\n1,", "\nJanuary,").replace("\n2,", "\n02,")
    assert table_columns(named.encode(), "year.csv") == table_columns(TABLE.encode(), "year.csv")


def test_a_humidity_class_adds_its_excess():
    # exact: p_e + 1.10 · 810 Pa at 0 °C and below, half of it at 10 °C
    months = climate(f"{LISTS}humidity_class = 3\n").months
    assert months[1].internal_pressure == pytest.approx(iso_13788.vapour_pressure(0.0, 0.84) + 891.0)
    assert months[9].internal_pressure == pytest.approx(iso_13788.vapour_pressure(10.0, 0.83) + 445.5)
    bare = climate(f"{LISTS}humidity_class = 3\nsafety_factor = 1\n").months
    assert bare[1].internal_pressure == pytest.approx(iso_13788.vapour_pressure(0.0, 0.84) + 810.0)


def test_class_5_takes_an_excess_of_its_own():
    months = climate(f"{LISTS}humidity_class = 5\nvapour_excess = 1400\ninside_temperature = 28\n").months
    assert months[1].internal_pressure == pytest.approx(iso_13788.vapour_pressure(0.0, 0.84) + 1540.0)
    assert months[1].internal == 28.0


def test_humidity_of_the_room_as_given():
    one = climate(f'{LISTS}inside_humidity = "50 %"\ninside_temperature = 21\n').months
    twelve = climate(f"{LISTS}inside_humidity = {[0.5] * 12}\ninside_temperature = {[21] * 12}\n").months
    assert one == twelve
    assert one[0].internal_pressure == pytest.approx(iso_13788.vapour_pressure(21.0, 0.5))
    more = climate(f"{LISTS}inside_humidity = 0.5\nhumidity_margin = 0.05\n").months
    assert more[0].internal_pressure == pytest.approx(iso_13788.vapour_pressure(20.0, 0.55))


def test_a_continental_climate_sets_temperature_and_humidity():
    months = climate(f'{LISTS}occupancy = "high"\n').months
    assert months[6].internal == pytest.approx(iso_13788.continental_temperature(19.0))
    humidity = iso_13788.continental_humidity(19.0, "high")
    assert months[6].internal_pressure == pytest.approx(iso_13788.vapour_pressure(months[6].internal, humidity))


def test_vapour_pressures_outside_and_the_coldest_day():
    pressures = [round(iso_13788.vapour_pressure(t, h)) for t, h in zip(TEMPERATURES, HUMIDITIES, strict=True)]
    text = f"{HEAD}outside_temperature = {TEMPERATURES}\noutside_vapour_pressure = {pressures}\nhumidity_class = 2\n"
    found = climate(f'{text}coldest_day = "-12 °C"\n')
    assert [air.external_pressure for air in found.months] == pressures
    assert found.coldest_day is not None
    assert found.coldest_day.external == -12.0
    assert found.coldest_day.external_pressure == pytest.approx(iso_13788.vapour_pressure(-12.0, 0.95))


def test_a_climate_changes_the_fingerprint_and_nothing_else_does():
    without = loaded("").input_hash
    with_climate = loaded(f"{LISTS}humidity_class = 3\n").input_hash
    assert without != with_climate
    assert loaded(f"{LISTS}humidity_class = 2\n").input_hash != with_climate
    assert loaded(f"{LISTS.replace('0.85', chr(34) + '85 %' + chr(34))}humidity_class = 3\n").input_hash == with_climate


def test_months_that_are_not_heated_are_told():
    found = climate(f"{LISTS}humidity_class = 3\nheated_below = 15\n")
    assert found.heated_below == 15.0
    assert "not heated in months warmer than 15 °C outside" in found.indoors


def test_the_readme_s_climate_is_read():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    block = readme[readme.index("[climate]\nname") :]
    table = (ROOT / "details" / "tollhouse_climate.csv").read_text(encoding="utf-8")
    assert "invented" in table
    found = climate(block[: block.index("```")], tollhouse_climate=table)
    assert found.months == load(ROOT / "details" / "tollhouse_joist.toml").detail.climate.months


# -- wrong files -----------------------------------------------------------------------------------------------------

CLASS = "humidity_class = 3\n"
WRONG = [
    # what is said in the [climate], what the message says beside file and line
    (f"{LISTS}{CLASS}".replace('name = "invented"\n', ""), "the key name is missing"),
    (f"{LISTS}{CLASS}".replace('source = "invented"\n', ""), "the key source is missing"),
    (f"{LISTS}{CLASS}colour = 3\n", "unknown key 'colour'"),
    (f"{LISTS}{CLASS}".replace("humidity_class", "humidity_clas"), "did you mean 'humidity_class'"),
    (
        f"{LISTS}{CLASS}".replace("[climate]", "[[climate]]"),
        "climate: is not a table; write [climate] on a line of its own",
    ),
    (f"{LISTS}{CLASS}".replace("[-1, 0,", "["), "has 10 values; give twelve"),
    (f"{LISTS}{CLASS}".replace("[-1,", '["cold",'), "value 1"),
    (f"{LISTS}{CLASS}".replace("[-1,", "[-80,"), "-80 °C is beyond what is allowed; give -50 to 50 °C"),
    (f"{LISTS}{CLASS}".replace("0.85", "85"), 'write 0.85 or "85 %"'),
    (f"{LISTS}{CLASS}".replace("0.85", "nan"), "value 1"),
    (f"{LISTS}{CLASS}".replace("0.85", "true"), "value 1"),
    (f"{LISTS}{CLASS}".replace(str(TEMPERATURES), "7"), "is not a list"),
    (f"{HEAD}outside_humidity = {HUMIDITIES}\n{CLASS}", "the temperatures outside are missing"),
    (f"{HEAD}outside_temperature = {TEMPERATURES}\n{CLASS}", "the humidity outside is missing"),
    (f"{LISTS}outside_vapour_pressure = {[500] * 12}\n{CLASS}", "the humidity outside is given twice"),
    (
        f"{HEAD}outside_temperature = {TEMPERATURES}\noutside_vapour_pressure = {[900] * 12}\n{CLASS}",
        "in January 900 Pa is 160 % of what saturates air of -1 °C",
    ),
    (
        f"{HEAD}outside_temperature = {TEMPERATURES}\noutside_vapour_pressure = {[0] * 12}\n{CLASS}",
        "no vapour pressure",
    ),
    (LISTS, "the room's humidity is missing"),
    (f"{LISTS}{CLASS}inside_humidity = 0.5\n", "given by inside_humidity and humidity_class"),
    (f"{LISTS}humidity_class = 7\n", "there is no humidity class 7"),
    (f"{LISTS}humidity_class = 5\n", "class 5 has no upper limit"),
    (f"{LISTS}humidity_class = 2\nvapour_excess = 500\n", "has its own excess"),
    (f"{LISTS}inside_humidity = 0.5\nsafety_factor = 1.1\n", "no vapour excess to be multiplied"),
    (f"{LISTS}{CLASS}humidity_margin = 0.05\n", "no relative humidity to be added to"),
    (f"{LISTS}{CLASS}safety_factor = 5\n", "give 1 to 2"),
    (f'{LISTS}occupancy = "some"\n', "write 'normal' or 'high'"),
    (f'{LISTS}{CLASS}file = "year.csv"\n', "outside_temperature: is a column of the table too"),
    (f'{HEAD}{CLASS}file = "other.csv"\n', "the table of the climate 'other.csv' is not at hand"),
]


@pytest.mark.parametrize(("text", "said"), WRONG, ids=range(len(WRONG)))
def test_wrong_block_gives_one_message(text: str, said: str):
    with pytest.raises(InputError) as caught:
        loaded(text, year=TABLE)
    assert said in str(caught.value)
    assert str(caught.value).startswith("invented.toml, line ")
    assert "\n" not in str(caught.value)


TABLES = [
    # the table, the line that the message names, what it says
    ("", None, "the table is empty"),
    ("# only a remark\n", None, "the table is empty"),
    (TABLE.replace("month,", ""), 2, "the column month is missing"),
    (TABLE.replace("outside_humidity", "outside_humidty"), 2, "did you mean 'outside_humidity'"),
    (TABLE.replace("outside_humidity", "outside_temperature"), 2, "outside_temperature is there twice"),
    (TABLE.replace("12,1,0.88\n", ""), 13, "the table has 11 rows of values"),
    (f"{TABLE}13,1,0.88\n", 15, "the table has 13 rows of values"),
    (TABLE.replace("\n3,4,", "\n4,4,"), 5, "'4' is not that month; the months stand in their order, 3 (March) here"),
    (TABLE.replace("\n3,4,0.78", "\n3,4"), 5, "the row has 2 cells"),
    (TABLE.replace("\n3,4,0.78", "\n3,4,0,78"), 5, "the row has 4 cells"),
    (TABLE.replace("\n3,4,", "\n3,warm,"), 5, "outside_temperature: "),
    (TABLE.replace("\n3,4,", "\n3,nan,"), 5, "outside_temperature: "),
    (TABLE.replace("\n3,4,", "\n3,1e9,"), 5, "beyond what is allowed"),
    (TABLE.replace("0.78", "78"), 5, 'write 0.78 or "78 %"'),
    (TABLE.replace("0.78", "78 % wet"), 5, "is no relative humidity"),
    (TABLE.replace("0.78", ""), 5, "is no relative humidity"),
    (TABLE.replace("0.78", "nan %"), 5, "'nan' is not a number"),
    (TABLE.replace("0.78", "1 %"), 5, "is no relative humidity; write a number from 0.05 to 1"),
]


@pytest.mark.parametrize(("table", "line", "said"), TABLES, ids=range(len(TABLES)))
def test_wrong_table_gives_one_message_with_its_line(table: str, line: int | None, said: str):
    with pytest.raises(InputError) as caught:
        loaded(f'{HEAD}{CLASS}file = "year.csv"\n', year=table)
    assert caught.value.file == "year.csv"
    assert caught.value.line == line
    assert said in str(caught.value)


def test_a_table_that_is_no_text():
    with pytest.raises(InputError, match="line 2: the byte 0xff is not UTF-8"):
        table_columns(b"month\n\xff", "year.csv")


@pytest.mark.parametrize("name", ["../year.csv", "/etc/hostname", "missing.csv", ".", "a\0b"])
def test_nothing_outside_the_folder_is_opened(tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]):
    (tmp_path / "year.csv").write_text(TABLE, encoding="utf-8")
    folder = tmp_path / "details"
    folder.mkdir()
    detail = folder / "corner.toml"
    detail.write_text(f"{WALL}{HEAD}{CLASS}file = {json.dumps(name)}\n", encoding="utf-8")
    assert main(["check", str(detail)]) == 2
    said = capsys.readouterr().err
    assert f"{detail}, line 8, climate.file" in said
    assert len(said.splitlines()) == 1


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path):
    (tmp_path / "year.csv").write_text(TABLE, encoding="utf-8")
    folder = tmp_path / "details"
    folder.mkdir()
    (folder / "year.csv").symlink_to(tmp_path / "year.csv")
    detail = folder / "corner.toml"
    detail.write_text(f'{WALL}{HEAD}{CLASS}file = "year.csv"\n', encoding="utf-8")
    with pytest.raises(InputError, match="lies outside the detail file's folder"):
        load(detail)


def test_a_large_table_is_refused():
    with pytest.raises(InputError, match=r"has 0\.2 MB; a table of the climate may have 0\.1 MB"):
        loaded(f'{HEAD}{CLASS}file = "year.csv"\n', year="#" * 200_000)


# -- what comes out --------------------------------------------------------------------------------------------------


def test_screen_and_json_tell_the_months(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    (tmp_path / "year.csv").write_text(TABLE, encoding="utf-8")
    detail = tmp_path / "joist.toml"
    text = (ROOT / "details" / "tollhouse_joist.toml").read_text(encoding="utf-8")
    detail.write_text(f'{text[: text.index("[climate]")]}{HEAD}{CLASS}file = "year.csv"\n', encoding="utf-8")
    assert main(["solve", str(detail), "--tolerance", "0.01"]) == 0
    screen = capsys.readouterr().out
    assert "critical month for mould: February, asks for fRsi ≥ 0.773" in screen
    assert "kept: mould, 80 % at the surface, February: inside (plan)" in screen
    assert "gives no verdict on decay" in screen
    assert main(["solve", str(detail), "--json", "--tolerance", "0.01"]) == 0
    told = json.loads(capsys.readouterr().out)["climate"]
    assert told["critical_month"] == {"mould": 1, "condensation": 0}
    assert [one["month"] for one in told["months"]][:2] == ["January", "February"]
    assert told["months"][1]["f_rsi_mould"] == pytest.approx(0.773, abs=0.0005)
    [end] = told["timber"]
    assert end["name"] == "joist's end face"
    assert len(end["months"]) == 12
    assert told["caution"]


def test_a_detail_without_climate_says_nothing_of_months(capsys: pytest.CaptureFixture[str]):
    corner = str(ROOT / "details" / "validation" / "iso_14683_corner_insulated_inside.toml")
    main(["solve", corner, "--json", "--tolerance", "0.01"])
    assert json.loads(capsys.readouterr().out)["climate"] is None
    main(["solve", corner, "--tolerance", "0.01"])
    assert "Climate by month" not in capsys.readouterr().out


def asked(text: str) -> list[str]:
    """What the critical months of a climate ask for of a corner, as the screen has it."""
    found = calculate(loaded(text).detail, 0.1).by_month
    assert found is not None
    return critical_lines(found)


def test_a_year_that_asks_for_nothing_and_one_that_asks_for_too_much():
    warm = f"{HEAD}outside_temperature = {[25.0] * 12}\noutside_humidity = {[0.5] * 12}\ninside_humidity = 0.5\n"
    assert asked(warm) == ["no month asks for anything: none is colder outside than the room and counted as heated"]
    damp = f"{LISTS}inside_temperature = 20\ninside_humidity = 0.95\n"
    # at 80 % on the surface a room of 95 % has to have a surface warmer than its air (ISO 13788, 5.3)
    assert any(line.startswith("a temperature factor above 1 cannot be built") for line in asked(damp))
