"""Computes the details of a building side by side, each in a process that stays for several.

Step building -> **details computed** -> sums. A detail that the cache holds is not computed; what is computed goes into
the cache at once, so that a run that was interrupted goes on where it stopped.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bridge2d.building.reading import check_use
from bridge2d.building.records import Building
from bridge2d.building.variants import in_building, loaded_variant
from bridge2d.detail_text import Source
from bridge2d.errors import InputError, SectionError
from bridge2d.processes import pool
from bridge2d.schedule.cache import PLAIN, Computed, Look, fingerprint, store, stored, tidied
from bridge2d.shown_units import DisplayUnits

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult

Progress = Callable[[int, int, str], None]
"""Told how many of how many details are done, and the name of the last one."""


@dataclass(frozen=True)
class Task:
    """A detail to be computed in another process.

    Attributes:
        text: of the detail file as the building uses it.
        path: its name.
        tolerance: relative width of the bracket around L2D [-].
        key: its name in the cache.
        folder: of the cache; None where nothing is kept.
        look: of its report.
    """

    text: str
    path: Path
    tolerance: float
    key: str
    folder: Path | None
    look: Look = PLAIN


def computed_details(
    building: Building,
    source: Source,
    tolerance: float,
    jobs: int,
    folder: Path | None,
    progress: Progress | None = None,
    look: Look = PLAIN,
) -> list[Computed]:
    """Every detail of a building, from the cache or computed now.

    Args:
        building: says which details.
        source: the building file, for messages.
        tolerance: relative width of the bracket around L2D [-].
        jobs: how many processes compute side by side.
        folder: of the cache; None to use none.
        progress: told after every detail.
        look: of the reports.

    Raises:
        Bridge2dError: a detail is wrong or cannot be computed; what was computed by then stays in the cache.
    """
    keys = [fingerprint(variant, tolerance, look) for variant in building.variants]
    found = [stored(folder, key) if folder else None for key in keys]
    tasks = {}
    for k, known in enumerate(found):
        if known is None:
            text = _checked(k, building, source, look)
            tasks[k] = Task(text, building.variants[k].path, tolerance, keys[k], folder, look)
    done = len(found) - len(tasks)
    if progress and tasks:
        progress(done, len(found), "")
    for k, computed in _results(tasks, jobs, building, source):
        found[k] = computed
        done += 1
        if progress:
            progress(done, len(found), building.variants[k].path.name)
    if folder and tasks:
        tidied(folder)
    details = [one for one in found if one is not None]
    for number, junction in enumerate(building.junctions):
        if junction.variant is not None:
            check_use(junction, number, details[junction.variant].numbers, building, source)
    return details


def _checked(k: int, building: Building, source: Source, look: Look) -> str:
    """The text of a detail that is not in the cache, read and checked before any is computed."""
    variant = building.variants[k]
    loaded = loaded_variant(variant, source, look.system)
    for number in variant.users:
        check_use(building.junctions[number], number, loaded.detail, building, source)
    return loaded.text


def _results(tasks: dict[int, Task], jobs: int, building: Building, source: Source) -> Iterator[tuple[int, Computed]]:
    """Each task's index and what it gave, as they come."""
    if min(jobs, len(tasks)) <= 1:
        for k, task in tasks.items():
            with _told_of_building(k, building, source):
                computed = compute(task)
            yield k, computed
        return
    with pool(min(jobs, len(tasks))) as beside:
        waiting: dict[Future[Computed], int] = {beside.submit(compute, task): k for k, task in tasks.items()}
        while waiting:
            for future in wait(waiting, return_when=FIRST_COMPLETED).done:
                k = waiting.pop(future)
                with _told_of_building(k, building, source):
                    computed = future.result()
                yield k, computed


@contextmanager
def _told_of_building(k: int, building: Building, source: Source) -> Iterator[None]:
    """Turns what is wrong with a detail into a message at the line at fault."""
    try:
        yield
    except InputError as error:
        raise in_building(error, building.variants[k], source) from None


# -- in the process that computes --------------------------------------------------------------------------------------


def compute(task: Task) -> Computed:
    """One detail from its text to its report, put into the cache.

    Args:
        task: what to compute.

    Raises:
        Bridge2dError: it is wrong or cannot be computed.
    """
    from bridge2d.calculate import calculate
    from bridge2d.detail_file import locate, read

    loaded = read(task.text, task.path, geometry=False, shown=task.look.system)
    try:
        result = calculate(loaded.detail, task.tolerance, "auto", loaded.input_hash)
    except SectionError as error:
        raise locate(error, loaded) from None
    computed = _reported(loaded, result, task.look)
    if task.folder is not None:
        with suppress(OSError):  # a full disk costs the next run time, and this one nothing
            store(task.folder, task.key, computed)
    return computed


def _reported(loaded: LoadedDetail, result: DetailResult, look: Look) -> Computed:
    import json

    from bridge2d.report import report_to_bind
    from bridge2d.tables import as_json

    pdf, pages = report_to_bind(result, loaded, DisplayUnits(look.system), look.paper)
    document = as_json(result)
    document.pop("seconds", None)  # two runs give the same bytes
    return Computed(
        json.loads(json.dumps(document, allow_nan=False)),  # as it comes out of the cache
        len(pages.pages),
        tuple((mark.title, mark.level, mark.page, mark.top) for mark in pages.marks),
        tuple((one.page, one.x, one.y, one.target) for one in pages.references),
        pdf,
    )


def progress_line(done: int, count: int, name: str) -> None:
    """Tell on standard error how far the details are, on one line that is written over.

    Args:
        done: details computed or taken from the cache.
        count: all details.
        name: of the last one.
    """
    width = 24
    filled = width * done // max(count, 1)
    line = f"\r[{'#' * filled}{'.' * (width - filled)}] {done} of {count} details {name[:40]:<40}"
    sys.stderr.write(line + ("\r" + " " * len(line) + "\r" if done == count else ""))
    sys.stderr.flush()
