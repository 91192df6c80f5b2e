"""Materials as drawings and tables tell them apart: with the reason where a value was changed from the catalogue's."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from bridge2d.detail import Region, Section
from bridge2d.materials import Material, catalogue

GIVEN = "given in the detail file"
CHANGED = "changed from the catalogue"


def shown_material(region: Region) -> Material:
    """A region's material with the source that is printed.

    Args:
        region: a region; its basis counts where its material is not the catalogue's.
    """
    material, basis = region.material, region.basis.rstrip(".")
    known = catalogue().get(material.name)
    if not basis or material == known:
        return material
    source = f"{CHANGED}: {basis}" if known else f"{GIVEN}: {basis}"
    return replace(material, source=source, read=False)


def is_given(material: Material) -> bool:
    """Whether a shown material's conductivity comes from the detail file."""
    return not material.source or material.source.startswith((GIVEN, CHANGED))


def material_numbers(sections: Iterable[Section]) -> dict[Material, int]:
    """Numbers of the shown materials of some sections, in the order in which they name them.

    Args:
        sections: as they were solved, so that their cavities have the conductivities that were computed.
    """
    materials = (shown_material(region) for section in sections for region in section.regions)
    return {material: number for number, material in enumerate(dict.fromkeys(materials), start=1)}
