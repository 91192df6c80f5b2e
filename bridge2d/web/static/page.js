// What the page does better with a script; all of it can be done without one.
(() => {
  "use strict";

  // A dimension and its field mark each other.
  const mark = (name, on) => {
    for (const one of document.querySelectorAll(`[data-parameter="${CSS.escape(name)}"]`)) {
      one.classList.toggle("is-marked", on);
    }
  };
  const parameterOf = (target) => target.closest?.("[data-parameter]")?.dataset.parameter;
  for (const [begin, end] of [["pointerover", "pointerout"], ["focusin", "focusout"]]) {
    document.addEventListener(begin, (event) => { const name = parameterOf(event.target); if (name) mark(name, true); });
    document.addEventListener(end, (event) => { const name = parameterOf(event.target); if (name) mark(name, false); });
  }
  document.addEventListener("click", (event) => {
    const dimension = event.target.closest?.(".dimension");
    if (!dimension) return;
    const field = document.querySelector(`.field[data-parameter="${CSS.escape(dimension.dataset.parameter)}"]`);
    field?.closest("details")?.setAttribute("open", "");
    field?.querySelector("input, select")?.focus();
    event.stopImmediatePropagation();
  }, true);

  // A field whose dimension stands in another section shows that section and keeps its place.
  document.addEventListener("click", (event) => {
    const name = event.target.closest?.("a[data-section]")?.dataset.section;
    const list = document.getElementById("section");
    if (name === undefined || !list || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    event.target.closest(".field").querySelector("input, select").focus();
    list.value = name;
    list.dispatchEvent(new Event("change", { bubbles: true }));
  });

  // What is swapped under the keyboard keeps its place, and a new drawing its mark.
  let held = "";
  document.addEventListener("htmx:beforeSwap", () => { held = document.activeElement?.id || ""; });
  document.addEventListener("htmx:afterSettle", () => {
    if (document.activeElement === document.body && held) document.getElementById(held)?.focus();
    const name = parameterOf(document.activeElement);
    if (name) mark(name, true);
  });

  // Temperature and material where the drawing is pointed at.
  const placeOf = (svg, event) => {
    const on = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const { left, top, metres } = svg.dataset;
    return { paper: on, x: (on.x - left) * metres * 1000, y: (top - on.y) * metres * 1000 };
  };
  let asked = 0;
  const ask = async (query) => {
    const sheet = document.getElementById("sheet");
    const number = ++asked;
    const state = sheet.dataset.query;
    const answer = await fetch(`${sheet.dataset.point}?${state ? state + "&" : ""}${query}`, { headers: { accept: "application/json" } });
    const told = document.getElementById("told");
    if (number !== asked || !told) return;
    if (!answer.ok) { told.textContent = "No place: write a number for x and one for y."; return; }
    const found = await answer.json();
    told.textContent = found.outside ? `${found.place}: outside the section` : `${found.place}: ≈ ${found.temperature}, ${found.material} (${found.region})`;
  };
  const point = (svg, event) => {
    const { paper, x, y } = placeOf(svg, event);
    let ring = svg.querySelector(".pointed");
    if (!ring) {
      ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      ring.setAttribute("class", "pointed");
      ring.setAttribute("r", "1.6");
      svg.append(ring);
    }
    ring.setAttribute("cx", paper.x);
    ring.setAttribute("cy", paper.y);
    ask(`x=${x.toFixed(2)}&y=${y.toFixed(2)}&unit=mm`);
  };
  document.addEventListener("click", (event) => {
    const svg = event.target.closest?.("#drawing svg");
    if (svg) point(svg, event);
  });
  document.addEventListener("submit", (event) => {
    if (event.target.id !== "at") return;
    event.preventDefault();
    const [x, y, unit] = ["x", "y", "unit"].map((name) => document.querySelector(`#place [name=${name}]`).value.trim());
    ask(new URLSearchParams({ x, y, unit }));
  });
  // What stands in the fields is saved, whether it has been computed yet or not; a text is computed first.
  document.addEventListener("submit", (event) => {
    if (event.target.id !== "save") return;
    const text = document.getElementById("toml"), fields = document.getElementById("inputs");
    if (text && text.value !== text.defaultValue) {
      event.preventDefault();
      text.focus();
      document.getElementById("unsaved").textContent = "Not saved: the text was changed; compute it first.";
      return;
    }
    if (!text && fields) event.target.elements.query.value = new URLSearchParams(new FormData(fields)).toString();
  });
  let resting = 0;
  document.addEventListener("pointermove", (event) => {
    clearTimeout(resting);
    const svg = event.target.closest?.("#drawing svg");
    if (svg && event.pointerType === "mouse") resting = setTimeout(() => point(svg, event), 180);
  });
  document.addEventListener("change", (event) => { if (event.target.closest?.("#place")) event.stopPropagation(); }, true);

  // A field whose message has come or gone says so to a screen reader.
  document.addEventListener("htmx:afterSettle", () => {
    for (const message of document.querySelectorAll(".field-wrong")) {
      const input = document.getElementById(message.id.slice(2));
      if (input) input.toggleAttribute("aria-invalid", false);
      if (input && message.textContent.trim()) input.setAttribute("aria-invalid", "true");
    }
  });

  // A slider tells where it stands while it moves, at round numbers.
  const round = (slider) => {
    const step = Number(slider.dataset.step);
    if (step > 0) slider.value = Number((Math.round(slider.value / step) * step).toPrecision(6));
    const output = document.querySelector(`output[for="${slider.id}"]`);
    if (output) output.textContent = Number(Number(slider.value).toPrecision(6));
  };
  document.addEventListener("input", (event) => { if (event.target.type === "range") round(event.target); });

  // The line at fault of a text.
  const text = document.querySelector("textarea[data-line]");
  if (text) {
    const lines = text.value.split("\n");
    const start = lines.slice(0, text.dataset.line - 1).reduce((sum, line) => sum + line.length + 1, 0);
    text.focus();
    text.setSelectionRange(start, start + (lines[text.dataset.line - 1] || "").length);
    text.scrollTop = Math.max(0, (text.dataset.line - 6) * (text.scrollHeight / lines.length));
  }
})();
