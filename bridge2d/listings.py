"""What is made of the declarations: lists of junctions, parameters and materials, JSON schema, a new detail file.

Beside the flow: these tell what a detail file may hold, before there is one.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from typing import Any

from bridge2d import units
from bridge2d.errors import InputError, nearest
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import Junction, MaterialChoice, ParameterInfo, describe

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


def parameter_table(junction: Junction) -> str:
    """A junction's parameters: symbol, name, default, limits, unit, what each measures.

    Args:
        junction: the junction.
    """
    head = f"{junction.name}: {junction.title}\n\n{textwrap.fill(junction.description, WIDTH)}"
    if junction.blocks:
        return f"{head}\n\n{_block_table(junction)}"
    rows = [
        (info.symbol, info.name, _default(info), _limits(info), info.unit, f"{info.label}: {info.help}")
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


def _default(info: ParameterInfo) -> str:
    if isinstance(info.default, MaterialChoice):
        return info.default.material.name
    if info.kind is not None and isinstance(info.default, int | float):
        return units.plain(info.default / info.kind.factor)
    return info.show(info.default)


def _limits(info: ParameterInfo) -> str:
    if info.kind is None or not info.unit:
        return info.limits
    return info.limits.removesuffix(f" {info.unit}")


def _block_table(junction: Junction) -> str:
    """The keys of a junction's blocks, from the same declarations that validate them."""
    definitions = junction.parameters.model_json_schema()
    lines = []
    for block, declared in definitions["properties"].items():
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


def material_table(word: str = "") -> str:
    """The catalogue, or the part of it that a word matches.

    Args:
        word: part of a name or kind; empty for all.

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
    rows = [("name", "kind", "λ W/(m·K)", "along the grain", "usual range", "μ", "source" if word else "")]
    for m in found:
        along = units.plain(m.conductivity_along) if m.conductivity_along is not None else ""
        spread = f"{units.plain(m.low)} to {units.plain(m.high)}" if m.low is not None and m.high is not None else ""
        vapour = units.plain(m.vapour_factor) if m.vapour_factor is not None else ""
        source = m.source if m.read or "remembered" in m.source else f"{m.source} (remembered)"
        rows.append((m.name, m.group, units.plain(m.conductivity), along, spread, vapour, source if word else ""))
    return _aligned(rows)


def _aligned(rows: Sequence[tuple[str, ...]]) -> str:
    """Rows of text in columns; the last one runs free."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    lines = []
    for row in rows:
        cells = [f"{cell:<{width}}" for cell, width in zip(row[:-1], widths, strict=True)]
        lines.append("  ".join([*cells, row[-1]]).rstrip())
    return "\n".join(lines)


def schema(junction: Junction) -> dict[str, Any]:
    """JSON schema of the junction's detail files, for editors; a length may be a number or text.

    Args:
        junction: the junction.
    """
    from bridge2d.detail_blocks import Head

    head, own = Head.model_json_schema(), junction.parameters.model_json_schema()
    definitions = {**head.pop("$defs", {}), **own.pop("$defs", {})}
    properties = dict(head["properties"])
    properties["junction"] = {"const": junction.name}
    if junction.blocks:
        del properties["parameters"]
        properties |= own["properties"]
    else:
        for info in describe(junction.parameters):
            _at_the_door(own["properties"][info.name], info)
        properties["parameters"] = own
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"bridge2d detail file: {junction.title}",
        "type": "object",
        "properties": properties,
        "required": ["junction"],
        "additionalProperties": False,
        "$defs": definitions,
    }


def _at_the_door(declared: dict[str, Any], info: ParameterInfo) -> None:
    """Limits and default of a parameter as a detail file writes them, not in SI."""
    for key in ("minimum", "maximum", "default"):
        declared.pop(key, None)
    factor = info.kind.factor if info.kind else 1.0
    for key, value in (("minimum", info.minimum), ("maximum", info.maximum), ("default", info.default)):
        if isinstance(value, MaterialChoice):
            declared[key] = value.material.name
        elif isinstance(value, bool | str):
            declared[key] = value
        elif value is not None:
            declared[key] = round(value / factor, 9)


def new_file(junction: Junction) -> str:
    """Text of a detail file to begin with, every parameter explained.

    Args:
        junction: the junction.
    """
    if junction.example:
        return junction.example
    lines = [
        *_comment(f"{junction.title}. {junction.description}"),
        *_comment('Lengths are numbers in millimetres or text with a unit ("240 mm", "9 1/2 in").'),
        "",
        f"junction = {json.dumps(junction.name)}",
        f"title = {json.dumps(junction.title, ensure_ascii=False)}",
        '# project = "name of the building"',
        '# revision = "A"',
        '# author = "who answers for it"',
        '# date = "2026-11-25"',
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
            'prints: { material = "softwood", conductivity = 0.14, basis = "declared value" }.'
        ),
        "[parameters]",
    ]
    group = ""
    for info in describe(junction.parameters):
        if info.group != group:
            group = info.group
            lines += ["", f"# -- {group} --"]
        limits = f" ({info.limits})" if info.limits else ""
        unit = f" [{info.unit}]" if info.unit else ""
        symbol = f"{info.symbol}, " if info.symbol else ""
        lines += ["", *_comment(f"{symbol}{info.label}{unit}: {info.help}{limits}")]
        lines.append(f"# {info.name} =" if info.default is None else f"{info.name} = {_toml(info)}")
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="# ", subsequent_indent="# ")


def _toml(info: ParameterInfo) -> str:
    """A default as TOML."""
    value = info.default
    if isinstance(value, MaterialChoice) and value.basis:
        number = units.plain(value.material.conductivity)
        return f"{{ conductivity = {number}, basis = {json.dumps(value.basis, ensure_ascii=False)} }}"
    if isinstance(value, MaterialChoice):
        return json.dumps(value.material.name, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return units.plain(value / (info.kind.factor if info.kind else 1.0))
    return json.dumps(value, ensure_ascii=False)
