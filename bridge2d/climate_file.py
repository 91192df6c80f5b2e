"""The climate of a detail file: its [climate], and the table beside it that the block may name.

Part of reading a detail file: keys and columns -> twelve months outside -> the room's air by ISO 13788.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bridge2d.climate import MONTHS, AirState, Climate
from bridge2d.climate_block import MONTHLY, READ, ClimateBlock
from bridge2d.detail_text import Source
from bridge2d.errors import InputError, QuantityError, nearest
from bridge2d.files_beside import Kind, bytes_beside, text_of
from bridge2d.standards import iso_13788

TABLE = Kind("table of the climate", "climate.csv", largest=100_000)
"""What a table of a climate is, as a file beside the detail file."""
COLUMNS_RIGHT = f"head it with month and columns of {', '.join(MONTHLY)}"
MOST_SATURATED = 1.05
"""Relative humidity above which two monthly means outside cannot belong together [1]; ours, for rounding and fog."""
ROOM = 20.0
"""Temperature of the room unless given [°C]."""

Lists = dict[str, tuple[float, ...]]


def climate_of(
    block: ClimateBlock, source: Source, attached: Mapping[str, bytes] | None = None
) -> tuple[Climate, dict[str, bytes]]:
    """The climate that a [climate] describes, and the files that it was read from, by name.

    Args:
        block: the keys.
        source: the detail file.
        attached: tables at hand by the name that the block gives them; None reads from the detail file's folder.

    Raises:
        InputError: the table is missing or wrong, or values are missing, given twice or do not fit together.
    """
    lists: Lists = {key: given for key in MONTHLY if (given := getattr(block, key)) is not None}
    files: dict[str, bytes] = {}
    if block.file is not None:
        path, data = bytes_beside(block.file, TABLE, ("climate", "file"), source, attached)
        for key, values in table_columns(data, path).items():
            if key in lists:
                raise source.error(("climate", key), "is a column of the table too", "give it in one of both places")
            lists[key] = values
        files[block.file] = data
    outside = _outside(lists, source)
    rule = _indoor_rule(block, lists, source)
    months = tuple(rule.air(k, *outside[k]) for k in range(12))
    coldest_day = _coldest_day(block, rule, outside)
    indoors = rule.words
    if block.heated_below is not None:
        indoors += f"; not heated in months warmer than {block.heated_below:g} °C outside"
    return Climate(block.name, block.source, indoors, months, coldest_day, block.heated_below), files


def _outside(lists: Lists, source: Source) -> list[tuple[float, float]]:
    """Temperature [°C] and vapour pressure [Pa] outside of each month."""
    if "outside_temperature" not in lists:
        right = "give outside_temperature as twelve values, or a file with that column"
        raise source.error(("climate",), "the temperatures outside are missing", right)
    by_humidity, by_pressure = "outside_humidity" in lists, "outside_vapour_pressure" in lists
    if by_humidity == by_pressure:
        message = "the humidity outside is given twice" if by_humidity else "the humidity outside is missing"
        right = "give outside_humidity or outside_vapour_pressure, one of both"
        raise source.error(("climate",), message, right)
    temperatures = lists["outside_temperature"]
    if by_humidity:
        humidities = lists["outside_humidity"]
        return [(t, iso_13788.vapour_pressure(t, phi)) for t, phi in zip(temperatures, humidities, strict=True)]
    found = list(zip(temperatures, lists["outside_vapour_pressure"], strict=True))
    for k, (temperature, pressure) in enumerate(found):
        humidity = iso_13788.relative_humidity(pressure, temperature)
        if humidity > MOST_SATURATED:
            message = (
                f"in {MONTHS[k]} {pressure:g} Pa is {100 * humidity:.0f} % of what saturates air of {temperature:g} °C"
            )
            raise source.error(("climate",), message, "check temperature and vapour pressure outside")
    return found


# -- the room's air ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Rule:
    """How the room's air follows from the air outside.

    Attributes:
        words: in a sentence.
        temperature: of the room by month [°C]; None for that of a continental climate.
        humidity: of the room by month [1], margin included; None where it follows from an excess or an occupancy.
        excess: vapour pressure excess at 0 °C outside, factor included [Pa].
        occupancy: "normal" or "high" for the humidity of a continental climate; else empty.
        margin: added to the humidity of an occupancy [1].
    """

    words: str
    temperature: tuple[float, ...] | None
    humidity: tuple[float, ...] | None = None
    excess: float = 0.0
    occupancy: str = ""
    margin: float = 0.0

    def air(self, month: int, external: float, external_pressure: float) -> AirState:
        """The air outside and in the room of a month, or of a day in it."""
        inside = iso_13788.continental_temperature(external) if self.temperature is None else self.temperature[month]
        if self.humidity is not None:
            pressure = iso_13788.vapour_pressure(inside, self.humidity[month])
        elif self.occupancy:
            humidity = iso_13788.continental_humidity(external, self.occupancy) + self.margin
            pressure = iso_13788.vapour_pressure(inside, humidity)
        else:
            pressure = external_pressure + iso_13788.falling_excess(self.excess, external)
        return AirState(external, external_pressure, inside, pressure)


def _indoor_rule(block: ClimateBlock, lists: Lists, source: Source) -> _Rule:
    ways = {
        "inside_humidity": "inside_humidity" in lists,
        "humidity_class": block.humidity_class is not None or block.vapour_excess is not None,
        "occupancy": block.occupancy is not None,
    }
    given = [way for way, is_given in ways.items() if is_given]
    if len(given) != 1:
        message = (
            f"the room's humidity is given by {' and '.join(given)}" if given else "the room's humidity is missing"
        )
        right = "give one of humidity_class, vapour_excess, occupancy and inside_humidity"
        raise source.error(("climate", given[-1]) if given else ("climate",), message, right)
    temperature = lists.get("inside_temperature")
    if given == ["occupancy"]:
        return _by_occupancy(block, temperature)
    constant = temperature or (ROOM,) * 12
    if given == ["humidity_class"]:
        return _by_excess(block, constant)
    margin = block.humidity_margin or 0.0
    humidity = tuple(min(phi + margin, 1.0) for phi in lists["inside_humidity"])
    words = f"relative humidity as given, {_span(lists['inside_humidity'], 100.0, '%')}{_plus(margin)}"
    return _Rule(f"{words}; room at {_span(constant, 1.0, '°C')}", constant, humidity)


def _by_excess(block: ClimateBlock, temperature: tuple[float, ...]) -> _Rule:
    factor = iso_13788.SAFETY_FACTOR if block.safety_factor is None else block.safety_factor
    number = block.humidity_class
    at_zero = iso_13788.VAPOUR_EXCESS[number] if block.vapour_excess is None and number else block.vapour_excess or 0.0
    what = f"humidity class {number}" if number else "vapour pressure excess as given"
    words = (
        f"{what}: {at_zero:g} Pa × {factor:.2f} over the air outside at 0 °C and below, none at 20 °C; "
        f"room at {_span(temperature, 1.0, '°C')}"
    )
    return _Rule(words, temperature, excess=at_zero * factor)


def _by_occupancy(block: ClimateBlock, temperature: tuple[float, ...] | None) -> _Rule:
    occupancy, margin = str(block.occupancy), block.humidity_margin or 0.0
    (_, low), (_, high) = iso_13788.CONTINENTAL_HUMIDITY[occupancy]
    warmth = "20 to 25 °C after the air outside" if temperature is None else _span(temperature, 1.0, "°C")
    words = (
        f"continental climate, {occupancy} occupancy: {100 * low:g} % at −10 °C outside to {100 * high:g} % at "
        f"20 °C{_plus(margin)}; room at {warmth}"
    )
    return _Rule(words, temperature, occupancy=occupancy, margin=margin)


def _plus(margin: float) -> str:
    return f" + {100 * margin:g} % as a margin" if margin else ""


def _span(values: tuple[float, ...], scale: float, unit: str) -> str:
    low, high = min(values) * scale, max(values) * scale
    return f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"


def _coldest_day(block: ClimateBlock, rule: _Rule, outside: list[tuple[float, float]]) -> AirState | None:
    """The air on the coldest day, its room that of the coldest month."""
    if block.coldest_day is None:
        return None
    month = min(range(12), key=lambda k: outside[k][0])
    pressure = iso_13788.vapour_pressure(block.coldest_day, iso_13788.COLDEST_DAY_HUMIDITY)
    return rule.air(month, block.coldest_day, pressure)


# -- the table -----------------------------------------------------------------------------------------------------


def table_columns(data: bytes, path: str) -> Lists:
    """The columns of a table of a climate, by name: twelve values each.

    The first row names the columns; commas or semicolons part them, and beside semicolons a comma may stand for the
    point of a decimal. Rows that begin with # are remarks.

    Args:
        data: the file's bytes.
        path: of the file, for messages.

    Raises:
        InputError: whatever is wrong with it, with its line.
    """
    text = text_of(data, path)
    rows = [(k, row) for k, row in enumerate(text.splitlines(), start=1) if row.strip() and not row.startswith("#")]
    if not rows:
        raise InputError("the table is empty", file=path, right=COLUMNS_RIGHT)
    first, head = rows[0]
    parted = ";" if ";" in head else ","
    columns = _columns(_cells(head, parted), path, first)
    if len(rows) != 13:
        last = rows[-1][0]
        message = f"the table has {len(rows) - 1} rows of values"
        raise InputError(message, file=path, line=last, right="give twelve, January to December")
    found: dict[str, list[float]] = {name: [] for name in columns if name != "month"}
    for number, (line, row) in enumerate(rows[1:], start=1):
        for name, value in _values(_cells(row, parted), columns, number, parted, path, line).items():
            found[name].append(value)
    return {name: tuple(values) for name, values in found.items()}


def _cells(row: str, parted: str) -> list[str]:
    return [cell.strip().strip('"') for cell in row.split(parted)]


def _columns(cells: list[str], path: str, line: int) -> list[str]:
    for name in cells:
        if name not in ("month", *MONTHLY):
            like = nearest(name, ("month", *MONTHLY))
            right = f"did you mean {like!r}?" if like else COLUMNS_RIGHT
            raise InputError(f"unknown column {name[:60]!r}", file=path, line=line, right=right)
        if cells.count(name) > 1:
            raise InputError(f"the column {name} is there twice", file=path, line=line, right="keep one of both")
    if "month" not in cells:
        raise InputError("the column month is missing", file=path, line=line, right=COLUMNS_RIGHT)
    return cells


def _values(cells: list[str], columns: list[str], number: int, parted: str, path: str, line: int) -> dict[str, float]:
    """The values of a row by column."""
    if len(cells) != len(columns):
        right = f"give {len(columns)}, one for each of {', '.join(columns)}"
        raise InputError(f"the row has {len(cells)} cells", file=path, line=line, right=right)
    found = {}
    for name, cell in zip(columns, cells, strict=True):
        if name == "month":
            if cell not in (str(number), f"{number:02d}", MONTHS[number - 1]):
                right = f"the months stand in their order, {number} ({MONTHS[number - 1]}) here"
                raise InputError(f"{cell[:40]!r} is not that month", file=path, line=line, key=name, right=right)
            continue
        try:
            found[name] = READ[name](_typed(cell.replace(",", ".") if parted == ";" else cell))
        except QuantityError as error:
            raise InputError(error.message, file=path, line=line, key=name, right=error.right) from None
    return found


def _typed(cell: str) -> float | str:
    """A cell as a detail file would hold it: a number, or text."""
    try:
        return float(cell)
    except ValueError:
        return cell
