"""Random parameters of the hatch curb that mostly fit; drawn one by one hardly any hatch would be one."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from bridge2d.junctions.declaration import describe
from bridge2d.junctions.hatch_curb import JUNCTION
from tests.random_parameters import values

DEFAULTS = {info.name: 1000 * (info.default or 0.0) for info in describe(JUNCTION.parameters) if info.unit == "mm"}
SHEETS = ("outer_skin", "inner_skin", "edge")


@st.composite
def parameters(draw: st.DrawFn) -> dict[str, Any]:
    """Any of the parameters within their limits, mostly such that they fit together."""
    fields = {info.name: values(info) for info in describe(JUNCTION.parameters)}
    fields["gaskets"] = st.sampled_from((1, 2))
    chosen = draw(st.fixed_dictionaries({}, optional=fields))
    if draw(st.integers(0, 9)):
        _fit(draw, chosen)
    for info in describe(JUNCTION.parameters):  # whole millimetres may lie below a limit of less than one
        if info.unit == "mm" and info.name in chosen:
            chosen[info.name] = min(max(chosen[info.name], 1000 * (info.minimum or 0.0)), 1000 * (info.maximum or 0.0))
    return chosen


def _fit(draw: st.DrawFn, chosen: dict[str, Any]) -> None:
    """Thin what has to be thin, and keep what lies in something else within it."""

    def as_drawn(name: str) -> float:
        return float(chosen.get(name, DEFAULTS[name]))

    def share(low: float, high: float) -> float:
        return round(low + draw(st.integers(0, 100)) / 100 * (max(high, low) - low), 2)

    kind = chosen.get("upstand_kind", "timber")
    most = {"steel": 10, "aluminium": 10, "grp": 30}.get(kind, 300)
    least = 2 * as_drawn("upstand_skin_thickness") + 5 if kind == "sandwich" else 1
    chosen["upstand_thickness"] = share(least, most)
    for name in SHEETS:
        if f"{name}_material" not in chosen:
            chosen[f"{name}_thickness"] = share(0.3, 10)
    chosen["core_thickness"] = max(as_drawn("core_thickness"), 1)
    chosen["edge_break_height"] = share(1, as_drawn("core_thickness"))
    chosen["upstand_height"] = share(-as_drawn("deck_thickness"), 1500)
    width = sum(
        as_drawn(f"{name}_thickness") for name in ("upstand", "outside_insulation", "inside_insulation", "reveal")
    )
    chosen["gasket_width"] = min(100, share(1, 0.5 * width))
    chosen["frame_break_width"] = min(200, share(0, 0.9 * width))
    chosen["glazing_thickness"] = share(4, as_drawn("lid_frame_depth"))
    chosen["glazing_setback"] = share(0, as_drawn("lid_frame_depth") - chosen["glazing_thickness"])
    chosen.pop("glazing_rebate", None)  # of a frame by polygons alone
    for name, depth in (("frame_transmittance", "lid_frame_depth"), ("glazing_transmittance", "glazing_thickness")):
        chosen[name] = min(chosen.get(name, 1.0), round(0.99 / (as_drawn(depth) / 1000 + 0.17), 3))
    for name in ("clear_width", "clear_length"):
        chosen[name] = max(as_drawn(name), 2 * as_drawn("lid_frame_projection") + 100)
    if chosen.get("lid_kind") == "glazed" and draw(st.booleans()):
        _draw_frame(draw, chosen, width)
    chosen["joist_spacing"] = max(as_drawn("joist_spacing"), as_drawn("joist_width") + 20)
    chosen["joist_depth"] = min(as_drawn("joist_depth"), 300)
    chosen.pop("joist_material", None)
    chosen["inside_temperature"], chosen["outside_temperature"] = 20, share(-60, 19)


def _draw_frame(draw: st.DrawFn, chosen: dict[str, Any], bearing: float) -> None:
    """A frame by polygons that lies on the upstand, with a lip into the opening, an oblique top and cavities."""

    def length(low: float, high: float) -> float:
        return round(low + draw(st.integers(0, 100)) / 100 * (max(high, low) - low), 2)

    for name in ("lid_frame_depth", "lid_frame_projection", "frame_transmittance"):
        chosen.pop(name, None)
    edge, lip, seen = length(30, 200), length(0, 60), length(5, 250)
    depth = edge + lip
    pane = length(4, edge - 12)
    setback = length(8, edge - pane - 4)
    end, high = bearing + seen, draw(st.sampled_from([0, 0, round(0.5 * setback, 2)]))
    inner = length(setback + pane, depth)
    timber = [[0, 0], [bearing, 0], [end, high], [end, inner], [bearing + 0.5 * seen, depth]]
    timber += [[bearing + 0.25 * seen, depth], [bearing + 0.2 * seen, edge], [0, edge]]
    frame = [{"name": "frame", "material": draw(st.sampled_from(["softwood", "pvc, rigid"])), "polygon": timber}]
    if draw(st.booleans()):
        hollow = draw(st.sampled_from(["unventilated", "slightly ventilated"]))
        x0, x1, y0, y1 = (round(v, 2) for v in (0.2 * bearing, 0.8 * bearing, 0.2 * edge, 0.8 * edge))
        frame.append({"name": "groove", "cavity": hollow, "polygon": [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]})
    rebate = length(0, min(0.5 * seen, 100))
    chosen |= {"frame": frame, "glazing_thickness": pane, "glazing_setback": setback, "glazing_rebate": rebate}
    for name in ("clear_width", "clear_length"):
        chosen[name] = max(chosen[name], 2 * seen + 100)
    chosen["glazing_transmittance"] = min(chosen["glazing_transmittance"], round(0.99 / (pane / 1000 + 0.17), 3))
