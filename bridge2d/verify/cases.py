"""Reads the published cases: the table cases.toml in the folder of their detail files.

The first step of a verification. The folder travels with the package; in a checkout it is details/validation.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bridge2d.errors import InputError
from bridge2d.verify.records import KINDS, Case, Expected

TABLE = "cases.toml"
UNITS = {
    "l2d": "W/(m·K)",
    "l2d_product": "1",
    "l2d_between": "W/(m·K)",
    "heat_flow": "W/m",
    "temperature": "°C",
    "psi": "W/(m·K)",
    "chi": "W/K",
    "conductivity": "W/(m·K)",
    "formula": "",
}
"""Quantities that a case may have, with the unit of each in a plane section."""
OF_REVOLUTION = {"l2d": "W/K", "heat_flow": "W"}
LABELS = {
    "l2d": "L2D",
    "heat_flow": "heat flow from {}",
    "temperature": "temperature at {}",
    "psi": "Ψ, {} dimensions",
    "chi": "χ",
    "conductivity": "conductivity of {}",
}
TOLERANCE = 1e-3


def cases_folder() -> Path:
    """The folder of the published cases.

    Raises:
        InputError: it is neither in the package nor in a checkout.
    """
    package = Path(__file__).parent.parent
    places = (package / "data" / "validation", package.parent / "details" / "validation")
    for place in places:
        if (place / TABLE).is_file():
            return place
    right = "install the package anew, or run the command in a checkout that has details/validation"
    raise InputError("the published cases are missing", file=str(places[0]), key="verify", right=right)


def published_cases(folder: Path | None = None) -> tuple[Case, ...]:
    """All published cases, in the order of the table.

    Args:
        folder: of the table and its detail files; the one of this package unless given.

    Raises:
        InputError: the folder is missing, or the table is not one.
    """
    import tomllib

    folder = folder or cases_folder()
    try:
        data = tomllib.loads((folder / TABLE).read_text(encoding="utf-8"))
        return tuple(_case(block, folder) for block in data["case"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        right = "it comes with the package and is not to be changed"
        raise InputError(
            f"the table of the published cases cannot be read: {error}", file=str(folder / TABLE), right=right
        ) from None


def _case(block: dict[str, Any], folder: Path) -> Case:
    files = tuple(folder / name for name in block.get("files", ()))
    round_axis = bool(files) and "\nrevolution = true" in files[0].read_text(encoding="utf-8")
    expected = tuple(_expected(one, block["kind"], round_axis) for one in block["value"])
    return Case(
        block["name"],
        block["title"],
        block["group"],
        block["source"],
        block.get("note", ""),
        files,
        float(block.get("tolerance", TOLERANCE)),
        expected,
    )


def _expected(one: dict[str, Any], kind: str, round_axis: bool) -> Expected:
    quantity = one["quantity"]
    if quantity not in UNITS or kind not in KINDS:
        raise ValueError(f"{quantity!r} or {kind!r} is not known")
    between = tuple(float(end) for end in one["between"]) if "between" in one else None
    label = "L3D" if round_axis and quantity == "l2d" else LABELS.get(quantity, "").format(one.get("of", ""))
    units = UNITS | OF_REVOLUTION if round_axis else UNITS
    return Expected(
        quantity,
        one.get("label", label),
        one.get("unit", units[quantity]),
        0.5 * sum(between) if between else float(one["theirs"]),
        float(one.get("band", 0.0)),
        one.get("kind", kind),
        one.get("of", ""),
        (between[0], between[1]) if between else None,
        float(one.get("times", 1.0)),
        float(one.get("subtract", 0.0)),
        one.get("function", ""),
        tuple(one.get("arguments", ())),
    )


def detail_files(folder: Path | None = None) -> Iterator[Path]:
    """Every detail file of the published cases, by name.

    Args:
        folder: of the cases; the one of this package unless given.
    """
    folder = folder or cases_folder()
    return (path for path in sorted(folder.glob("*.toml")) if path.name != TABLE)
