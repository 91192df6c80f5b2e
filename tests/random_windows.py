"""Random parameters of the window box that mostly fit; drawn one by one they put hardly any frame into its wall."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from bridge2d.junctions.declaration import describe
from bridge2d.junctions.window_parameters import WindowBox
from tests.random_parameters import values

GREATEST = {"render_thickness": 40, "masonry_thickness": 640, "board_thickness": 30, "insulation_thickness": 240}
"""Of these half of the sets stay below what is usual, so that most sets fit together [mm]."""


def _within(low: float, high: float) -> st.SearchStrategy[Any]:
    """Lengths [mm], whole or with a fraction."""
    low, high = round(low, 2), max(round(low, 2), round(high, 2))
    return st.integers(0, 1000).map(lambda share: round(low + share / 1000 * (high - low), 2))


@st.composite
def parameters(draw: st.DrawFn) -> dict[str, Any]:
    """Any parameters within the declared limits; lengths mostly such that the frame stands in the wall."""
    chosen: dict[str, Any] = {
        info.name: draw(values(info)) for info in describe(WindowBox) if info.unit != "mm" and draw(st.booleans())
    }
    for info in describe(WindowBox):
        if info.unit != "mm" or info.minimum is None or info.maximum is None or draw(st.booleans()):
            continue
        if info.name == "glazing_rebate":  # of a frame by polygons alone
            continue
        high = GREATEST.get(info.name, 1000 * info.maximum) if draw(st.booleans()) else 1000 * info.maximum
        chosen[info.name] = draw(_within(1000 * info.minimum, high))
    chosen["airtight_layer"] = draw(st.sampled_from(["membrane", "parge coat", "none"]))
    chosen["cavity_filling"] = draw(st.sampled_from(["air", "hemp fibre"]))
    chosen["lintel_material"] = draw(st.sampled_from(["steel", "sandstone"]))
    chosen["sill_material"] = draw(st.sampled_from(["zinc", "sandstone"]))
    chosen["frame_transmittance"] = draw(st.sampled_from([0.3, 1.1, 1.1, 2.4, 5.0]))
    chosen["glazing_transmittance"] = draw(st.sampled_from([0.2, 0.7, 0.7, 2.8, 5.7]))
    if draw(st.integers(0, 9)):
        _fit(draw, chosen)
    for info in describe(WindowBox):
        if info.name in chosen and info.unit == "mm":
            low, high = 1000 * (info.minimum or 0.0), 1000 * (info.maximum or 0.0)
            chosen[info.name] = min(max(chosen[info.name], low), high)
    return chosen


def _fit(draw: st.DrawFn, chosen: dict[str, Any]) -> None:
    """Lengths that depend on others, within what these leave."""
    as_drawn = {info.name: 1000 * (info.default or 0.0) for info in describe(WindowBox) if info.unit == "mm"} | chosen
    width = as_drawn["frame_width"]
    face = as_drawn["render_thickness"] + as_drawn["masonry_thickness"]
    chosen["frame_depth"] = draw(_within(30, min(300, 0.6 * face)))
    chosen["glazing_thickness"] = draw(_within(4, chosen["frame_depth"]))
    chosen["glazing_setback"] = draw(_within(0, chosen["frame_depth"] - chosen["glazing_thickness"]))
    for key, depth in (("frame_transmittance", "frame_depth"), ("glazing_transmittance", "glazing_thickness")):
        chosen[key] = min(chosen[key], round(0.99 / (chosen[depth] / 1000 + 0.17), 3))
    chosen["frame_position"] = draw(_within(as_drawn["render_thickness"], face - max(chosen["frame_depth"], 30)))
    reveal = face - chosen["frame_position"] - chosen["frame_depth"]
    chosen["frame_insulation_thickness"] = draw(_within(0, max(reveal, 0)))
    chosen["frame_insulation_overlap"] = draw(_within(0, 0.4 * width))
    chosen["lining_thickness"] = draw(_within(0, min(60, 0.4 * width)))
    chosen["window_board_thickness"] = draw(_within(0, min(100, 0.4 * width)))
    chosen["reveal_overlap"] = draw(_within(0, 0.8 * width))
    chosen["lintel_start"] = draw(_within(0, 0.4 * as_drawn["masonry_thickness"]))
    chosen["lintel_depth"] = draw(_within(10, 0.5 * as_drawn["masonry_thickness"]))
    if chosen["lintel_material"] == "steel":
        chosen["lintel_height"] = draw(_within(0, 60))
    if chosen["sill_material"] == "zinc":
        chosen["sill_thickness"] = draw(_within(0, 10))
    chosen["sill_bearing"] = draw(_within(0, face - chosen["frame_position"]))
    chosen["window_width"] = draw(_within(max(300, 2 * width + 60), 5000))
    chosen["window_height"] = draw(_within(max(300, 2 * width + 60), 5000))
