"""What the processes do with a building file. Part of `work`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge2d.errors import InputError
from bridge2d.shown_units import DisplayUnits
from bridge2d.solving import TOLERANCE
from bridge2d.units import SI, UnitSystem

if TYPE_CHECKING:
    from bridge2d.detail import Detail


def scheduled(
    file: str, wanted: str, system: UnitSystem | None = None, paper: str = "A4", tolerance: float = TOLERANCE
) -> Any:
    """A building, as `bridge2d schedule` computes it.

    Args:
        file: path of the building file.
        system: in which page and volume are shown; SI unless given.
        paper: of the volume.
        tolerance: relative width of the bracket around L2D at which refinement stops [-].
        wanted: "page" for plain values; "pdf", "csv", "xlsx" or "json" for a file's bytes.

    Raises:
        InputError: the building or a detail is wrong.
    """
    from bridge2d.schedule.cache import Look, cache_folder
    from bridge2d.schedule.running import schedule, schedule_pdf

    try:
        folder: Path | None = cache_folder()
        assert folder is not None
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        folder = None
    look = Look(system or SI, paper)
    found = schedule(Path(file), tolerance, jobs=1, folder=folder, look=look)
    if wanted == "pdf":
        return schedule_pdf(found)
    if wanted in ("csv", "xlsx"):
        from bridge2d.schedule import spreadsheets

        return (spreadsheets.schedule_csv if wanted == "csv" else spreadsheets.schedule_xlsx)(found.result)
    if wanted == "json":
        import json

        from bridge2d.schedule.tables import as_json

        return json.dumps(as_json(found.result), allow_nan=False, indent=2).encode("utf-8")
    from bridge2d.building.variants import loaded_variant
    from bridge2d.detail_text import Source
    from bridge2d.web.scheduled import schedule_plain

    building = found.result.building
    source = Source(building.text, building.path)
    texts = [loaded_variant(one, source).text for one in building.variants]
    return schedule_plain(found.result, DisplayUnits(look.system), texts)


def building_keys(text: str, file: str) -> bool:
    """Refuse what is no building; its details need not be there yet.

    Args:
        text: TOML.
        file: path of the building file.

    Raises:
        InputError: whatever is wrong with its keys.
    """
    from bridge2d.building.reading import wrong_keys

    found = wrong_keys(text, Path(file))
    if found:
        raise found[0]
    return True


def building_wrong(text: str, file: str) -> list[dict[str, Any]]:
    """All that is wrong with a building, before anything of it is computed.

    Args:
        text: TOML.
        file: path of the building file; its details are named from its folder.

    Returns:
        Message, what would be right, line, key and file's name of each; nothing where all is well.
    """
    return [
        {
            "message": one.message,
            "right": one.right,
            "line": one.line,
            "key": one.key,
            "file": Path(one.file).name if one.file else "",
        }
        for one in _all_wrong(text, Path(file))
    ]


def _all_wrong(text: str, path: Path) -> list[InputError]:
    from bridge2d.building.reading import check_use, read, wrong_keys
    from bridge2d.building.variants import loaded_variant

    found: list[InputError] = []
    try:
        found += wrong_keys(text, path)
        if found:
            return found
        building, source = read(text, path)
    except InputError as error:
        return [error]
    details: dict[int, Detail] = {}
    for number, one in enumerate(building.variants):
        try:
            details[number] = loaded_variant(one, source).detail
        except InputError as error:
            found.append(error)
    for number, junction in enumerate(building.junctions):
        if junction.variant in details:
            try:
                check_use(junction, number, details[junction.variant], building, source)
            except InputError as error:
                found.append(error)
    return found
