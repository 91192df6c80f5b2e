"""The rows of a sweep as a table: CSV, or Parquet for programs that read millions of rows."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bridge2d.errors import MissingLibraryError

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis
    from bridge2d.variants.varied import Changes, Row

UNITS = {
    "psi": "W/(m·K)",
    "chi": "W/K",
    "u": "W/(m²·K)",
    "hatch": "W/K",
}
"""Unit of a number by the beginning of its name; others have none."""
NO_PYARROW = "Parquet needs the library pyarrow: pip install 'bridge2d[parquet]'; or name a .csv file"


def table(axes: Sequence[Axis], swept: Sequence[tuple[Changes, Row]]) -> dict[str, list[Any]]:
    """The columns: what is varied in the file's units, then every number in SI with its bounds.

    Args:
        axes: what is varied.
        swept: changes and row of every variant.
    """
    names = list(dict.fromkeys(name for _, found in swept for name in found))
    columns: dict[str, list[Any]] = {axis.column: [changes[axis.name] for changes, _ in swept] for axis in axes}
    for name in [*(n for n in names if n not in ("status", "reason")), "status", "reason"]:
        unit = UNITS.get(name.partition("_")[0], "")
        columns[f"{name} [{unit}]" if unit else name] = [found.get(name) for _, found in swept]
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
