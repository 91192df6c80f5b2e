"""What if: thin over the same functions as the command line."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.junctions.declaration import ParameterInfo
from bridge2d.shown_units import DisplayUnits
from bridge2d.solving import Solving
from bridge2d.web.curves import DRAWN, chart, said_of
from bridge2d.web.folder import fingerprint
from bridge2d.web.site import Site, said
from bridge2d.web.states import State
from bridge2d.web.varying import first_choice, movable, usual_range

MOST_SLIDERS = 3
STEPS = 8
"""Pieces that a curve's range is divided into."""
AT_ONCE = 2
"""Points of a curve that one answer adds."""


class OtherPages:
    """These pages, over one site."""

    def __init__(self, site: Site) -> None:
        """Keep the site."""
        self.site = site

    # -- what if -------------------------------------------------------------------------------------------------------

    def what_if(self, request: Request) -> Response:
        """Sliders, and a curve for each of them that fills as it is computed."""
        site, name = self.site, request.path_params["name"]
        state = site.state(request, name)
        infos = movable(state)
        wanted = [one for one in dict.fromkeys(request.query_params.getlist("w")) if one in infos][:MOST_SLIDERS]
        chosen = wanted or first_choice(infos)
        at_once = request.query_params.get("all") == "yes"
        sliders = [self._slider(state, infos[one]) for one in chosen]
        error = ""
        try:
            answer = site.done("answer", *_answer_arguments(site, state), key=fingerprint(state.text))
        except Bridge2dError as wrong:
            answer, error = None, said(wrong)
        curves = {one["name"]: self._curve(state, one, many=10**6 if at_once else 0) for one in sliders}
        labels = {one.name: one.label for one in infos.values()}
        shown: dict[str, Any] = {"state": state, "sliders": sliders, "chosen": chosen, "labels": labels}
        more = "".join(f"&w={quote(one)}" for one in chosen)
        return site.page(request, "what_if.html", answer=answer, error=error, more=more, curves=curves, **shown)

    def curve(self, request: Request) -> Response:
        """A curve with a few points more than before."""
        state = self.site.state(request, request.path_params["name"])
        info = movable(state).get(request.query_params.get("of", ""))
        if info is None:
            raise InputError("there is no such parameter")
        slider = self._slider(state, info)
        curve = self._curve(state, slider, many=AT_ONCE)
        return self.site.page(request, "curve.html", state=state, slider=slider, curve=curve)

    def _slider(self, state: State, info: ParameterInfo) -> dict[str, Any]:
        """Range and place of a slider, in the units that are shown."""
        assert info.kind is not None
        shown = state.shown
        key = f"p.{info.name}"
        ends, now = usual_range(state, info)
        place = float(f"{info.kind.bare(now, shown):.6g}")
        unit = info.kind.unit_in(shown)
        words = {"name": info.name, "label": info.label, "symbol": info.symbol, "help": info.help}
        places = {"low": ends[0], "high": ends[1], "step": _step(ends[1] - ends[0]), "now": place}
        return {"key": key, "unit": unit, "shown": shown, **words, **places}

    def _curve(self, state: State, slider: dict[str, Any], many: int) -> dict[str, Any]:
        """The curve as far as it is known, and so many points more; whether points are missing."""
        low, high = slider["low"], slider["high"]
        places = sorted({low + k * (high - low) / STEPS for k in range(STEPS + 1)})
        order = sorted(range(len(places)), key=lambda k: (k % 8 != 0, k % 4 != 0, k % 2 != 0, k))
        found: dict[int, Any] = {}
        missing = 0
        for k in order:
            arguments = self._point_arguments(state, slider, places[k])
            if arguments is None:
                found[k] = None
                continue
            known = self.site.known("curve_point", *arguments)
            if known is None and many > 0:
                many -= 1
                try:
                    known = self.site.done("curve_point", *arguments)
                except Bridge2dError as wrong:
                    known = {"refused": said(wrong)}  # no such section: the curve has a gap
                    self.site.remember(known, "curve_point", *arguments)
            found[k] = known
            missing += known is None
        points = [(places[k], found[k]) for k in sorted(found)]
        shown = DisplayUnits(slider["shown"])
        words = f"{slider['label']} [{slider['unit']}]" if slider["unit"] else slider["label"]
        seen = [numbers for _, numbers in points if numbers]
        drawn = [one for one in DRAWN if any(numbers.get(one) for numbers in seen)] or ["psi", "f_rsi"]
        made = [chart(points, (low, high), slider["now"], quantity, words, shown) for quantity in drawn]
        heads = [said_of(points, one) for one in drawn]
        table = [
            (f"{x:.6g}", numbers.get("refused", ""), [_told(numbers, one, shown) for one in drawn])
            for x, numbers in points
            if numbers
        ]
        return {"charts": made, "missing": missing, "heads": heads, "table": table}

    def _point_arguments(self, state: State, slider: dict[str, Any], place: float) -> tuple[str, str, Solving] | None:
        try:
            typed = {**state.typed, slider["key"]: f"{float(f'{place:.6g}'):.10g}"}
            return replace(state, typed=typed).text, self.site.path(state.name), state.solving
        except InputError:
            return None


def _answer_arguments(site: Site, state: State) -> tuple[Any, ...]:
    return state.text, site.path(state.name), state.shown, state.section, state.layers, False, state.solving


def _step(span: float) -> float:
    return float(f"{span / 100:.1g}") if span > 0 else 1.0


def _told(numbers: dict[str, Any], quantity: str, shown: DisplayUnits) -> str:
    value = numbers.get(quantity)
    if not value:
        return "–"
    say = shown.estimate if quantity == "f_rsi" else shown.bounded
    return say(DRAWN[quantity], *value)
