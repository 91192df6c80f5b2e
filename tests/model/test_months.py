"""What a climate asks of a detail by month. Each expected value says whether it is exact or remembered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bridge2d.calculate import calculate
from bridge2d.climate import MONTHS, AirState, ByMonth, Climate
from bridge2d.detail import Detail
from bridge2d.detail_file import read
from bridge2d.months import ON_FRAMES, by_month
from bridge2d.results import DetailResult
from bridge2d.standards import iso_13788
from tests.small_detail import BARE_WALL

# an invented year: temperature [°C] and relative humidity outside
YEAR = [
    (-1.0, 0.85),
    (0.0, 0.84),
    (4.0, 0.78),
    (9.0, 0.72),
    (14.0, 0.68),
    (18.0, 0.69),
    (19.0, 0.73),
    (19.0, 0.75),
    (15.0, 0.79),
    (10.0, 0.83),
    (5.0, 0.88),
    (1.0, 0.88),
]
WALL = BARE_WALL.replace(
    "surface_resistance = 0.16\n", "surface_resistance = 0.13\nsurface_resistance_f_rsi = {resistance}\n"
)
JOIST = 'junction = "joist_pocket"\n[parameters]\noutside_temperature = {outside}\n'


def climate(coldest: tuple[float, float] | None = None, heated_below: float | None = None) -> Climate:
    """Class 3 with the factor 1.10 on the invented year."""

    def air(external: float, humidity: float) -> AirState:
        outside = iso_13788.vapour_pressure(external, humidity)
        return AirState(external, outside, 20.0, iso_13788.internal_vapour_pressure(external, humidity, 3))

    day = air(*coldest) if coldest else None
    return Climate("invented", "invented", "class 3", tuple(air(*one) for one in YEAR), day, heated_below)


def detail(text: str) -> Detail:
    return read(text, Path("invented.toml")).detail


@pytest.fixture(scope="module")
def wall() -> DetailResult:
    return calculate(detail(WALL.format(resistance=0.25)))


@pytest.fixture(scope="module")
def joist() -> DetailResult:
    return calculate(replace(detail(JOIST.format(outside=-5)), climate=climate()))


def test_critical_month_is_the_standard_s(wall: DetailResult) -> None:
    found = by_month(climate(), wall.sections)
    # exact: the same year through the standard's own steps (February, 15.45 °C, 0.773 recomputed independently)
    expected = iso_13788.critical_month(YEAR, 20.0, 3)
    assert found.critical_mould == expected.index == 1
    need = found.needs[1]
    assert (need.mould, need.surface_temperature) == (expected.f_rsi, expected.surface_temperature)
    assert need.mould == pytest.approx(0.773, abs=0.0005)
    wet = iso_13788.critical_month(YEAR, 20.0, 3, critical_humidity=1.0)
    assert found.critical_condensation == wet.index
    assert found.needs[wet.index].condensation == wet.f_rsi


def test_margin_of_a_plane_wall_is_exact(wall: DetailResult) -> None:
    found = by_month(climate(), wall.sections)
    # exact: a plane wall with 0.04 + 0.32/0.8 + 0.25 m²·K/W
    factor = 1.0 - 0.25 / 0.69
    mould = next(one for one in found.margins if one.criterion == "mould")
    assert mould.margin == pytest.approx(factor - iso_13788.critical_month(YEAR, 20.0, 3).f_rsi, abs=1e-3)
    assert not mould.met
    assert mould.certain
    assert mould.month == 1
    assert {one.criterion for one in found.told_margins} == {"mould", "condensation"}


def test_a_limit_within_the_tolerance_is_undecided(wall: DetailResult) -> None:
    [section] = wall.sections
    asked = iso_13788.critical_month(YEAR, 20.0, 3).f_rsi
    for value, met, certain in (
        (asked + 0.002, True, True),
        (asked + 0.0005, False, False),
        (asked - 0.002, False, True),
    ):
        factor = replace(section.f_rsi[0], value=value, tolerance=0.001)
        found = by_month(climate(), (replace(section, f_rsi=(factor,)),))
        assert (found.margins[0].met, found.margins[0].certain) == (met, certain)


def test_condensation_is_told_only_where_mould_is_not_kept(wall: DetailResult) -> None:
    [section] = wall.sections
    good = replace(section, f_rsi=(replace(section.f_rsi[0], value=0.95),))
    assert [one.criterion for one in by_month(climate(), (good,)).told_margins] == ["mould"]


def test_months_without_heating_ask_for_nothing(wall: DetailResult) -> None:
    found = by_month(climate(heated_below=12.0), wall.sections)
    assert [need.mould is None for need in found.needs] == [t >= 12.0 for t, _ in YEAR]
    hot = replace(climate(), months=tuple(replace(air, external=25.0) for air in climate().months))
    nothing = by_month(hot, wall.sections)
    assert nothing.critical_mould is None
    assert nothing.margins == ()


def test_frames_are_judged_on_the_coldest_day() -> None:
    frame = calculate(detail(WALL.format(resistance=0.13)))
    found = by_month(climate(coldest=(-12.0, 0.95)), frame.sections)
    # exact: dew point of the room's air, p_e + 1.1·810 Pa
    room = iso_13788.vapour_pressure(-12.0, 0.95) + 1.1 * 810.0
    expected = (iso_13788.saturation_temperature(room) + 12.0) / 32.0
    assert found.glazing == pytest.approx(expected, rel=1e-12)
    [margin] = [one for one in found.margins if one.criterion == "glazing"]
    assert margin.month is None
    assert margin.asked == found.glazing


def test_opaque_surfaces_are_not_judged_as_frames(wall: DetailResult) -> None:
    found = by_month(climate(coldest=(-12.0, 0.95)), wall.sections)
    assert {one.criterion for one in found.margins} == {"mould", "condensation"}
    glazed = by_month(climate(coldest=(-12.0, 0.95)), wall.sections, glazed=True)
    assert "glazing" in {one.criterion for one in glazed.margins}
    assert ON_FRAMES in glazed.notes


def test_a_room_that_is_not_the_warmest_is_left_out(wall: DetailResult) -> None:
    [result] = wall.sections
    attic = replace(result.section.environments[1], name="hall", temperature=24.0)
    section = replace(result.section, environments=(*result.section.environments, attic))
    found = by_month(climate(), (replace(result, section=section),))
    assert found.margins == ()
    assert any("room in section is not the warmest" in note for note in found.notes)
    assert any("3 environments" in note for note in found.notes)


# -- timber ----------------------------------------------------------------------------------------------------------


def told(result: DetailResult) -> ByMonth:
    assert result.by_month is not None
    return result.by_month


def test_timber_by_month_is_what_a_solution_of_that_month_gives(joist: DetailResult) -> None:
    [end] = told(joist).timber
    for k in (0, 4):
        solved = calculate(detail(JOIST.format(outside=YEAR[k][0])))
        lines = [line for section in solved.sections for line in section.watched]
        lowest = min(lines, key=lambda line: line.temperature_f_rsi)
        # exact: heat conduction is linear in the temperatures of two environments; within both solutions' tolerance
        assert end.months[k].temperature == pytest.approx(lowest.temperature_f_rsi, abs=lowest.tolerance + 0.02)


def test_timber_comes_from_the_section_that_shows_it_coldest(joist: DetailResult) -> None:
    [end] = told(joist).timber
    lines = [line for section in joist.sections for line in section.watched]
    assert len(lines) == 2
    lowest = min(lines, key=lambda line: line.temperature_f_rsi)
    assert end.section == lowest.section
    assert end.factor == pytest.approx((lowest.temperature_f_rsi + 5.0) / 25.0, rel=1e-12)
    assert MONTHS[end.coldest] == "January"


def test_humidity_at_the_timber_is_pressure_against_saturation(joist: DetailResult) -> None:
    [end] = told(joist).timber
    for air, one in zip(told(joist).climate.months, end.months, strict=True):
        assert one.saturation_pressure == iso_13788.saturation_pressure(one.temperature)
        assert one.room_air == pytest.approx(air.internal_pressure / one.saturation_pressure)
        assert one.outside_air == pytest.approx(air.external_pressure / one.saturation_pressure)
    assert end.months[0].room_air > 1.0 > end.months[0].outside_air


def test_timber_between_three_environments_is_left_out(joist: DetailResult) -> None:
    first = joist.sections[0]
    three = (*first.section.environments, replace(first.section.environments[0], name="cellar", temperature=8.0))
    changed = replace(first, section=replace(first.section, environments=three))
    found = by_month(climate(), (changed,))
    assert found.timber == ()
    assert any("watched lines" in note for note in found.notes)


def test_a_detail_without_climate_has_no_months(wall: DetailResult) -> None:
    assert wall.by_month is None
