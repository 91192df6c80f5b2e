"""The only place that reads and validates a detail file.

First step of the flow: **detail file** -> parameters -> detail. Whatever is wrong is said in one message with the
file, the line, the key and what would be right.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # looking for plugins takes as long as reading a file

from pydantic import BaseModel, ValidationError

from bridge2d.comparison_block import ComparisonTerms
from bridge2d.detail import AirtightPiece, Detail, FlankingElement, Probe, Region, Section
from bridge2d.detail_blocks import HEAD, Head
from bridge2d.detail_chosen import chosen_climate, chosen_limits
from bridge2d.detail_findings import explained, findings, unknown_key
from bridge2d.detail_text import Source, parse, read_text
from bridge2d.errors import InputError, QuantityError, SectionError, nearest
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import Junction, Parameters, describe
from bridge2d.junctions.material_choice import chosen
from bridge2d.junctions.quantities import read_line_of_text, units_context
from bridge2d.materials import Material, catalogue
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.tolerances_block import Tolerances, chosen_tolerances
from bridge2d.toml_lines import Path as KeyPath
from bridge2d.units import SI, SYSTEMS, UnitSystem

if TYPE_CHECKING:
    from bridge2d.detail_drawing import Drawn
    from bridge2d.junctions.drawing_block import DrawingBlock
    from bridge2d.junctions.free_section import FreeSection


@dataclass(frozen=True)
class LoadedDetail:
    """A detail file that was read and found right.

    Attributes:
        detail: what is to be computed.
        text: the file's text, as it goes into the report.
        path: the file, as it was named.
        input_hash: SHA-256 of all input that counts, in a canonical form: spelling, order of keys, units and comments
            do not change it.
        data: the file's data as it stands there.
        drawn: what the detail took from a drawing; None where it has none.
        files: bytes of all other files that it was read from, by the name that the text gives them.
        comparison: what the file says of the option that it is, for a comparison; no part of the input that counts.
        materials: the catalogue's rows that it draws on.
        units: system in which the detail is shown: the file's, or the one that the caller asked for.
        parameters: of the junction, as validated.
        tolerances: by how much its inputs may be off; None where the file has no such block.
    """

    detail: Detail
    text: str
    path: Path
    input_hash: str
    data: Mapping[str, Any]
    drawn: Drawn | None = None
    files: Mapping[str, bytes] = field(default_factory=dict)
    comparison: ComparisonTerms | None = None
    materials: tuple[Material, ...] = ()
    units: DisplayUnits = IN_SI
    parameters: Parameters | None = None
    tolerances: Tolerances | None = None


def load(path: str | Path, geometry: bool = True, shown: UnitSystem | None = None) -> LoadedDetail:
    """Read a detail file and check all of it; nothing is computed.

    Args:
        path: the TOML file.
        geometry: whether to check the sections too; the computation does it otherwise, see `locate`.
        shown: system of units in which it is shown; the file's own unless given. How the file's bare numbers are read
            is for the file alone to say.

    Raises:
        InputError: whatever is wrong with it.
    """
    path = Path(path)
    text = read_text(path)
    return read(text, path, geometry, shown=shown)


def read(
    text: str,
    path: Path,
    geometry: bool = True,
    attached: Mapping[str, bytes] | None = None,
    shown: UnitSystem | None = None,
) -> LoadedDetail:
    """The detail of a file whose text is already at hand, see `load`.

    Args:
        text: TOML.
        path: the name that messages give it.
        geometry: whether to check the sections too.
        attached: drawings, tables and sets at hand by the name that the text gives them, and then no other file is
            opened; None reads them from the folder of the path.
        shown: system of units in which it is shown; the file's own unless given.

    Raises:
        InputError: whatever is wrong with it.
    """
    source = Source(text, path)
    data = parse(source)
    source.units = _units(data, source)
    displayed = DisplayUnits(shown) if shown else source.units
    junction = _junction(data, source)
    head, parameters = _validated(data, junction, source)
    drawn = None
    drawing: DrawingBlock | None = getattr(parameters, "drawing", None)
    if drawing is not None:
        from bridge2d.detail_drawing import with_drawing  # loads shapely

        parameters, drawn = with_drawing(cast("FreeSection", parameters), drawing, source, attached)
    detail = _built(junction, parameters, source)
    chosen, origins, sets = chosen_limits(head, source, attached)
    climate, tables = chosen_climate(head, source, attached)
    detail = replace(
        detail,
        title=head.title or path.stem,
        project=head.project,
        revision=head.revision,
        author=head.author,
        date=head.date,
        requirements=chosen,
        climate=climate,
    )
    if junction.blocks:
        detail = replace(detail, sections=tuple(replace(s, title=s.title or detail.title) for s in detail.sections))
    else:
        detail = _with_rows(detail, parameters, displayed.system)
    _check_requirements(detail, origins, source)
    if geometry:
        _check_sections(detail, source, drawn)
    if drawn is not None:
        from bridge2d.detail_drawing import drawing_notes

        detail = replace(detail, notes=(*detail.notes, *drawing_notes(detail, drawn)))
    tolerances = _tolerances(head, parameters, detail, source)
    input_hash = _input_hash(head, parameters, detail)
    terms = head.comparison.terms() if head.comparison else None
    rows = _of_the_catalogue(detail, parameters)
    beside = {**sets, **tables}
    return LoadedDetail(
        detail, text, path, input_hash, data, drawn, beside, terms, rows, displayed, parameters, tolerances
    )


def _check_sections(detail: Detail, source: Source, drawn: Drawn | None) -> None:
    from bridge2d.section_check import check_section  # loads numpy, which a computation beside loads anyway

    for section in detail.sections:
        try:
            check_section(section)
        except SectionError as error:
            raise _located(error, section, len(detail.sections), source, drawn) from None


def locate(error: SectionError, loaded: LoadedDetail) -> InputError:
    """The message for geometry that turned out wrong after the file was read.

    Args:
        error: what the numerics said.
        loaded: the file.
    """
    source = Source(loaded.text, loaded.path)
    source.units = _units(parse(source), source)
    sections = loaded.detail.sections
    named = [section for section in sections if section.name == error.section or len(sections) == 1]
    if named:
        return _located(error, named[0], len(sections), source, loaded.drawn)
    message, _, right = error.message.partition("; ")
    return InputError(f"a section {message}" if _has_no_subject(message) else message, file=source.file, right=right)


# -- the data ------------------------------------------------------------------------------------------------------


def _units(data: Mapping[str, Any], source: Source) -> DisplayUnits:
    """The system of units of the file's bare numbers."""
    typed = data.get("units", SI)
    system = next((one for one in SYSTEMS if one == typed), None)
    if system is None:
        right = " or ".join(f'units = "{one}"' for one in SYSTEMS)
        raise source.error(("units",), f"there is no system of units {typed!r:.60}", f"write {right}")
    return DisplayUnits(system)


def _junction(data: Mapping[str, Any], source: Source) -> Junction:
    known = junctions()
    if "junction" not in data:
        right = f'write junction = "free_section" at the top (known: {", ".join(known)})'
        raise source.error((), "the key junction is missing", right)
    if isinstance(data["junction"], list):
        right = "name a detail file here, or compute this one with `bridge2d schedule`"
        raise source.error(("junction",), "this is a building with its junctions, not a detail", right)
    try:
        name = read_line_of_text(data["junction"])
    except QuantityError as error:
        raise source.error(("junction",), error.message, error.right) from None
    if name not in known:
        like = nearest(name, known)
        right = (f"did you mean {like!r}? " if like else "") + f"known are {', '.join(known)}"
        raise source.error(("junction",), f"there is no junction {name[:60]!r}", right)
    return known[name]


def _validated(data: Mapping[str, Any], junction: Junction, source: Source) -> tuple[Head, Parameters]:
    """The head and the junction's parameters, or the first thing that is wrong in the order of the file."""
    context = units_context(source.units.system)
    wrong: list[InputError] = []
    head: Head | None = None
    parameters: Parameters | None = None
    own = {key: value for key, value in data.items() if key not in HEAD}
    if junction.blocks:
        if "parameters" in data:
            right = "leave it out; its blocks stand at the top level"
            wrong.append(source.error(("parameters",), f"a {junction.title} has no [parameters]", right))
    else:
        wrong.extend(_unknown_top_key(key, junction, source) for key in own)
        own = data.get("parameters", {})
    try:
        head = Head.model_validate(data, context=context)
    except ValidationError as error:
        wrong.extend(explained(one, Head, (), source) for one in findings(error))
    try:
        if isinstance(own, dict):
            parameters = junction.parameters.model_validate(own, context=context)
    except ValidationError as error:
        prefix: KeyPath = () if junction.blocks else ("parameters",)
        wrong.extend(explained(one, junction.parameters, prefix, source) for one in findings(error))
    if wrong or head is None or parameters is None:
        raise _first(wrong)
    return head, parameters


def _first(wrong: list[InputError]) -> InputError:
    """The first of several mistakes in the file; a misspelt key stands for the one that is then missing."""
    first = min(wrong, key=lambda error: error.line or 10**9)
    if first.message.startswith("the key ") and first.message.endswith(" is missing"):
        missing = first.message.split()[2]
        return next((e for e in wrong if e.message.startswith("unknown key") and repr(missing) in e.right), first)
    return first


def _unknown_top_key(key: str, junction: Junction, source: Source) -> InputError:
    path = (key, 0) if isinstance(source.data[key], list) and source.data[key] else (key,)
    if key in junctions()["free_section"].parameters.model_fields:
        right = 'only a junction = "free_section" has such blocks'
        return source.error(path, f"a {junction.title} has no {key}", right)
    if key in junction.parameters.model_fields:
        return source.error(path, f"the parameter {key} stands outside its table", "move it below [parameters]")
    return unknown_key(path, HEAD, source)


# -- the detail ----------------------------------------------------------------------------------------------------


def _built(junction: Junction, parameters: Parameters, source: Source) -> Detail:
    try:
        return junction.build(parameters)
    except InputError as error:
        prefix: KeyPath = () if junction.blocks else ("parameters",)
        path = (*prefix, error.key) if error.key else prefix
        raise source.built_error(path, error.message, error.right) from None


def _with_rows(detail: Detail, parameters: Parameters, system: UnitSystem) -> Detail:
    """The detail with (symbol, label, value) of every parameter, and which of them have no effect or no dimension."""
    unused = parameters.unused()
    drawn = {dimension.parameter for section in detail.sections for dimension in section.dimensions}
    rows = {info: (info.symbol, info.label, parameters.shown(info, system)) for info in describe(type(parameters))}
    return replace(
        detail,
        parameters=tuple(rows.values()),
        unused=frozenset(row[:2] for info, row in rows.items() if info.name in unused),
        undrawn=tuple(
            row
            for info, row in rows.items()
            if info.symbol and info.group != "conditions" and info.name not in unused | drawn
            if getattr(parameters, info.name) != 0
        ),
    )


def _of_the_catalogue(detail: Detail, parameters: Parameters) -> tuple[Material, ...]:
    """The catalogue's rows that a detail draws on, also where a thickness of 0 leaves the material out."""
    names = {material.name for material in chosen(parameters)}
    names.update(region.material.name for section in detail.sections for region in section.regions)
    return tuple(material for name, material in catalogue().items() if name in names)


def _tolerances(head: Head, parameters: Parameters, detail: Detail, source: Source) -> Tolerances | None:
    """The file's tolerances of its inputs; None where it has none."""
    if head.tolerances is None:
        return None
    try:
        return chosen_tolerances(head.tolerances, parameters, detail, source.units.system)
    except QuantityError as error:
        raise source.error(("tolerances", *error.path), error.message, error.right) from None


def _check_requirements(detail: Detail, origins: tuple[KeyPath, ...], source: Source) -> None:
    """Refuse a limit on what this detail does not have."""
    combination = detail.combination
    flanking = next((s.flanking for s in detail.sections if s.name == combination.psi_section), ())
    for path, requirement in zip(origins, detail.requirements, strict=True):
        if requirement.quantity == "u_value" and detail.module is None:
            raise source.error(path, "this junction has no U of its own", "limit psi or f_rsi instead")
        if requirement.quantity == "chi" and not combination.chi_section:
            raise source.error(path, "this junction has no χ", "limit psi or f_rsi instead")
        if requirement.quantity == "psi" and not detail.installations:
            if not combination.psi_section or not flanking:
                right = "add [[flanking]] elements to a section with two environments, or limit f_rsi instead"
                right = "limit u_value or f_rsi instead" if detail.module else right
                raise source.error(path, "this section has no Ψ", right)
            lacking = next((f.name for f in flanking if requirement.dimensions not in f.lengths), None)
            if lacking is not None:
                message = f"the flanking element {lacking!r} has no {requirement.dimensions} length, so Ψ has none"
                own = path[0] == "requirement"
                raise source.error(
                    (*path, "dimensions") if own else path, message, "add that length or choose another system"
                )


def _located(
    error: SectionError, section: Section, count: int, source: Source, drawn: Drawn | None = None
) -> InputError:
    """The message for a part of a section, with the block of the file where there is one."""
    in_drawing = drawn.located(error) if drawn is not None else None
    if in_drawing is not None:
        return in_drawing
    kind, number = error.item[0], (error.item[1] if len(error.item) == 2 else 0)
    number -= len(drawn.rings) if drawn is not None and kind == "region" else 0
    message, _, right = error.message.partition("; ")
    if drawn is not None and kind in ("flanking", "surface"):
        from bridge2d.dxf.findings import gaps

        reasons = [right, *gaps(section, drawn.origin)[:1], drawn.extent()]
        right = "; ".join(reason for reason in reasons if reason)
    if source.data.get("junction") == "free_section":
        block = {"surface": "environment"}.get(kind, kind)
        key = {"region": "polygon", "surface": "edge", "flanking": "cut", "probe": "point", "airtight": "line"}.get(
            kind, ""
        )
        if key:
            return source.built_error((block, number, key), message, right)
        return source.built_error((), f"the section {message}" if _has_no_subject(message) else message, right)
    items: dict[str, tuple[Region | FlankingElement | Probe | AirtightPiece, ...]] = {
        "region": section.regions,
        "flanking": section.flanking,
        "probe": section.probes,
        "airtight": section.airtight,
    }
    parts = items.get(kind, ())
    where = [f"section {section.name!r}"] if count > 1 or not parts else []
    if parts:
        where.append(f"{kind} {parts[number].name!r}")
    elif kind == "surface":
        where.append(f"surface of {section.surfaces[number].environment!r}")
    message, right = source.units.sentence(message), source.units.sentence(right)
    return InputError(message, file=source.file, line=source.line(("parameters",)), key=", ".join(where), right=right)


def _has_no_subject(message: str) -> bool:
    return message.split(" ", 1)[0] in ("has", "stands", "touches", "is", "does")


def _input_hash(head: Head, parameters: Parameters, detail: Detail) -> str:
    """SHA-256 of a canonical form of the input, see `LoadedDetail`."""
    everything = {
        "junction": head.junction,
        "title": head.title,
        "project": head.project,
        "revision": head.revision,
        "parameters": _canonical(parameters),
        "requirements": [_canonical(requirement) for requirement in detail.requirements],
    }
    if detail.climate is not None:
        everything["climate"] = _canonical(detail.climate)
    if head.tolerances is not None:
        everything["tolerances"] = _canonical(head.tolerances)
    text = json.dumps(everything, sort_keys=True, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _canonical(value: Any) -> Any:
    """A value in a form that does not depend on spelling or units; numbers have twelve digits."""
    if isinstance(value, BaseModel):
        plain = {name: _canonical(getattr(value, name)) for name in type(value).model_fields}
        region = getattr(value, "region", None)
        return plain | {"_region": _canonical(region())} if callable(region) else plain
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _canonical(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {str(key): _canonical(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_canonical(one) for one in value]
    if isinstance(value, float):
        return float(f"{value:.12g}") + 0.0
    return value
