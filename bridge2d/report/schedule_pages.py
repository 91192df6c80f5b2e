"""The first pages of a building's volume: sums, contents, schedule, bars, limits, what would help, groups.

sums -> **pages** -> bound with the detail reports. The pages of the reports follow from how many pages stand here, so
these flow until the numbers agree.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import accumulate

from bridge2d import nomenclature as n
from bridge2d.building.records import Building, ScheduleResult
from bridge2d.drawing.colours import GREY
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.flow import Pages, flowed_without_remnant
from bridge2d.report.layout import A4, Block, Boxed, Heading, NewPage, Paper, Paragraph, Space, paragraph
from bridge2d.report.schedule_chart import LEGEND, loss_bars
from bridge2d.report.schedule_tables import Row, gains, groups, limits, measure, products, verdicts
from bridge2d.report.tables import Table, table
from bridge2d.report.text import wrapped
from bridge2d.report.volume import VolumeContents, VolumeEntry
from bridge2d.report.words import SYSTEMS, bounded, symbol, value
from bridge2d.shown_units import IN_SI, DisplayUnits

INSIDE = 155.0
"""Width within the box of results [mm]."""


def schedule_pages(
    result: ScheduleResult,
    counts: Sequence[int],
    notes: Sequence[Block] = (),
    shown: DisplayUnits = IN_SI,
    paper: Paper = A4,
) -> Pages:
    """The volume's first pages.

    Args:
        result: all sums.
        counts: how many pages the report of each detail has.
        notes: what stands at the end.
        shown: units of everything that is written.
        paper: on which the pages stand.
    """
    chapters = _chapters_of(result, ["0"] * len(counts), shown)
    front, starts = 0, [0] * len(chapters)
    for _ in range(5):
        first = [front + before for before in accumulate(counts, initial=0)][: len(counts)]
        chapters = _chapters_of(result, [str(page + 1) for page in first], shown)
        pages = flowed_without_remnant([*_blocks(result, chapters, starts, first, shown), *notes], paper)
        found = [mark.page for mark in pages.marks if mark.level == 1]
        if len(pages.pages) == front and found == starts:
            break
        front, starts = len(pages.pages), found
    return pages


def report_titles(result: ScheduleResult) -> list[str]:
    """What the contents and the bookmarks call the report of each detail: its title, and the junctions that use it.

    Args:
        result: all sums.
    """
    found = []
    for variant, detail in zip(result.building.variants, result.details, strict=True):
        refs = ", ".join(result.building.junctions[user].ref for user in variant.users)
        found.append(f"{refs}  {detail.title}")
    return found


def _blocks(
    result: ScheduleResult,
    chapters: list[tuple[str, list[Block]]],
    starts: Sequence[int],
    first: Sequence[int],
    shown: DisplayUnits,
) -> list[Block]:
    titles = [title for title, _ in chapters]
    numbered = enumerate(zip(titles, starts, strict=True), start=1)
    entries = [VolumeEntry(str(k), title, page) for k, (title, page) in numbered]
    entries += [VolumeEntry("", title, page) for title, page in zip(report_titles(result), first, strict=True)]
    blocks: list[Block] = [*_opening(result, shown), Space(9.0), VolumeContents(tuple(entries))]
    for number, (title, parts) in enumerate(chapters, start=1):
        blocks += [NewPage() if number == 1 else Space(6.0), Heading(runs(title), str(number)), *parts]
    return blocks


def _chapters_of(result: ScheduleResult, pages: Sequence[str], shown: DisplayUnits) -> list[tuple[str, list[Block]]]:
    chapters: list[tuple[str, list[Block]]] = [
        ("Junctions", products(result, pages, shown)),
        ("Share of each junction", _bars(result, shown)),
        ("Limits", limits(result, shown)),
        ("What would help most", gains(result, shown)),
        ("Groups and elements", groups(result, shown)),
        ("How the sum is made", _method(result)),
    ]
    return [(title, parts) for title, parts in chapters if parts]


# -- the first page ----------------------------------------------------------------------------------------------------


def _opening(result: ScheduleResult, shown: DisplayUnits) -> list[Block]:
    building = result.building
    title = Paragraph(wrapped((Run(building.title),), 21.0, 168.0), 21.0, after=1.5)
    facts = [
        ("schedule", "thermal bridges of a building"),
        ("project", building.project),
        ("revision", building.revision),
        ("author", building.author),
        ("date", building.date),
        ("dimensions", f"{SYSTEMS[building.dimensions]} dimensions, for every Ψ, length and area"),
        ("limits", building.requirement_set),
    ]
    lines: list[Block] = [
        paragraph(words, size=9.0, width=168.0, mark=name, indent=22.0, after=0.4) for name, words in facts if words
    ]
    return [title, *lines, Space(7.0), Boxed((_sums(result, shown), *_verdict_lines(result)))]


def _sums(result: ScheduleResult, shown: DisplayUnits) -> Table:
    h_tb = runs(Run("H", "italic"), Run("tb", subscript=True))
    rows: list[Row] = [
        (h_tb, "all thermal bridges, ΣΨ·l + Σχ·n", bounded(n.TRANSMISSION, result.loss, shown), "bracket")
    ]
    if any(line.given for line in result.lines):
        given = value(n.TRANSMISSION, result.given, shown)
        rows.append(("", "of which from given values, without a bracket", given, "given"))
    if result.increase is not None:
        rows.append(
            (
                symbol(n.MEAN_INCREASE),
                f"mean over the envelope of {measure(n.AREA, result.area, shown)}",
                bounded(n.MEAN_INCREASE, result.increase, shown),
                "bracket",
            )
        )
    if result.elements is not None and result.total is not None:
        rows.append(
            (
                runs("Σ", Run("U", "italic"), "·", Run("A", "italic")),
                "plane elements",
                value(n.TRANSMISSION, result.elements, shown),
                "given",
            )
        )
        rows.append(
            (
                runs(Run("H", "italic"), Run("D", subscript=True)),
                "elements and thermal bridges together",
                bounded(n.TRANSMISSION, result.total, shown),
                "bracket",
            )
        )
    return table([("", 14), ("result", 67), ("", 44), ("kind", 14)], rows, width=INSIDE)


def _verdict_lines(result: ScheduleResult) -> list[Block]:
    """How many limits are kept, and which junctions miss theirs."""
    missed, open_, kept = verdicts(result)
    lines: list[Block] = []
    if not (missed or open_ or kept):
        lines.append(paragraph("No limit is named, so there is no verdict.", width=INSIDE, after=0.6))
    parts = (("✗ not met", missed, True), ("○ cannot be told", open_, True), ("✓ met", kept, False))
    for sign, found, named in parts:
        if found:
            count = f"{len(found)} limit" + ("s" if len(found) != 1 else "")
            where = f", of {_named(ref for ref, _, _ in found)}" if named else ""
            words = runs(Run(f"{sign}  ", "bold"), f"{count}{where}")
            lines.append(paragraph(words, width=INSIDE, after=0.6))
    return [*lines, *_climate_lines(result)]


def _climate_lines(result: ScheduleResult) -> list[Block]:
    """Of which junctions the climate by month asks for more than they have."""
    short: dict[tuple[str, str], list[str]] = {}
    for entry in result.entries:
        for verdict in entry.climate:
            if not verdict.met:
                criterion = verdict.requirement.name.rpartition(", ")[0]  # without the month
                sign = "✗ not met" if verdict.certain else "○ cannot be told"
                short.setdefault((sign, criterion), []).append(entry.junction.ref)
    return [
        paragraph(
            runs(Run(f"{sign}  ", "bold"), f"{criterion}, of {_named(refs)} (the climate by month asks for it)"),
            width=INSIDE,
            after=0.6,
        )
        for (sign, criterion), refs in short.items()
    ]


def _named(refs: Iterable[str]) -> str:
    """Each reference once, the first ones where they are many."""
    each = list(dict.fromkeys(refs))
    more = f" and {len(each) - MOST_NAMED} more" if len(each) > MOST_NAMED else ""
    return f"{', '.join(each[:MOST_NAMED])}{more}"


MOST_NAMED = 24
"""More references than this are not named on the first page."""


# -- chapters ----------------------------------------------------------------------------------------------------------


BARS = (
    "What each junction loses, the largest first, and its share of the sum of all losses above zero. A junction whose "
    "Ψ is negative, such as an outer corner in external dimensions, stands to the left of the line and takes its "
    "share off."
)
SUM = (
    "ΣΨ·l + Σχ·n is the part of the thermal bridges in the transmission heat transfer coefficient (ISO 13789:2017, "
    "7.2, remembered). Brackets add: the sum of the lower bounds is a lower bound of the sum. A number with ± is the "
    "middle of a bracket within which the true solution of the stated models lies for certain."
)
GIVEN = (
    "Given values come from their sources as they stand; they have no bracket, and the bracket of a sum says nothing "
    "about them."
)
PIECES = (
    "Pieces that repeat at a spacing s, such as joists: where a length is given, Ψ holds their χ/s; where length and "
    "number are given, Ψ is that of the edge alone and each piece counts with its χ."
)
WINDOWS = (
    "Installed windows: each side counts with its own Ψ and length, which is one number in every dimension system "
    "because the wall is measured to the rough opening."
)
INCREASE = (
    "ΔU of the thermal bridges is their sum over the area of all elements of the file (DIN 4108 Beiblatt 2, "
    "remembered)."
)
FACTORS = (
    "Junctions to unheated rooms or to the ground are added as they stand: reduction factors are for the energy "
    "balance to apply."
)
CAUTION = (
    "Neither sums nor limits are a verdict on mould in use, decay of timber, fire or structure, least of all for given "
    "values, which have no report of their own: local codes and licensed practice come first, and each report says in "
    "its chapter on what it does not say what to have looked at."
)
LEFT_OUT = (
    "Lengths, numbers and areas are those of the building file. The bracket does not cover them, nor what the models "
    "leave out: materials and dimensions on site, air leakage, moisture, the third dimension."
)


def _bars(result: ScheduleResult, shown: DisplayUnits) -> list[Block]:
    caption = (paragraph(LEGEND, size=8.0, after=1.0), paragraph(BARS, size=8.0, colour=GREY))
    return [loss_bars(result.entries, caption, shown)]


def _method(result: ScheduleResult) -> list[Block]:
    building = result.building
    system = SYSTEMS[building.dimensions]
    parts = {line.part for line in result.lines}
    sentences = [
        f"Every Ψ, length and area is measured in {system} dimensions (ISO 13789); different systems are never added.",
        SUM,
        GIVEN if any(line.given for line in result.lines) else "",
        PIECES if parts & {"with χ/s", "edge without the pieces"} else "",
        WINDOWS if any(detail.sides for detail in result.details) else "",
        INCREASE if result.increase is not None else "",
        FACTORS,
        LEFT_OUT,
        CAUTION,
    ]
    return [
        *(paragraph(words, mark="–", after=1.6) for words in sentences if words),
        table([("", 48), ("", 120)], _origin(building, result)),
    ]


def _origin(building: Building, result: ScheduleResult) -> list[Row]:
    rows: list[Row] = [("program", f"bridge2d {result.version}"), ("building file", building.path.name)]
    for title, variant, detail in zip(report_titles(result), building.variants, result.details, strict=True):
        found = runs(f"{variant.path.name}, ", Run(detail.input_hash, colour=GREY))
        rows.append((f"detail of {title.partition('  ')[0]}", found))
    return rows
