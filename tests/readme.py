"""Rewrites the tables of README.md that come from declarations: python -m tests.readme"""

from __future__ import annotations

import re
from pathlib import Path

from bridge2d.junctions import junctions
from bridge2d.listings import markdown_table

README = Path(__file__).parent.parent / "README.md"


def current(text: str) -> str:
    """The README's text with its tables as they should be."""

    def table(found: re.Match[str]) -> str:
        return f"<!-- parameters: {found[1]} -->\n{markdown_table(junctions()[found[1]])}\n<!-- /parameters -->"

    return re.sub(r"<!-- parameters: (\w+) -->\n.*?<!-- /parameters -->", table, text, flags=re.DOTALL)


if __name__ == "__main__":
    README.write_text(current(README.read_text(encoding="utf-8")), encoding="utf-8")
