"""Files of users, damaged at random: each of them is read or refused in one message, and nothing else happens."""

from __future__ import annotations

import io
import random
from dataclasses import replace
from pathlib import Path

import pikepdf

from bridge2d.detail_file import load, read
from bridge2d.errors import Bridge2dError
from bridge2d.section_results import solve_section
from tests.campaign.sections import TOLERANCE, hold, refused

ROOT = Path(__file__).parents[2]
WORDS = [
    b"nan",
    b"-1",
    b"1e308",
    b"0",
    b"''",
    b"[]",
    b"{}",
    b"true",
    b"\x00",
    b"\xff",
    b"=",
    b"\n",
    b'"',
    b"[[region]]",
    b"9" * 40,
]
DRAWN = """junction = "free_section"
title = "Drawn"
[drawing]
file = "drawn.dxf"
[drawing.layers]
BRICK = "solid brick, old, 1600"
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [500, 0]]
[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.13
edge = [[0, 300], [500, 300]]
"""


def damaged(data: bytes, rng: random.Random) -> bytes:
    """Bytes with up to five changes: some taken out, doubled, altered, put in, or the end cut off."""
    found = bytearray(data)
    for _ in range(rng.randint(1, 5)):
        if not found:
            break
        start = rng.randrange(len(found))
        length = min(rng.choice([1, 1, 2, 8, 60, 400]), len(found) - start)
        way = rng.choice(["drop", "double", "alter", "put", "word", "swap", "cut"])
        if way == "drop":
            del found[start : start + length]
        elif way == "double":
            found[start:start] = found[start : start + length]
        elif way == "alter":
            found[start] = rng.randrange(256)
        elif way == "put":
            found[start:start] = bytes(rng.randrange(256) for _ in range(rng.randint(1, 4)))
        elif way == "word":
            found[start : start + length] = rng.choice(WORDS)
        elif way == "swap":
            other = rng.randrange(len(found))
            found[start], found[other] = found[other], found[start]
        elif rng.random() < 0.2:
            del found[start:]
    return bytes(found)


def damaged_lines(data: bytes, rng: random.Random) -> bytes:
    """Lines taken out, doubled, exchanged, or with another number, which leaves most files readable."""
    lines = data.split(b"\n")
    for _ in range(rng.randint(1, 3)):
        k, other = rng.randrange(len(lines)), rng.randrange(len(lines))
        way = rng.choice(["drop", "double", "exchange", *["number"] * 5])
        if way == "drop":
            lines[k] = b""
        elif way == "double":
            lines.insert(k, lines[k])
        elif way == "exchange":
            lines[k], lines[other] = lines[other], lines[k]
        else:
            digits = [p for p, sign in enumerate(lines[k]) if chr(sign).isdigit()]
            if digits:
                p = rng.choice(digits)
                digit = str(rng.randrange(10)).encode()
                word = rng.choice([*[digit] * 12, b"-3", b"1e9", b".5", b"1000000", *WORDS])
                lines[k] = lines[k][:p] + word + lines[k][p + 1 :]
    return b"\n".join(lines)


def toml_sources() -> list[Path]:
    """Detail files that are damaged."""
    details = ROOT / "details"
    return [*sorted(details.glob("tollhouse_[!b]*.toml")), *sorted((details / "validation").glob("[!c]*.toml"))]


def examine_toml(data: bytes) -> str:
    """Read a damaged detail file, its geometry included; what is still one is computed, and its invariants hold."""
    try:
        text = data.decode("utf-8", errors="replace")
        section = read(text, ROOT / "details" / "damaged.toml").detail.sections[0]
        hold(solve_section(replace(section, psi_half_width=1e3), TOLERANCE))
    except Bridge2dError as error:
        refused(error)
        return "refused"
    return "held"


def drawing() -> bytes:
    """A sound drawing."""
    import ezdxf

    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    corners = [(0, 0), (500, 0), (500, 300), (0, 300)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "BRICK"})
    space.add_circle((100, 100), 40, dxfattribs={"layer": "BRICK"})
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


def examine_dxf(data: bytes, folder: Path) -> str:
    """Read a detail file beside a damaged drawing."""
    (folder / "drawn.dxf").write_bytes(data)
    (folder / "drawn.toml").write_text(DRAWN, encoding="utf-8")
    try:
        load(folder / "drawn.toml")
    except Bridge2dError as error:
        refused(error)
        return "refused"
    return "held"


def report() -> bytes:
    """A sound report of a small detail."""
    from bridge2d.calculate import calculate
    from bridge2d.report import report_bytes

    loaded = load(ROOT / "details" / "validation" / "plane_wall.toml")
    return report_bytes(calculate(loaded.detail, input_hash=loaded.input_hash), loaded)


def damaged_report(data: bytes, rng: random.Random) -> bytes:
    """A report damaged in its bytes, or in one of the files that it encloses."""
    if rng.random() < 0.4:
        return damaged(data, rng)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        name = rng.choice(sorted(pdf.attachments))
        inside = pdf.attachments[name].get_file().read_bytes()
        change = rng.choice([damaged, damaged_lines])
        del pdf.attachments[name]
        pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, change(inside, rng), filename=name)
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def examine_pdf(data: bytes, folder: Path) -> str:
    """Recheck a damaged report."""
    from bridge2d.recheck import recheck

    (folder / "damaged.pdf").write_bytes(data)
    try:
        recheck(folder / "damaged.pdf")
    except Bridge2dError as error:
        refused(error)
        return "refused"
    return "held"
