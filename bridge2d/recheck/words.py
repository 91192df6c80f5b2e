"""A recheck as text for the screen and as JSON for other programs; its last step."""

from __future__ import annotations

import hashlib
from textwrap import fill
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.comparison.records import MONEY
from bridge2d.recheck import Recheck
from bridge2d.recheck.compared import RULE, Row
from bridge2d.recheck.stated import Number
from bridge2d.shown_units import IN_SI, DisplayUnits

Json = dict[str, Any]


def as_json(done: Recheck) -> Json:
    """All of a recheck as plain JSON values.

    Args:
        done: the recheck.
    """
    return {
        "file": str(done.path),
        "title": done.title,
        "agrees": done.agrees,
        "versions": {"report": done.versions[0], "now": done.versions[1]},
        "enclosed": [
            {"name": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for name, data in done.opened.enclosed.items()
        ],
        "reports": list(done.reports),
        "other_files": list(done.opened.others),
        "meshes": [
            {"section": one.section, "report": one.then, "now": one.now, "triangles": one.triangles, "why": one.why}
            for one in done.meshes
        ],
        "rule": RULE,
        "numbers": [_row_json(row) for row in done.rows],
        "findings": list(done.findings),
        "marks": [
            {"page": number, "kinds": list(page.added)}
            for number, page in enumerate(done.opened.pages, start=1)
            if page.added
        ],
        "catalogue_changed": list(done.catalogue),
    }


def _row_json(row: Row) -> Json:
    known = row.old or row.new
    assert known is not None
    return {
        "name": row.name,
        "kind": known.kind,
        "unit": known.quantity.unit,
        "old": _number_json(row.old),
        "new": _number_json(row.new),
        "difference": row.difference,
        "allowed": row.allowed,
        "inside": row.inside,
    }


def _number_json(number: Number | None) -> Json | None:
    if number is None:
        return None
    ends = {"lower": number.lower, "upper": number.upper} if number.kind == "bracket" else {"tolerance": number.half}
    return {"value": number.value, **ends}


def as_text(done: Recheck) -> str:
    """A recheck as aligned text.

    Args:
        done: the recheck.
    """
    then, now = done.versions
    heading = [
        f"{done.path}: {_shown(done.title) or 'without a title that can be read'}",
        f"written by bridge2d {_shown(then) or '(unknown version)'}, "
        + (f"computed again by bridge2d {now}" if done.rows else f"read by bridge2d {now}")
        + ("" if then == now else ": another version, so methods and defaults may differ"),
    ]
    heading += [f"  {k}: {_shown(title)}" for k, title in enumerate(done.reports, start=1)]
    files = [f"  {name}, {len(data)} bytes" for name, data in done.opened.enclosed.items()]
    files += [f"  {name}: not of the report, left alone" for name in done.opened.others]
    numbers = [
        ["Meshes", *_mesh_lines(done)],
        ["Numbers", *_table(done.rows, done.shown)],
        fill(RULE, 110).splitlines(),
    ]
    materials = ["Materials", *(f"  {line}" for line in done.catalogue or ("the catalogue has the same rows today",))]
    blocks = [
        heading,
        ["Taken out of the PDF", *files],
        *(numbers if done.rows else []),
        ["Pages", *_page_lines(done)],
        *([materials] if done.rows else []),
        [_verdict(done)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks)


def _shown(text: str) -> str:
    """A text from elsewhere that does no harm on a screen."""
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _mesh_lines(done: Recheck) -> list[str]:
    lines = []
    for mesh in done.meshes:
        other = f"{mesh.now} now" if not mesh.why else f"{mesh.now} from another first mesh now, because {mesh.why}"
        lines.append(f"  {mesh.section}: {mesh.then} in the report, {other} ({mesh.triangles} triangles)")
    return lines


def _table(rows: tuple[Row, ...], shown: DisplayUnits) -> list[str]:
    cells: list[tuple[str, ...]] = [("number", "in the report", "computed again", "difference", "allowed", "")]
    cells += [_cells(row, shown) for row in rows]
    widths = [max(len(line[k]) for line in cells) for k in range(len(cells[0]))]
    return [
        "  " + "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in cells
    ]


def _cells(row: Row, shown: DisplayUnits) -> tuple[str, ...]:
    known = row.old or row.new
    assert known is not None
    if known.quantity.key in MONEY:
        shown = IN_SI  # no table has units with a currency
    difference, allowed = (
        None if one is None else float(shown.difference(known.quantity, one)) for one in (row.difference, row.allowed)
    )
    verdict = "inside" if row.inside else "NOT INSIDE"
    return (
        _shown(row.name),
        _printed(row.old, shown),
        _printed(row.new, shown),
        "–" if difference is None else f"{difference:+.1e}".replace("-", n.MINUS),
        "–" if allowed is None else f"{allowed:.1e}".replace("-", n.MINUS),
        verdict,
    )


def _printed(number: Number | None, shown: DisplayUnits) -> str:
    if number is None:
        return "–"
    try:
        return number.printed(shown)
    except ValueError:
        return f"{number.value:g}, no bracket"


def _page_lines(done: Recheck) -> list[str]:
    lines = [f"  DISAGREES: {_shown(finding)}" for finding in done.findings]
    if not lines:
        lines = [
            f"  words and drawings of all {len(done.opened.pages)} pages are those that were written and say what the",
            "  enclosed results say; the enclosed files are those whose SHA-256 stands on the pages",
        ]
    for number, page in enumerate(done.opened.pages, start=1):
        if page.added:
            kinds = ", ".join(dict.fromkeys(page.added))
            many = "a note or mark lies" if len(page.added) == 1 else f"{len(page.added)} notes or marks lie"
            lines.append(f"  {many} over page {number} ({kinds}), by others; what it hides or says was not looked at")
    return lines


def _verdict(done: Recheck) -> str:
    off, others = sum(not row.inside for row in done.rows), len(done.findings)
    if done.agrees:
        over = [str(number) for number, page in enumerate(done.opened.pages, start=1) if page.added]
        pages = "page" if len(over) == 1 else "pages"
        but = f" BUT marks of others lie over {pages} {', '.join(over)}: look what they hide." if over else ""
        return f"AGREES: all {len(done.rows)} numbers are inside, and the pages are those that were written.{but}"
    findings = "finding" if others == 1 else "findings"
    if not done.rows:
        return f"DISAGREES: nothing was computed again, {others} {findings}, see above."
    return f"DISAGREES: {off} of {len(done.rows)} numbers not inside, {others} other {findings}, see above."
