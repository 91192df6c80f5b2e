"""The rows of a sweep as a table: CSV, or Parquet for programs that read millions of rows."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bridge2d import nomenclature as n
from bridge2d.errors import MissingLibraryError
from bridge2d.shown_units import IN_SI, DisplayUnits

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis
    from bridge2d.variants.varied import Changes, Row

QUANTITIES = {"psi": n.PSI, "chi": n.CHI, "u": n.U_VALUE, "hatch": n.TRANSMISSION, "f": n.F_RSI}
"""What a number is of, by the beginning of its name."""
NO_PYARROW = "Parquet needs the library pyarrow: pip install 'bridge2d[parquet]'; or name a .csv file"


def quantity(name: str) -> n.Quantity:
    """What a number is of; pure numbers count as temperature factors.

    Args:
        name: of the number, such as "psi_external".
    """
    return QUANTITIES.get(name.partition("_")[0], n.F_RSI)


def title(name: str, shown: DisplayUnits = IN_SI) -> str:
    """A number's name with its unit, for an axis or a column.

    Args:
        name: of the number, such as "psi_external".
        shown: units of the number.
    """
    of, rest = quantity(name), name.partition("_")[2]
    words = " ".join(part for part in (of.plain_symbol, rest.removeprefix("rsi").replace("_", " ")) if part)
    return words if of.unit == n.F_RSI.unit else f"{words} [{shown.unit(of)}]"


def cell(row: Row, name: str, shown: DisplayUnits = IN_SI) -> str:
    """A number of a row with its bracket or tolerance, without its unit; empty where the row has none.

    Args:
        row: of a variant.
        name: of the number.
        shown: its units.
    """
    value, lower, upper, off = (row.get(f"{name}{part}") for part in ("", "_lower", "_upper", "_tolerance"))
    of = quantity(name)
    if isinstance(lower, float) and isinstance(upper, float):
        return shown.bounded(of, lower, upper, unit=False)
    return shown.estimate(of, value, off, unit=False) if isinstance(value, float) and isinstance(off, float) else ""


def numbers_of(swept: Sequence[tuple[Changes, Row]]) -> list[str]:
    """Names of the numbers with bounds or a tolerance that some row has.

    Args:
        swept: changes and row of every variant.
    """
    found = (name for _, row in swept for name in row if f"{name}_lower" in row or f"{name}_tolerance" in row)
    return list(dict.fromkeys(found))


def number_of(row: Row, name: str) -> float:
    """A number of a row [SI]; nan where it has none.

    Args:
        row: of a variant.
        name: of the number, such as "psi_external_lower".
    """
    value = row.get(name)
    return float(value) if isinstance(value, float | int) else math.nan


def table(axes: Sequence[Axis], swept: Sequence[tuple[Changes, Row]]) -> dict[str, list[Any]]:
    """The columns: what is varied in the file's units, then every number in SI with its bounds.

    Args:
        axes: what is varied.
        swept: changes and row of every variant.
    """
    names = list(dict.fromkeys(name for _, found in swept for name in found))
    columns: dict[str, list[Any]] = {axis.column: [changes[axis.name] for changes, _ in swept] for axis in axes}
    for name in [*(one for one in names if one not in ("status", "reason")), "status", "reason"]:
        unit = quantity(name).unit
        columns[name if unit == n.F_RSI.unit else f"{name} [{unit}]"] = [found.get(name) for _, found in swept]
    return columns


def csv_bytes(columns: dict[str, list[Any]]) -> bytes:
    """The table as CSV, UTF-8 with a mark that spreadsheets know; numbers to nine digits.

    Args:
        columns: see `table`.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    for cells in zip(*columns.values(), strict=True):
        writer.writerow(f"{cell:.9g}" if isinstance(cell, float) else "" if cell is None else cell for cell in cells)
    return out.getvalue().encode("utf-8-sig")


def parquet_bytes(columns: dict[str, list[Any]], told: dict[str, str]) -> bytes:
    """The table as Parquet.

    Args:
        columns: see `table`.
        told: metadata of the file.

    Raises:
        MissingLibraryError: pyarrow is not installed.
    """
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError:
        raise MissingLibraryError(NO_PYARROW) from None
    made = pa.table({name: pa.array(cells) for name, cells in columns.items()})
    out = io.BytesIO()
    parquet.write_table(made.replace_schema_metadata(told), out)
    return out.getvalue()
