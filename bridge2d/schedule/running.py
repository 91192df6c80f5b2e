"""The whole schedule in one function: a building file in, all its numbers and the bound PDF out."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from bridge2d.building.reading import load
from bridge2d.building.records import ScheduleResult
from bridge2d.building.sums import summed
from bridge2d.processes import processors
from bridge2d.schedule.cache import PLAIN, Computed, Look, fingerprint, program, store_volume, stored_volume
from bridge2d.schedule.computing import Progress, computed_details
from bridge2d.shown_units import DisplayUnits


@dataclass(frozen=True)
class Schedule:
    """A building's numbers, and the reports of its details.

    Attributes:
        result: all sums.
        details: what each detail gave, with its report.
        key: SHA-256 of all that the volume depends on.
        folder: of the cache; None where nothing is kept.
        look: of the volume.
    """

    result: ScheduleResult
    details: tuple[Computed, ...]
    key: str
    folder: Path | None
    look: Look = PLAIN

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the building file and of the input of every detail, for the header of the pages."""
        return building_fingerprint(self.result)


def schedule(
    path: str | Path,
    tolerance: float = 1e-3,
    jobs: int | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
    look: Look = PLAIN,
) -> Schedule:
    """Compute all junctions of a building.

    Args:
        path: the building file.
        tolerance: relative width of the bracket around L2D at which refinement stops [-].
        jobs: how many processes compute side by side; as many as there are processors unless given.
        folder: of the cache; None to compute everything anew and keep nothing.
        progress: told after every detail.
        look: units and paper of the volume.

    Raises:
        Bridge2dError: the file or a detail is wrong, or cannot be computed.
    """
    building, source = load(path)
    keys = [fingerprint(variant, tolerance, look) for variant in building.variants]
    details = computed_details(building, source, tolerance, jobs or processors(), folder, progress, look)
    result = summed(building, [detail.numbers for detail in details])
    sets = building.sets[1].decode("utf-8", "replace") if building.sets else ""
    key = _hashed(program(), building.path.name, building.text, sets, *look, *keys)
    return Schedule(result, tuple(details), key, folder, look)


def building_fingerprint(result: ScheduleResult) -> str:
    """SHA-256 of the building file and of the input of every detail.

    Args:
        result: all sums.
    """
    return _hashed(result.building.text, *(detail.input_hash for detail in result.details))


def _hashed(*parts: str) -> str:
    return sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()


def schedule_pdf(found: Schedule) -> bytes:
    """The bound PDF's bytes; the same for the same input, from the cache where it holds them.

    Args:
        found: a computed schedule.
    """
    kept = stored_volume(found.folder, found.key) if found.folder else None
    if kept is not None:
        return kept
    made = _bound(found)
    if found.folder:
        with suppress(OSError):  # a full disk costs the next run time, and this one nothing
            store_volume(found.folder, found.key, made)
    return made


def _bound(found: Schedule) -> bytes:
    from bridge2d.report.enclosure_pages import building_files
    from bridge2d.report.layout import PAPERS
    from bridge2d.report.missing import missing_note, missing_signs
    from bridge2d.report.schedule_pages import report_titles, schedule_pages
    from bridge2d.report.sheets import Running, page_words, pdf_bytes
    from bridge2d.schedule.binding import Front, bound
    from bridge2d.schedule.enclosing import of_building

    result, shown, paper = found.result, DisplayUnits(found.look.system), PAPERS[found.look.paper]
    building = result.building
    running = Running(
        building.title,
        building.project,
        building.revision,
        result.version,
        found.fingerprint,
        building.author,
        building.date,
    )
    counts = [detail.pages for detail in found.details]
    enclosed = of_building(result, found.fingerprint, shown.system)
    notes = building_files(enclosed, found.fingerprint)
    pages = schedule_pages(result, counts, notes, shown, paper)
    missing = missing_signs(pages, running)
    if missing:
        pages = schedule_pages(result, counts, [*notes, missing_note(missing)], shown, paper)
    count = len(pages.pages) + sum(counts)
    drawn, words = pdf_bytes(pages, running, paper, count), page_words(pages, running, paper, count)
    front = Front(drawn, words, pages.marks, pages.references, running, enclosed, paper)
    return bound(front, report_titles(result), found.details)
