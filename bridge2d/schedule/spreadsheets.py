"""The schedule as CSV and XLSX, for the energy balance.

A cell of text is never taken for a formula, whatever a name begins with. The workbook has both: formulas, so that it
can be followed and changed, and the values that they gave, so that it reads the same where nothing is computed.
"""

from __future__ import annotations

import csv
import io
from typing import Any

from bridge2d.building.records import Line, ScheduleResult

Cell = str | float | int | None
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What makes spreadsheets read a text as a formula (common practice), full-width forms included."""

HEADINGS = (
    "no.",
    "junction or element",
    "part",
    "group",
    "kind",
    "Ψ [W/(m·K)]",
    "χ [W/K]",
    "U [W/(m²·K)]",
    "lower bound",
    "upper bound",
    "length [m]",
    "number",
    "area [m²]",
    "H [W/K]",
    "H lower bound [W/K]",
    "H upper bound [W/K]",
    "source",
)
"""The columns of the CSV; the bounds are in the unit of Ψ or χ."""


def safe_text(text: str) -> str:
    """A text that no spreadsheet takes for a formula: an apostrophe goes before one that would be.

    Args:
        text: of a cell.
    """
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_SIGNS) or text.startswith(FORMULA_SIGNS) else text


def schedule_csv(result: ScheduleResult) -> bytes:
    """The products and the elements, one a row, without sums, in UTF-8 with a mark that spreadsheets know.

    Args:
        result: all sums.
    """
    written = io.StringIO(newline="")
    writer = csv.writer(written)  # commas, CRLF: RFC 4180
    writer.writerow(HEADINGS)
    for line in result.lines:
        writer.writerow([safe_text(c) if isinstance(c, str) else c for c in _line_cells(line)])
    for element in result.building.elements:
        row: list[Cell] = [None] * len(HEADINGS)
        row[1], row[3], row[4] = safe_text(element.name), safe_text(element.group), "given"
        row[7], row[12], row[13], row[16] = element.u_value, element.area, element.loss, safe_text(element.source)
        writer.writerow(row)
    return written.getvalue().encode("utf-8-sig")


def _line_cells(line: Line) -> list[Cell]:
    psi = line.quantity == "psi"
    loss = line.loss
    return [
        line.ref,
        line.name,
        line.part,
        line.group,
        "given" if line.given else "bracket",
        line.value.value if psi else None,
        None if psi else line.value.value,
        None,
        None if line.given else line.value.lower,
        None if line.given else line.value.upper,
        line.amount if psi else None,
        None if psi else int(line.amount),
        None,
        loss.value,
        None if line.given else loss.lower,
        None if line.given else loss.upper,
        line.source,
    ]


# -- the workbook ------------------------------------------------------------------------------------------------------


class Sheet:
    """Rows of a worksheet; formulas come with the value that they have."""

    def __init__(self, sheet: Any, widths: tuple[int, ...]) -> None:
        """Begin with the columns' widths, in characters."""
        from openpyxl.utils import get_column_letter

        self.sheet = sheet
        self.values: dict[str, float] = {}
        for k, width in enumerate(widths, start=1):
            sheet.column_dimensions[get_column_letter(k)].width = width

    def row(self, *cells: Cell | tuple[str, float], bold: bool = False, decimals: int = 4) -> int:
        """Add a row; a pair is a formula and its value.

        Returns:
            The row's number, counted from 1.
        """
        from openpyxl.styles import Alignment, Font

        number: int = self.sheet.max_row + 1 if self.sheet.max_row > 1 or self.sheet["A1"].value is not None else 1
        for k, content in enumerate(cells, start=1):
            if content is None:
                continue
            cell = self.sheet.cell(number, k)
            if isinstance(content, tuple):
                cell.value, self.values[cell.coordinate] = content
            elif isinstance(content, str):
                cell.value, cell.data_type = content, "s"  # never a formula
                cell.quotePrefix = content.startswith(FORMULA_SIGNS)
                cell.alignment = Alignment(wrap_text=True, vertical="top")
            else:
                cell.value = content
            if isinstance(content, tuple | float):
                cell.number_format = f"0.{'0' * decimals}"
            cell.font = Font(bold=bold)
        return number


def schedule_xlsx(result: ScheduleResult) -> bytes:
    """A workbook with sheets of junctions, elements, groups and limits, and one about them; the same bytes each time.

    Args:
        result: all sums.
    """
    from openpyxl import Workbook

    workbook = Workbook()
    workbook.remove(workbook.active)
    sheets: dict[str, Sheet] = {}
    last = _junction_sheet(sheets, workbook, result)
    last_element = _element_sheet(sheets, workbook, result)
    _group_sheet(sheets, workbook, result, last, last_element)
    _limit_sheet(sheets, workbook, result)
    _about_sheet(sheets, workbook, result)
    written = io.BytesIO()
    workbook.save(written)
    from bridge2d.schedule.workbook_bytes import settled

    return settled(written.getvalue(), {sheet.sheet.title: sheet.values for sheet in sheets.values()})


def _add(sheets: dict[str, Sheet], workbook: Any, title: str, widths: tuple[int, ...]) -> Sheet:
    sheet = workbook.create_sheet(title)
    sheet.freeze_panes = "A2"
    sheets[title] = Sheet(sheet, widths)
    return sheets[title]


def _junction_sheet(sheets: dict[str, Sheet], workbook: Any, result: ScheduleResult) -> int:
    """Every product; returns the last row of them."""
    sheet = _add(sheets, workbook, "Junctions", (8, 44, 18, 18, 10, 13, 13, 13, 13, 12, 10, 12, 12, 12, 36))
    sheet.row(*(h for h in HEADINGS if h not in ("U [W/(m²·K)]", "area [m²]")), bold=True)
    number = 1
    for line in result.lines:
        number += 1
        cells = _line_cells(line)
        value, amount = ("F", "J") if line.quantity == "psi" else ("G", "K")
        loss = line.loss
        ends: list[Cell | tuple[str, float]] = [None, None]
        if not line.given:
            ends = [(f"=H{number}*{amount}{number}", loss.lower), (f"=I{number}*{amount}{number}", loss.upper)]
        product = (f"={value}{number}*{amount}{number}", loss.value)
        sheet.row(*cells[:7], *cells[8:12], product, *ends, cells[16], decimals=5)
    first, last = 2, number
    total = result.loss
    # what is given has no bounds of its own and counts as it is in either sum
    given = f'SUMIF(E{first}:E{last},"given",L{first}:L{last})'
    sheet.row(
        None,
        "sum",
        *[None] * 9,
        (f"=SUM(L{first}:L{last})", total.value),
        (f"=SUM(M{first}:M{last})+{given}", total.lower),
        (f"=SUM(N{first}:N{last})+{given}", total.upper),
        bold=True,
        decimals=5,
    )
    return last


def _element_sheet(sheets: dict[str, Sheet], workbook: Any, result: ScheduleResult) -> int:
    if not result.building.elements:
        return 0
    sheet = _add(sheets, workbook, "Elements", (44, 18, 12, 14, 12, 36))
    sheet.row("element", "group", "area [m²]", "U [W/(m²·K)]", "U·A [W/K]", "source", bold=True)
    number = 1
    for one in result.building.elements:
        number += 1
        sheet.row(one.name, one.group, one.area, one.u_value, (f"=C{number}*D{number}", one.loss), one.source)
    area, total = (f"=SUM(C2:C{number})", result.area), (f"=SUM(E2:E{number})", result.elements or 0.0)
    sheet.row("sum", None, area, None, total, None, bold=True)
    return number


def _group_sheet(sheets: dict[str, Sheet], workbook: Any, result: ScheduleResult, last: int, last_element: int) -> None:
    """Sums by group; names are compared sign by sign, so that none is read as a condition."""
    sheet = _add(sheets, workbook, "Groups", (30, 18, 18, 18, 18, 18))
    headings = ("ΣΨ·l + Σχ·n [W/K]", "ΣU·A [W/K]", "ΣA [m²]", "ΔU_tb [W/(m²·K)]", "H_D [W/K]")
    sheet.row("group", *headings, bold=True)
    number = 1
    for group in result.groups:
        number += 1
        chosen = f'EXACT(Junctions!D2:D{last}&"",A{number}&"")'
        loss = (f"=SUMPRODUCT({chosen}*Junctions!L2:L{last})", group.junctions.value)
        if last_element:
            chosen = f'EXACT(Elements!B2:B{last_element}&"",A{number}&"")'
            elements: Any = (f"=SUMPRODUCT({chosen}*Elements!E2:E{last_element})", group.elements)
            area: Any = (f"=SUMPRODUCT({chosen}*Elements!C2:C{last_element})", group.area)
        else:
            elements = area = None
        mean = (f"=B{number}/D{number}", group.increase.value) if group.increase else None
        total = (f"=B{number}+C{number}", group.junctions.value + group.elements) if last_element else None
        sheet.row(group.name, loss, elements, area, mean, total)
    columns = "BCD" if last_element else "B"
    sums = {"B": result.loss.value, "C": result.elements or 0.0, "D": result.area}
    cells: list[Any] = [(f"=SUM({c}2:{c}{number})", sums[c]) for c in columns]
    if last_element and result.increase and result.total:
        cells.append((f"=B{number + 1}/D{number + 1}", result.increase.value))
        cells.append((f"=B{number + 1}+C{number + 1}", result.total.value))
    sheet.row("all", *cells, bold=True)


def _limit_sheet(sheets: dict[str, Sheet], workbook: Any, result: ScheduleResult) -> None:
    sheet = _add(sheets, workbook, "Limits", (8, 44, 18, 40, 12, 12, 12, 14, 14, 44))
    sheet.row(
        "no.", "junction", "verdict", "requirement", "unit", "sense", "limit", "value", "margin", "source", bold=True
    )
    for entry in result.entries:
        for verdict in (*entry.verdicts, *entry.climate):
            words = "cannot be told" if not verdict.certain else "met" if verdict.met else "not met"
            asked, found = verdict.requirement, verdict.value
            unit = {"psi": "Ψ [W/(m·K)]", "chi": "χ [W/K]", "f_rsi": "f_Rsi [1]"}[asked.quantity]
            kept = None if found is None else asked.limit - found if asked.sense == "maximum" else found - asked.limit
            junction = entry.junction
            numbers = asked.limit, found, kept
            sheet.row(junction.ref, junction.name, words, asked.name, unit, asked.sense, *numbers, asked.source)


def _about_sheet(sheets: dict[str, Sheet], workbook: Any, result: ScheduleResult) -> None:
    sheet = _add(sheets, workbook, "About", (26, 90))
    building = result.building
    rows = (
        ("building", building.title),
        ("project", building.project),
        ("revision", building.revision),
        ("author", building.author),
        ("date", building.date),
        ("dimensions", f"{building.dimensions.replace('_', ' ')}, for every Ψ, length and area"),
        ("program", f"bridge2d {result.version}"),
        ("H", "Ψ times length, χ times number, U times area [W/K]; formulas hold the products and sums"),
        ("bounds", "the true value of the model lies between them for certain; a given value has none"),
        ("given", "taken from the source named in its row; not computed here"),
    )
    for name, words in rows:
        sheet.row(name, words or None)
