"""What the command `schedule` does: refuses what cannot be written, computes, writes each file whole, tells."""

from __future__ import annotations

import sys
import tomllib
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from bridge2d.building.reading import load
from bridge2d.report.enclosures import BESIDE, CLIMATE, named_file
from bridge2d.schedule.cache import Look, cache_folder
from bridge2d.schedule.computing import progress_line
from bridge2d.schedule.running import Schedule, schedule, schedule_pdf
from bridge2d.shown_units import DisplayUnits
from bridge2d.targets import refuse_overwriting, writable, write
from bridge2d.units import SI

ENDINGS = {"-o": ".pdf", "--csv": ".csv", "--xlsx": ".xlsx"}


def run(arguments: Namespace) -> bool:
    """Compute a building's schedule and write what was asked for.

    Args:
        arguments: of the command line.

    Returns:
        Whether every limit is kept for certain.

    Raises:
        Bridge2dError: the building, a detail or the call is wrong.
    """
    targets = _targets(arguments)
    folder = None if arguments.no_cache else _folder()
    shown = progress_line if sys.stderr.isatty() else None
    look = Look(arguments.units or SI, arguments.paper)
    found = schedule(arguments.schedule, arguments.tolerance, arguments.jobs, folder, shown, look)
    for key, target in targets.items():
        write(_made(key, found), target)
    if arguments.json:
        import json

        from bridge2d.schedule.tables import as_json

        print(json.dumps(as_json(found.result), allow_nan=False, indent=2))
    else:
        from bridge2d.schedule.tables import as_text

        print(as_text(found.result, DisplayUnits(look.system)))
        for target in targets.values():
            print(f"{target}: written")
    return found.result.kept


def _made(key: str, found: Schedule) -> bytes:
    """The bytes of one of the files."""
    if key == "-o":
        return schedule_pdf(found)
    from bridge2d.schedule import spreadsheets

    make: Callable[..., bytes] = spreadsheets.schedule_csv if key == "--csv" else spreadsheets.schedule_xlsx
    return make(found.result)


def _folder() -> Path | None:
    """The folder of the cache; None, and a line that says so, where it cannot be used."""
    try:
        folder = cache_folder()
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except (OSError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or error
        print(f"bridge2d: nothing is kept for the next run: the cache cannot be made: {reason}", file=sys.stderr)
        return None
    return folder


# -- where to ----------------------------------------------------------------------------------------------------------


def _targets(arguments: Namespace) -> dict[str, Path]:
    """The files to be written, refused before anything is computed where they cannot be."""
    building = Path(arguments.schedule)
    named = {"-o": arguments.output, "--csv": arguments.csv, "--xlsx": arguments.xlsx}
    if not arguments.output and not arguments.json:
        named["-o"] = str(building.with_suffix(".pdf")) if building.name else "schedule.pdf"
    targets = {key: Path(name) for key, name in named.items() if name}
    for key, target in targets.items():
        writable(target, key, (ENDINGS[key],), "the name does not say what is written")
    if building.exists():
        _check_overwriting(targets, building)
    return targets


def _climates(details: Iterable[Path]) -> Iterator[Path]:
    """The tables that details name; what is wrong with a detail is said where it is read."""
    for path in dict.fromkeys(details):
        with suppress(OSError, ValueError, RecursionError):
            named = named_file(tomllib.loads(path.read_text(encoding="utf-8")), BESIDE[CLIMATE])
            if named is not None:
                yield path.parent / named


def _check_overwriting(targets: dict[str, Path], building: Path) -> None:
    """Refuse to write over the building file, one of its details, or the table of a detail's climate."""
    read = [building]
    if any(target.exists() for target in targets.values()):
        read += [variant.path for variant in load(building)[0].variants]
    if "--csv" in targets and targets["--csv"].exists():
        read += _climates(read[1:])
    for key, target in targets.items():
        refuse_overwriting(target, key, read, "a file that is read")
