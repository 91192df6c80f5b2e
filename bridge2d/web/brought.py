"""What the processes do with files from elsewhere: a report, a drawing, a table. Part of `work`."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def rechecked(file: str) -> dict[str, Any]:
    """A report taken apart and computed again, as `bridge2d recheck` does.

    Args:
        file: path of the PDF.

    Raises:
        InputError: it is no report.
    """
    from bridge2d.recheck import recheck
    from bridge2d.recheck.words import as_json, as_text

    done = recheck(Path(file))
    return {"text": as_text(done), **as_json(done)}


def drawing_layers(data: bytes, name: str) -> tuple[str, ...]:
    """The layers of a DXF on which something is drawn; refuses what is no drawing.

    Args:
        data: its bytes.
        name: of the file.

    Raises:
        InputError: it is no DXF in text form, is damaged or too large.
    """
    from bridge2d.dxf.reading import read_shapes

    return read_shapes(data, name, ()).layers


def climate_columns(data: bytes, name: str) -> tuple[str, ...]:
    """The columns of a climate's table; refuses what cannot be read as one.

    Args:
        data: its bytes.
        name: of the file.

    Raises:
        InputError: it is none, with its line.
    """
    from bridge2d.climate_file import table_columns

    return tuple(table_columns(data, name))


def limit_sets(text: str, name: str) -> list[str]:
    """The names of a file's own sets of limits; refuses what is no such file.

    Args:
        text: TOML.
        name: of the file.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.requirement_sets import own_sets

    return list(own_sets(text.encode("utf-8"), name))
