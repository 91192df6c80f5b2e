"""What if and comparison: thin over the same functions as the command line."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.junctions.declaration import ParameterInfo
from bridge2d.shown_units import DisplayUnits
from bridge2d.solving import Solving
from bridge2d.web.curves import DRAWN, chart
from bridge2d.web.folder import fingerprint
from bridge2d.web.option_terms import Row, at_fault, call, data_of, rows, typed_of, without_names
from bridge2d.web.site import Site, download, paper_of, said, system_of
from bridge2d.web.states import State
from bridge2d.web.varying import first_choice, movable, usual_range

MOST_SLIDERS = 3
STEPS = 8
"""Pieces that a curve's range is divided into."""
AT_ONCE = 2
"""Points of a curve that one answer adds."""
MOST_OPTIONS = 6
ENDINGS = ("pdf", "json")
"""Of the files of a comparison."""
LONG_SECONDS = 600.0


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
        heads = [DRAWN[one].plain_symbol for one in drawn]
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

    # -- compare -------------------------------------------------------------------------------------------------------

    def compare(self, request: Request) -> Response:
        """The choice of options, and those that were chosen side by side."""
        site = self.site
        wanted, system = _options(request), system_of(request)
        details = [one for one in site.folder.listed() if one.junction and not one.wrong]
        typed, section = typed_of(request.query_params.multi_items()), request.query_params.get("section", "")
        found, error = None, ""
        form: tuple[Row, ...] = ()
        messages: dict[str, str] = {}
        if len(wanted) >= 2:
            try:
                options = self._chosen(request, wanted)
                form = rows(wanted, [one.data for one in options], typed, system)
                texts = [(one.text, one.file, one.solving) for one in options]
                found = site.done("comparison", texts, system, "page", call(form), section, seconds=LONG_SECONDS)
            except Bridge2dError as wrong:
                key = at_fault(wrong) if isinstance(wrong, InputError) else ""
                error = said(wrong)
                messages = {key: f"{wrong.message}; {wrong.right}"} if key and isinstance(wrong, InputError) else {}
        pairs = [*(("d", one) for one in wanted), *typed.items(), *([("section", section)] if section else [])]
        query = "&".join(f"{name}={quote(words, safe='')}" for name, words in pairs)
        asked = {"details": details, "wanted": wanted, "typed": typed, "form": form, "query": query, "system": system}
        asked["section"] = section
        status = 422 if error else 200
        return site.page(request, "compare.html", status, found=found, error=error, messages=messages, **asked)

    def compare_file(self, request: Request) -> Response:
        """The comparison's sheet, or its numbers."""
        wanted, system, ending = _options(request), system_of(request), request.path_params["ending"]
        if ending not in ENDINGS:
            raise InputError("there is no such file of a comparison")
        if len(wanted) < 2:
            raise InputError("a comparison needs two details or more", right="choose a second one")
        options, typed = self._chosen(request, wanted), typed_of(request.query_params.multi_items())
        said = call(rows(wanted, [one.data for one in options], typed, system))
        texts = [(one.text, one.file, one.solving) for one in options]
        kind = "json" if ending == "json" else paper_of(request)
        section = request.query_params.get("section", "")
        data = self.site.done("comparison", texts, system, kind, said, section, seconds=LONG_SECONDS)
        return download(data, f"comparison.{ending}", f"application/{ending}")

    def _chosen(self, request: Request, wanted: list[str]) -> list[_Option]:
        """The options; a second state of one file goes without that file's name for its option."""
        found: list[_Option] = []
        for one in wanted:
            name, _, query = one.partition("?")
            state, file = self.site.state(request, name, query), self.site.path(name)
            again = any(other.file == file for other in found)
            text = without_names(state.text) if again else state.text
            found.append(_Option(text, file, state.solving, data_of(text)))
        return found


class _Option(NamedTuple):
    """A state that is compared: text and data, path of its file, how it is computed."""

    text: str
    file: str
    solving: Solving
    data: dict[str, Any]


def _answer_arguments(site: Site, state: State) -> tuple[Any, ...]:
    return state.text, site.path(state.name), state.shown, state.section, state.layers, False, state.solving


def _options(request: Request) -> list[str]:
    """The options that are compared: names of files, or addresses of states."""
    given = [one.strip().removeprefix("/detail/") for one in request.query_params.getlist("d")]
    return [one for one in dict.fromkeys(given) if one][:MOST_OPTIONS]


def _step(span: float) -> float:
    return float(f"{span / 100:.1g}") if span > 0 else 1.0


def _told(numbers: dict[str, Any], quantity: str, shown: DisplayUnits) -> str:
    value = numbers.get(quantity)
    if not value:
        return "–"
    say = shown.estimate if quantity == "f_rsi" else shown.bounded
    return say(DRAWN[quantity], *value)
