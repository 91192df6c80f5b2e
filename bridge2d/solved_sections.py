"""Sections that were solved, remembered: what a change does not reach has its numbers already.

A tool of whoever computes details that have sections in common: variants, and the local page.
"""

from __future__ import annotations

import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bridge2d.cavities import FrozenCavity
    from bridge2d.detail import Section
    from bridge2d.results import SectionResult


class SolvedSections:
    """The last sections that were solved, and the last frames whose cavities were computed."""

    def __init__(self, most: int) -> None:
        """Nothing remembered yet.

        Args:
            most: so many are remembered.
        """
        self._most = most
        self._known: OrderedDict[bytes, Any] = OrderedDict()

    def solved(self, section: Section, tolerance: float, mesher: str = "auto", **limited: int) -> SectionResult:
        """A section's numbers, as `section_results.solve_section` has them.

        Args:
            section: the section.
            tolerance: see there, like the others.
            mesher: see there.
            limited: `most_passes`, see there.

        Raises:
            SectionError: the section cannot be computed.
            MissingLibraryError: gmsh is needed and cannot start.
        """
        from bridge2d import section_results  # with it the numerics, which take their time to load

        def solve() -> SectionResult:
            return section_results.solve_section(section, tolerance, mesher, **limited)

        found: SectionResult = self._remembered((section, tolerance, mesher, limited), solve)
        return found

    def frozen(self, section: Section, mesher: str = "auto") -> tuple[Section, tuple[FrozenCavity, ...]]:
        """The section with every cavity's conductivity settled, as `cavities.frozen` has it.

        Args:
            section: see there, like the other.
            mesher: see there.

        Raises:
            SectionError: the conductivities do not settle.
        """
        from bridge2d import cavities

        found: tuple[Section, tuple[FrozenCavity, ...]]
        found = self._remembered((section, mesher), lambda: cavities.frozen(section, mesher))
        return found

    def _remembered(self, arguments: tuple[Any, ...], compute: Callable[[], Any]) -> Any:
        key = hashlib.sha256(pickle.dumps(arguments, protocol=5)).digest()
        found = self._known.pop(key, None) or compute()
        self._known[key] = found  # the last one used is the last one to go
        while len(self._known) > self._most:
            self._known.popitem(last=False)
        return found
