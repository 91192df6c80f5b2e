"""Finishes a workbook's bytes: formulas get the values that they have, and no file in it tells the time.

openpyxl writes a formula without its value, so that a reader that does not compute shows nothing.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping
from xml.etree import ElementTree as ET

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
"""Namespace of worksheets (ECMA-376, part 1)."""
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
NO_TIME = "1980-01-01T00:00:00Z"
"""Stands where a workbook tells when it was made: the first day that a ZIP file knows."""


def settled(data: bytes, values: Mapping[str, Mapping[str, float]]) -> bytes:
    """The workbook with its formulas' values, the same bytes for the same content.

    Args:
        data: as openpyxl wrote it.
        values: value of every formula by sheet and cell.
    """
    written = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as target:
        sheets = _sheet_files(source)
        for name in source.namelist():
            content = source.read(name)
            if name in sheets:
                content = _with_values(content, values.get(sheets[name], {}))
            elif name == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT[\d:]+Z", NO_TIME.encode(), content)
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            target.writestr(entry, content)
    return written.getvalue()


def _sheet_files(source: zipfile.ZipFile) -> dict[str, str]:
    """Name of each worksheet by its file in the archive."""
    relations = ET.fromstring(source.read("xl/_rels/workbook.xml.rels"))
    files = {one.get("Id"): (one.get("Target") or "").lstrip("/") for one in relations}
    book = ET.fromstring(source.read("xl/workbook.xml"))
    found = {}
    for sheet in book.iter(f"{{{MAIN}}}sheet"):
        file = files[sheet.get(f"{{{RELATIONS}}}id")]
        found[file if file.startswith("xl/") else f"xl/{file}"] = sheet.get("name") or ""
    return found


def _with_values(content: bytes, values: Mapping[str, float]) -> bytes:
    ET.register_namespace("", MAIN)
    root = ET.fromstring(content)
    for cell in root.iter(f"{{{MAIN}}}c"):
        if cell.find(f"{{{MAIN}}}f") is not None:
            value = cell.find(f"{{{MAIN}}}v")
            if value is None:
                value = ET.SubElement(cell, f"{{{MAIN}}}v")
            value.text = repr(values[cell.get("r") or ""])
            cell.attrib.pop("t", None)
    text: bytes = ET.tostring(root, encoding="UTF-8", xml_declaration=True)
    return text
