"""What the processes do: text of a detail in, plain values for the page out. Here alone the numerics are loaded.

Each process keeps its last few results, so that another layer, another section or a pointed place needs no second
computation.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge2d.errors import SectionError
from bridge2d.module_words import LIMITED
from bridge2d.nomenclature import F_RSI, MINUS
from bridge2d.sensitivities import as_asked
from bridge2d.shown_units import DisplayUnits
from bridge2d.solved_sections import SolvedSections
from bridge2d.solving import Solving
from bridge2d.units import SI
from bridge2d.web.brought import climate_columns as climate_columns
from bridge2d.web.brought import drawing_layers as drawing_layers
from bridge2d.web.brought import limit_sets as limit_sets
from bridge2d.web.brought import rechecked as rechecked
from bridge2d.web.buildings import building_keys as building_keys
from bridge2d.web.buildings import building_wrong as building_wrong
from bridge2d.web.buildings import scheduled as scheduled
from bridge2d.web.finds import find_one as find_one
from bridge2d.web.finds import find_plan as find_plan
from bridge2d.web.sweeps import sweep_file as sweep_file
from bridge2d.web.sweeps import sweep_plan as sweep_plan
from bridge2d.web.sweeps import sweep_row as sweep_row
from bridge2d.web.sweeps import sweep_shown as sweep_shown

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult, RequirementResult, SectionResult
    from bridge2d.units import UnitSystem

Plain = dict[str, Any]
KEPT = 12
"""Results that a process keeps."""
SMALL = (62.0, 46.0)
"""Greatest width and height of a drawing in the list [mm]."""
FIRST_LOOK = 1
"""Passes of a first look: the bracket holds, temperatures have no tolerance yet."""
CURVE_PASSES = 2
"""Passes of a point of a curve: the least that give a temperature its tolerance."""
AS_USUAL = Solving()
KEPT_SECTIONS = 40
"""Sections of which it keeps the numbers: what a change does not reach is not solved again."""
_sections = SolvedSections(KEPT_SECTIONS)
_results: OrderedDict[tuple[str, Solving, int | None], DetailResult] = OrderedDict()


def computed(
    text: str, path: Path, system: UnitSystem | None, passes: int | None = None, solving: Solving = AS_USUAL
) -> tuple[LoadedDetail, DetailResult, bool]:
    """A detail read and computed, or found among the last ones.

    Args:
        text: TOML.
        path: of its file, which messages name and beside which other files lie.
        system: in which it is shown; its own unless given.
        passes: so many are enough; None computes until all has settled.
        solving: how closely, and by which mesher.

    Returns:
        The detail, its numbers, and whether fewer passes made them than until all has settled.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.calculate import calculate
    from bridge2d.detail_file import locate, read

    loaded = read(text, path, geometry=False, shown=system)
    known = _results.get((loaded.input_hash, solving, None))
    rough = known is None and passes is not None
    if rough:
        known = _results.get((loaded.input_hash, solving, passes))
    if known is None:
        try:
            known = calculate(loaded.detail, solving.tolerance, solving.mesher, loaded.input_hash, passes, _sections)
        except SectionError as error:
            raise locate(error, loaded) from None
        _results[loaded.input_hash, solving, passes] = known
        while len(_results) > KEPT:
            _results.popitem(last=False)
    # Author, date and the units of what is said are no part of the fingerprint; what was computed stays, such as U of a
    # window whose frame is given by polygons.
    detail = replace(loaded.detail, window=known.detail.window, sections=known.detail.sections)
    return loaded, replace(known, detail=detail), rough


def prepare() -> bool:
    """Load what the first computation needs."""
    import bridge2d.calculate
    import bridge2d.detail_file
    import bridge2d.drawing.layered_section
    import bridge2d.section_results  # noqa: F401

    return True


# -- a detail ----------------------------------------------------------------------------------------------------------


def answer(
    text: str,
    file: str,
    system: UnitSystem | None,
    section: str,
    layers: tuple[str, ...],
    coarse: bool,
    solving: Solving = AS_USUAL,
) -> Plain:
    """Picture and numbers of a detail.

    Args:
        text: TOML.
        file: path of its file.
        system: in which it is shown; its own unless given.
        section: name of the section that is drawn; the first one where there is none of that name.
        layers: of the picture.
        coarse: whether a first look is enough.
        solving: how closely, and by which mesher.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.drawing.layered_section import layered_section

    loaded, result, rough = computed(text, Path(file), system, FIRST_LOOK if coarse else None, solving)
    shown, detail = loaded.units, loaded.detail
    drawn = next((one for one in result.sections if one.section.name == section), result.sections[0])
    picture = layered_section(drawn, detail, layers, shown=shown)
    return {
        "title": detail.title,
        "svg": picture.svg,
        "marked": picture.marked,
        "section": drawn.section.name,
        "sections": [(one.section.name, one.section.title) for one in result.sections],
        "coarse": rough,
        "hash": loaded.input_hash,
        **numbers(result, shown, rough=rough),
        "materials": _materials(drawn, picture.numbers, shown),
        "axes": drawn.section.axes,
        "elsewhere": _elsewhere(result, drawn),
        "box": _box(drawn, shown),
    }


def numbers(result: DetailResult, shown: DisplayUnits, *, rough: bool = False) -> Plain:
    """Numbers, verdicts and what is to be said of them.

    Args:
        result: of the whole chain.
        shown: units of everything that is written.
        rough: whether it is a first look, whose temperatures have no tolerance and whose limits of f_Rsi wait for it.
    """
    from bridge2d.tables import detail_rows
    from bridge2d.web.answers import climate_told, no_airtight_layer, sections_told, waiting_rows

    rows = detail_rows(result, shown)
    verdicts = [_verdict(one, shown) for one in result.requirements]
    if rough:
        rows = waiting_rows(rows)
        verdicts = [{**one, "state": "follows"} if one["what"] == "fRsi" else one for one in verdicts]
    warnings = [warning for one in result.sections for warning in one.warnings]
    return {
        "rows": rows,
        "short": _few(rows)[:5],
        "verdicts": verdicts,
        "climate": climate_told(result.by_month, shown, rough=rough),
        "each_section": sections_told(result, shown, rough=rough),
        "no_airtight": no_airtight_layer(result),
        "cautions": [shown.sentence(one) for one in result.detail.cautions],
        "notes": [shown.sentence(one) for one in result.detail.notes],
        "warnings": [shown.sentence(one) for one in dict.fromkeys(warnings)],
        "breaks": [one.text for s in result.sections if s.airtight for one in s.airtight.breaks],
        "computed": f"Computed in {result.seconds:.2f} s by bridge2d {result.version}.",
    }


def _few(rows: list[tuple[str, str, str]]) -> list[tuple[str, str]]:
    """Name and value of what is looked at first: the lowest f_Rsi, then what is lost."""
    factors = [(name, value) for name, value, _ in rows if name.startswith(F_RSI.plain_symbol)]
    lowest = sorted(factors, key=lambda row: float(row[1].split()[1].replace(MINUS, "-")))[:1]  # "≈ 0.837 (tolerance"
    losses = [(name, value) for name, value, _ in rows if name[:1] in "ΨχU"]
    return lowest + losses


def _elsewhere(result: DetailResult, drawn: SectionResult) -> dict[str, list[tuple[str, str]]]:
    """Name (empty for the first) and title of the sections that dimension a parameter which the drawn one does not."""
    here = {one.parameter for one in drawn.section.dimensions}
    found: dict[str, list[tuple[str, str]]] = {}
    for number, section in enumerate(one.section for one in result.sections):
        for parameter in dict.fromkeys(one.parameter for one in section.dimensions):
            if parameter and parameter not in here:
                found.setdefault(parameter, []).append((section.name if number else "", section.title))
    return found


def depends(text: str, file: str, system: UnitSystem | None, solving: Solving = AS_USUAL) -> Plain:
    """What a detail's result depends on, as tables.

    Args:
        text: TOML.
        file: path of its file.
        system: in which it is shown; its own unless given.
        solving: how closely, and by which mesher.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.sensitivities.rows import sensitivities
    from bridge2d.web.depended import as_tables

    loaded, result, _ = computed(text, Path(file), system, solving=solving)
    found = sensitivities(result, loaded)
    return {"title": loaded.detail.title, "tables": None if found is None else as_tables(found, loaded.units)}


def _verdict(one: RequirementResult, shown: DisplayUnits) -> Plain:
    from bridge2d.nomenclature import F_RSI

    quantity = LIMITED[one.requirement.quantity]
    state = "kept" if one.met else ("missed" if one.certain else "undecided")
    sense = "at most" if one.requirement.sense == "maximum" else "at least"
    return {
        "state": state,
        "name": one.requirement.name,
        "what": quantity.plain_symbol,
        "limit": f"{sense} {shown.value(quantity, one.requirement.limit)}",
        "found": ("≈ " if quantity is F_RSI else "") + shown.value(quantity, one.value),
        "source": one.requirement.source,
    }


def _materials(drawn: SectionResult, numbered: Any, shown: DisplayUnits) -> list[Plain]:
    from bridge2d.drawing.shown_materials import shown_material
    from bridge2d.nomenclature import CONDUCTIVITY

    here = dict.fromkeys(shown_material(region) for region in drawn.section.regions)
    return [
        {
            "number": numbered[one],
            "name": shown.made_name(one.name),
            "conductivity": shown.value(CONDUCTIVITY, one.conductivity),
            "source": shown.sentence(one.source, both=True),
        }
        for one in sorted((one for one in here if one in numbered), key=lambda one: numbered[one])
    ]


def _box(drawn: SectionResult, shown: DisplayUnits) -> Plain:
    """The range of places that can be asked for, in the unit of drawings."""
    points = drawn.fields.points
    low, high = points.min(axis=0), points.max(axis=0)
    left = -float(high[0]) if drawn.section.half else float(low[0])
    ends = [left, float(low[1]), float(high[0]), float(high[1])]
    unit = 1000.0 if shown.is_si else 1.0 / 0.0254
    return {"ends": [round(one * unit, 3) for one in ends], "unit": shown.length_unit, "size": unit}


def pointed(
    text: str,
    file: str,
    system: UnitSystem | None,
    section: str,
    point: tuple[float, float],
    solving: Solving = AS_USUAL,
) -> Plain:
    """Temperature and material at a place.

    Args:
        text: TOML.
        file: path of its file.
        system: in which it is shown.
        section: name of the section.
        point: the place [m].
        solving: how closely, and by which mesher.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d import nomenclature as n
    from bridge2d.web.pointed import value_at

    loaded, result, _ = computed(text, Path(file), system, FIRST_LOOK, solving)
    drawn = next((one for one in result.sections if one.section.name == section), result.sections[0])
    shown = loaded.units
    found = value_at(drawn, point)
    said: Plain = {"place": shown.place(point), "section": drawn.section.title}
    if found is None:
        return {**said, "outside": True}
    temperature, region = found
    return {
        **said,
        "outside": False,
        "temperature": shown.value(n.TEMPERATURE, temperature),
        "region": region.name,
        "material": shown.made_name(region.material.name),
        "conductivity": shown.value(n.CONDUCTIVITY, region.material.conductivity),
    }


def small(text: str, file: str) -> Plain:
    """The small drawing and the verdicts of a detail in the list.

    Args:
        text: TOML.
        file: path of its file.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.drawing.isotherms import isotherm_picture
    from bridge2d.drawing.svg import Layer, layers_svg
    from bridge2d.tables import detail_rows

    loaded, result, _ = computed(text, Path(file), None)
    limits = loaded.detail.requirements
    drawn, units = result.sections[0], loaded.units
    scene = isotherm_picture(drawn, *SMALL, requirements=limits, shown=units, bare=True, figures=False).scene
    svg = layers_svg((scene.width, scene.height), [Layer(scene.items, {})], loaded.detail.title)
    rows = detail_rows(result, loaded.units)
    return {"svg": svg, "few": _few(rows)[:3], **numbers(result, loaded.units), "hash": loaded.input_hash}


def input_hash(text: str, file: str) -> str:
    """Fingerprint of a detail's input.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.detail_file import read

    return read(text, Path(file), geometry=False).input_hash


def report(
    text: str,
    file: str,
    system: UnitSystem | None,
    paper: str,
    solving: Solving = AS_USUAL,
    sensitivities: bool = False,
) -> bytes:
    """The PDF of a detail, as `bridge2d report` writes it.

    Args:
        text: TOML.
        file: path of its file.
        system: in which it is shown.
        paper: "A4" or "Letter".
        solving: how closely, and by which mesher.
        sensitivities: whether what the result depends on is asked for, as by `--sensitivities`.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.report import report_bytes

    loaded, result, _ = computed(text, Path(file), system, solving=solving)
    return report_bytes(as_asked(result, loaded, asked=sensitivities), loaded, loaded.units, paper)


def drawing(
    text: str,
    file: str,
    system: UnitSystem | None,
    section: str,
    ending: str,
    solving: Solving = AS_USUAL,
    sensitivities: bool = False,
) -> bytes:
    """A section as `bridge2d draw` writes it, or the numbers of all sections as JSON.

    Args:
        text: TOML.
        file: path of its file.
        system: in which it is shown.
        section: its name.
        ending: "dxf", "svg" (isotherms), "dimensions.svg", "vtu" or "json".
        solving: how closely, and by which mesher.
        sensitivities: whether what the result depends on is asked for in the JSON, as by `--sensitivities`.

    Raises:
        InputError: whatever is wrong with it.
    """
    loaded, result, _ = computed(text, Path(file), system, solving=solving)
    drawn = next((one for one in result.sections if one.section.name == section), result.sections[0])
    if ending == "dxf":
        from bridge2d.drawing.dxf import section_dxf

        return section_dxf(drawn, loaded.units)
    if ending == "vtu":
        from bridge2d.field_files import section_vtu

        return section_vtu(drawn)
    if ending == "json":
        import json

        from bridge2d.tables import as_json

        numbers_of_all = as_json(as_asked(result, loaded, asked=sensitivities))
        return json.dumps(numbers_of_all, ensure_ascii=False, allow_nan=False, indent=2).encode("utf-8")
    from bridge2d.drawing import section_svg

    kind = "dimensions" if ending.startswith("dimensions") else "isotherms"
    return section_svg(drawn, kind, detail=loaded.detail, shown=loaded.units).encode("utf-8")


# -- what if -----------------------------------------------------------------------------------------------------------


def curve_point(text: str, file: str, solving: Solving = AS_USUAL) -> Plain:
    """The numbers that a curve of a parameter shows; Ψ in the dimensions of its first limit, where it has one.

    Args:
        text: TOML.
        file: path of its file.
        solving: how closely, and by which mesher.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.web.answers import climate_limits

    _, result, _ = computed(text, Path(file), None, CURVE_PASSES, solving)
    limited = [one.requirement for one in result.requirements]
    wanted = next((one.dimensions for one in limited if one.quantity == "psi"), "")
    psi = next((one for one in result.psi if one.dimensions == wanted), next(iter(result.psi), None))
    dimensions = psi.dimensions if psi else ""
    factor = min(result.f_rsi, key=lambda one: one.value, default=None)
    chi = result.chi.value if result.chi else None
    u_value = result.u_section.u_value if result.u_section else None
    return {
        "chi": (chi.lower, chi.upper) if chi else None,
        "u_value": (u_value.lower, u_value.upper) if u_value else None,
        "psi": (psi.value.lower, psi.value.upper) if psi else None,
        "dimensions": dimensions,
        "f_rsi": (factor.value, factor.tolerance) if factor else None,
        "limits": [
            *((one.quantity, one.limit, one.name) for one in limited if one.dimensions in ("", dimensions)),
            *(("f_rsi", asked, name) for asked, name in climate_limits(result.by_month)),
        ],
    }


# -- compare -----------------------------------------------------------------------------------------------------------


def comparison(
    options: list[tuple[str, str, Solving]],
    system: UnitSystem | None,
    wanted: str,
    said: dict[str, list[str]],
    section: str = "",
    layers: tuple[str, ...] = (),
) -> Any:
    """Options side by side, as `bridge2d compare` shows them.

    Args:
        options: text and path of each, and how it is computed.
        system: in which everything is shown; SI unless given.
        wanted: "page" for plain values, "json" for the numbers' bytes, "A4" or "Letter" for those of the sheet.
        said: of the options beside their files, as words of a call.
        section: name of the section that is drawn; of those that differ that with the coldest point unless given.
        layers: of the page's drawings.

    Raises:
        InputError: an option is wrong, or they cannot be compared.
    """
    from bridge2d.comparison import compared
    from bridge2d.comparison.terms import gathered

    pairs = [computed(text, Path(file), system or SI, solving=solving)[:2] for text, file, solving in options]
    loaded, results = [one for one, _ in pairs], [one for _, one in pairs]
    done = compared(loaded, results, gathered(loaded, said, system or SI), DisplayUnits(system or SI))
    if wanted == "json":
        import json

        from bridge2d.comparison.screen import comparison_json

        return json.dumps(comparison_json(done), ensure_ascii=False, allow_nan=False, indent=2).encode("utf-8")
    if wanted != "page":
        from bridge2d.report.comparison_pages import comparison_bytes

        return comparison_bytes(done, section, wanted)
    from bridge2d.web.compared import comparison_plain

    return comparison_plain(done, section, layers)
