"""What is made of the declarations: lists of junctions, parameters and materials, JSON schema, a new detail file.

Beside the flow: these tell what a detail file may hold, before there is one.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from typing import Any

from bridge2d import nomenclature, units
from bridge2d.detail import Requirement
from bridge2d.errors import InputError, nearest
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import Junction, MaterialChoice, ParameterInfo, describe
from bridge2d.new_files import example_in_inches, toml_number
from bridge2d.shown_units import DisplayUnits
from bridge2d.units import INCH_POUND, SI, UnitSystem

WIDTH = 100
"""Width to which comments are wrapped."""


def junction_named(name: str) -> Junction:
    """The junction of this name.

    Raises:
        InputError: there is none; the message names the one most like it.
    """
    known = junctions()
    if name not in known:
        like = nearest(name, known)
        right = (f"did you mean {like!r}? " if like else "") + f"known are {', '.join(known)}"
        raise InputError(f"there is no junction {name[:60]!r}", right=right)
    return known[name]


def junction_table() -> str:
    """Every junction with its title."""
    known = junctions()
    rows = [("name", "what it is"), *((name, known[name].title) for name in known)]
    return f"{_aligned(rows)}\n\n`bridge2d junctions NAME` lists the parameters of one."


def parameter_table(junction: Junction, system: UnitSystem = SI) -> str:
    """A junction's parameters: symbol, name, default, limits, unit, what each measures.

    Args:
        junction: the junction.
        system: of the numbers.
    """
    sentence = DisplayUnits(system).sentence
    head = f"{junction.name}: {junction.title}\n\n{textwrap.fill(sentence(junction.description), WIDTH)}"
    if junction.blocks:
        return f"{head}\n\n{sentence(_block_table(junction))}"
    rows = [
        (
            info.symbol,
            info.name,
            _default(info, system),
            _limits(info, system),
            _unit(info, system),
            sentence(f"{info.label}: {info.help}"),
        )
        for info in describe(junction.parameters)
    ]
    rows.insert(0, ("symbol", "name", "default", "limits", "unit", "what it measures"))
    return f"{head}\n\n{_aligned(rows)}"


def markdown_table(junction: Junction) -> str:
    """A junction's parameters as README.md shows them, one row each.

    Args:
        junction: a junction with parameters, not one with blocks.
    """
    rows = ["| symbol | parameter | default | limits | what it measures |", "| --- | --- | --- | --- | --- |"]
    for info in describe(junction.parameters):
        unit = f" {info.unit}" if info.unit else ""
        cells = (info.symbol, f"`{info.name}`", f"{_default(info)}{unit}", f"{_limits(info)}{unit}".strip(), info.help)
        rows.append("| " + " | ".join(cells) + " |")
    return "\n".join(rows)


def _default(info: ParameterInfo, system: UnitSystem = SI) -> str:
    if isinstance(info.default, MaterialChoice):
        return info.default.material.name
    if info.kind is not None and isinstance(info.default, int | float):
        return info.kind.number(info.default, system)
    return info.show(info.default, system)


def _limits(info: ParameterInfo, system: UnitSystem = SI) -> str:
    if info.kind is None or not info.unit:
        return info.limits
    return info.limits_in(system).removesuffix(f" {_unit(info, system)}")


def _unit(info: ParameterInfo, system: UnitSystem) -> str:
    return info.kind.unit_in(system) if info.kind else ""


def _block_table(junction: Junction) -> str:
    """The keys of a junction's blocks, from the same declarations that validate them."""
    definitions = junction.parameters.model_json_schema()
    lines = []
    for block, declared in definitions["properties"].items():
        if "type" in declared and "items" not in declared:  # a plain value at the top
            lines.append(_aligned([(block, "", declared.get("description", ""))]))
            continue
        single = "anyOf" in declared  # a table that may be left out, not a list of blocks
        reference = (declared["anyOf"][0] if single else declared["items"])["$ref"]
        model = definitions["$defs"][reference.rpartition("/")[2]]
        lines.append(f"[{block}]" if single else f"[[{block}]]")
        rows = [
            (f"  {key}", "needed" if key in model.get("required", ()) else "", one.get("description", ""))
            for key, one in model["properties"].items()
        ]
        lines.append(_aligned(rows))
    return "\n".join(lines)


def material_table(word: str = "", system: UnitSystem = SI) -> str:
    """The catalogue, or the part of it that a word matches.

    Args:
        word: part of a name or kind; empty for all.
        system: of the numbers; in inch-pound units the R-value of an inch stands beside the conductivity.

    Raises:
        InputError: nothing matches.
    """
    from bridge2d.materials import catalogue, find

    found = find(word)
    if not found:
        like = nearest(word, catalogue())
        right = f"did you mean {like!r}?" if like else "`bridge2d materials` lists all"
        raise InputError(f"no material matches {word[:60]!r}", right=right)
    # Sources are long: they are shown where somebody looks for something.
    kind, shown, imperial = units.CONDUCTIVITY, DisplayUnits(system), system == INCH_POUND
    head = ("name", "kind", f"λ {kind.unit_in(system)}", *(("R per inch",) if imperial else ()))
    rows = [(*head, "along the grain", "usual range", "μ", "source" if word else "")]
    for m in found:
        along = kind.number(m.conductivity_along, system) if m.conductivity_along is not None else ""
        has_range = m.low is not None and m.high is not None
        spread = f"{kind.number(m.low or 0.0, system)} to {kind.number(m.high or 0.0, system)}" if has_range else ""
        vapour = units.plain(m.vapour_factor) if m.vapour_factor is not None else ""
        source = m.source if m.read or "remembered" in m.source else f"{m.source} (remembered)"
        per_inch = (f"R-{units.INCH / m.conductivity / units.IMPERIAL_RESISTANCE:.3g}",) if imperial else ()
        cells = (m.name, m.group, kind.number(m.conductivity, system), *per_inch)
        rows.append((*cells, along, spread, vapour, shown.sentence(source, both=True) if word else ""))
    return _aligned(rows)


def requirement_table(word: str = "", system: UnitSystem = SI) -> str:
    """The sets of limits, or those that a word matches.

    Args:
        word: part of a name, a title or what a set applies to; empty for all.
        system: of the numbers; sources keep the SI number beside it.

    Raises:
        InputError: nothing matches.
    """
    from bridge2d.requirement_sets import matching

    shown = DisplayUnits(system)
    rows = [("name", "limit", "known", "what it is")]
    details: dict[tuple[str, ...], list[str]] = {}
    for one in matching(word):
        limits = ", ".join(limit_text(limit, shown) for limit in one.requirements)
        rows.append((one.name, limits, {True: "read", False: "remembered", None: ""}[one.read], one.title))
        texts = (one.applies, *dict.fromkeys(limit.source for limit in one.requirements))
        details.setdefault(tuple(text for text in texts if text), []).append(one.name)
    lines = [
        line
        for texts, names in details.items()
        for line in (", ".join(names), *(f"  {shown.sentence(one, both=True)}" for one in texts))
    ]
    # As with materials, sources are shown where somebody looks for something.
    return _aligned(rows) + ("\n\n" + "\n".join(lines) if word else "")


def limit_text(limit: Requirement, shown: DisplayUnits) -> str:
    """A limit in a few signs: "fRsi ≥ 0.700".

    Args:
        limit: the limit.
        shown: units of the number.
    """
    of = {
        "psi": nomenclature.PSI,
        "chi": nomenclature.CHI,
        "f_rsi": nomenclature.F_RSI,
        "u_value": nomenclature.U_VALUE,
    }[limit.quantity]
    symbol = f"{of.plain_symbol} {limit.dimensions.replace('_', ' ')}".rstrip()
    sense = "≤" if limit.sense == "maximum" else "≥"
    if limit.quantity == "f_rsi":
        hundredths = f"{limit.limit:.2f}"
        return f"{symbol} {sense} {hundredths if float(hundredths) == limit.limit else f'{limit.limit:.6g}'}"
    return f"{symbol} {sense} {float(shown.number(of, limit.limit)):.6g} {shown.unit(of)}"


def _aligned(rows: Sequence[tuple[str, ...]]) -> str:
    """Rows of text in columns; the last one runs free."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    lines = []
    for row in rows:
        cells = [f"{cell:<{width}}" for cell, width in zip(row[:-1], widths, strict=True)]
        lines.append("  ".join([*cells, row[-1]]).rstrip())
    return "\n".join(lines)


def schema(junction: Junction, system: UnitSystem = SI) -> dict[str, Any]:
    """JSON schema of the junction's detail files, for editors; a length may be a number or text.

    Args:
        junction: the junction.
        system: of the files' bare numbers, see `units` there.
    """
    from bridge2d.climate_block import ClimateBlock
    from bridge2d.detail_blocks import Head

    head, own = Head.model_json_schema(), junction.parameters.model_json_schema()
    definitions = {**head.pop("$defs", {}), **own.pop("$defs", {})}
    properties = dict(head["properties"])
    properties["junction"] = {"const": junction.name}
    properties["climate"] = ClimateBlock.model_json_schema()
    if junction.blocks:
        del properties["parameters"]
        properties |= own["properties"]
    else:
        for info in describe(junction.parameters):
            _at_the_door(own["properties"][info.name], info, system)
        properties["parameters"] = own
    if system == INCH_POUND:
        properties["units"] = {"const": system}
    written = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"bridge2d detail file: {junction.title}",
        "type": "object",
        "properties": properties,
        "required": ["junction"] if system == SI else ["junction", "units"],
        "additionalProperties": False,
        "$defs": definitions,
    }
    _name_units(written, system)
    return written


def _name_units(schema_part: Any, system: UnitSystem) -> None:
    """Write the units of bare numbers of a system into a schema."""
    if isinstance(schema_part, list):
        for one in schema_part:
            _name_units(one, system)
    elif isinstance(schema_part, dict):
        kind = next((k for k in units.KINDS if k.unit and k.unit == schema_part.get("unit")), None)
        if kind is not None and isinstance(schema_part.get("type"), list):
            schema_part["unit"] = kind.unit_in(system)
        for one in schema_part.values():
            _name_units(one, system)


def _at_the_door(declared: dict[str, Any], info: ParameterInfo, system: UnitSystem) -> None:
    """Limits and default of a parameter as a detail file writes them, not in SI."""
    for key in ("minimum", "maximum", "default"):
        declared.pop(key, None)
    for key, value in (("minimum", info.minimum), ("maximum", info.maximum), ("default", info.default)):
        if isinstance(value, MaterialChoice):
            declared[key] = value.material.name
        elif isinstance(value, bool | str):
            declared[key] = value
        elif value is not None:
            declared[key] = round(info.kind.bare(value, system) if info.kind else value, 9)


def new_file(junction: Junction, system: UnitSystem = SI) -> str:
    """Text of a detail file to begin with, every parameter explained.

    Args:
        junction: the junction.
        system: of its bare numbers; defaults are written as exactly as a rule shows them.
    """
    if junction.blocks:
        return _example(junction, system)
    sentence = DisplayUnits(system).sentence
    own = "0.14" if system == SI else '"R-1/in"'
    inches = 'inches or text with a unit ("9 1/2 in", "240 mm")'
    millimetres = 'millimetres or text with a unit ("240 mm", "9 1/2 in")'
    lines = [
        *_comment(sentence(f"{junction.title}. {junction.description}")),
        *_comment(f"Lengths are numbers in {millimetres if system == SI else inches}."),
        "",
        f"junction = {json.dumps(junction.name)}",
        *([f"units = {json.dumps(system)}"] if system != SI else []),
        f"title = {json.dumps(junction.title, ensure_ascii=False)}",
        '# project = "name of the building"',
        '# revision = "A"',
        '# author = "who answers for it"',
        '# date = "2026-11-25"',
        '# requirements = ["din-4108-2"]   # limits by the name of a set; `bridge2d requirements` lists the sets',
        "",
        *_comment(
            "A limit that the result has to keep; exit status 1 says that it does not. Quantities: f_rsi with a "
            "minimum; psi (with dimensions), chi and u_value with a maximum."
        ),
        "# [[requirement]]",
        '# quantity = "f_rsi"',
        "# minimum = 0.70",
        '# source = "where the limit comes from"',
        "",
        *_comment(
            "A material is a name that `bridge2d materials` lists, or a value of its own with a reason that the report "
            f'prints: {{ material = "softwood", conductivity = {own}, basis = "declared value" }}.'
        ),
        "[parameters]",
    ]
    group = ""
    for info in describe(junction.parameters):
        if info.group != group:
            group = info.group
            lines += ["", f"# -- {group} --"]
        allowed, bare_unit = info.limits_in(system), _unit(info, system)
        limits = f" ({allowed})" if allowed else ""
        unit = f" [{bare_unit}]" if bare_unit else ""
        symbol = f"{info.symbol}, " if info.symbol else ""
        lines += ["", *_comment(f"{symbol}{info.label}{unit}: {sentence(info.help)}{limits}")]
        lines.append(f"# {info.name} =" if info.default is None else f"{info.name} = {_toml(info, system)}")
    return "\n".join(lines) + "\n" + _example(junction, system)


def _example(junction: Junction, system: UnitSystem) -> str:
    """The junction's own blocks as a text to begin with; empty where it has none."""
    return junction.example if system == SI or not junction.example else example_in_inches(junction.example)


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="# ", subsequent_indent="# ")


def _toml(info: ParameterInfo, system: UnitSystem) -> str:
    """A default as TOML."""
    value = info.default
    if isinstance(value, MaterialChoice):  # a default is of the catalogue
        return json.dumps(value.material.name, ensure_ascii=False)
    if isinstance(value, int | float):
        return toml_number(info.kind or units.RATIO, value, system, info.minimum, info.maximum)
    return json.dumps(value, ensure_ascii=False)
