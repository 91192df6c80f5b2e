// What the page does better with a script; all of it can be done without one.
(() => {
  "use strict";

  // A dimension and its field mark each other.
  const mark = (name, on) => {
    for (const one of document.querySelectorAll(`[data-parameter="${CSS.escape(name)}"]`)) {
      one.classList.toggle("is-marked", on);
    }
  };
  // The results scroll by as little as brings a dimension out from under the line below the drawing.
  const bringIntoSight = (name) => {
    const sheet = document.getElementById("sheet"), place = document.getElementById("place");
    const dimension = document.querySelector(`#drawing [data-parameter="${CSS.escape(name)}"]`);
    if (!sheet || !place || !dimension || getComputedStyle(sheet).overflowY !== "auto") return;
    const room = sheet.getBoundingClientRect(), box = dimension.getBoundingClientRect();
    const end = Math.min(place.getBoundingClientRect().top, room.bottom, innerHeight);
    const way = box.bottom > end ? box.bottom - end + 8 : box.top < room.top ? box.top - room.top - 8 : 0;
    if (way) sheet.scrollTop += way;
  };
  const parameterOf = (target) => target.closest?.("[data-parameter]")?.dataset.parameter;
  for (const [begin, end] of [["pointerover", "pointerout"], ["focusin", "focusout"]]) {
    document.addEventListener(begin, (event) => { const name = parameterOf(event.target); if (name) mark(name, true); });
    document.addEventListener(end, (event) => { const name = parameterOf(event.target); if (name) mark(name, false); });
  }
  document.addEventListener("focusin", (event) => { const name = parameterOf(event.target); if (name) bringIntoSight(name); });
  document.addEventListener("click", (event) => {
    const dimension = event.target.closest?.(".dimension");
    if (!dimension) return;
    const field = document.querySelector(`.field[data-parameter="${CSS.escape(dimension.dataset.parameter)}"]`);
    field?.closest("details")?.setAttribute("open", "");
    field?.querySelector("input, select")?.focus();
    event.stopImmediatePropagation();
  }, true);

  // The help of a field that loses the focus to a click stays until the click is done, so that nothing moves under it.
  document.addEventListener("pointerdown", () => {
    document.activeElement?.closest(".field")?.classList.add("is-held");
  }, true);
  const letGo = () => { for (const one of document.querySelectorAll(".is-held")) one.classList.remove("is-held"); };
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => setTimeout(letGo, 0));

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

  // What is swapped under the keyboard keeps its place: the place is that of the last focus, by the nearest id, so that
  // two swaps at once lose nothing. What was open or scrolled stays so, and a new drawing gets its mark.
  const focusable = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]";
  let held = null;
  document.addEventListener("pointerdown", () => { held = null; });
  document.addEventListener("focusin", (event) => {
    const box = event.target.closest("[id]");
    held = box && { id: box.id, at: box === event.target ? -1 : [...box.querySelectorAll(focusable)].indexOf(event.target) };
  });
  const refocus = () => {
    if (document.activeElement !== document.body || !held) return;
    const box = document.getElementById(held.id);
    const same = held.at < 0 ? box : box?.querySelectorAll(focusable)[held.at];
    (same || box?.closest(".field")?.querySelector(focusable))?.focus({ preventScroll: true });
  };
  const opened = () => [...document.querySelectorAll("#sheet details")];
  const called = (one) => one.querySelector("summary")?.textContent;
  const open = new Set(); // by name, for a first look leaves some out that come again
  const reopen = (which) => { for (const one of opened().filter(which)) one.open ||= open.has(called(one)); };
  let top = null;
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.target.id === "sheet") top = event.target.scrollTop;
  });
  document.addEventListener("toggle", (event) => {
    if (event.target.matches("#sheet details")) open[event.target.open ? "add" : "delete"](called(event.target));
  }, true);
  // An answer brings what stands around the fields along with the sheet; what differs is put in place.
  const putAround = () => {
    const around = document.getElementById("around");
    if (!around) return;
    for (const fresh of [...around.content.children]) {
      const old = document.getElementById(fresh.id);
      if (old && !old.isEqualNode(fresh)) old.replaceWith(fresh);
    }
    around.remove();
  };
  document.addEventListener("htmx:afterSwap", () => {
    putAround();
    refocus();
    const sheet = document.getElementById("sheet");
    if (top === null || !sheet) return;
    reopen((one) => !one.hasAttribute("hx-get"));
    sheet.scrollTop = top;
    top = null;
  });
  document.addEventListener("htmx:afterSettle", () => {
    refocus();
    reopen((one) => one.hasAttribute("hx-get")); // which htmx knows by now, so that it is looked at again
    const name = parameterOf(document.activeElement);
    if (name) mark(name, true);
  });

  // What was not saved keeps its address, which the form's own is not.
  const kept = document.getElementById("refused")?.dataset.address;
  if (kept) history.replaceState(null, "", kept);

  // A change waits for the pointer to be let go, so that what it is on is not swapped away under it; a link of the page
  // that is followed meanwhile leads to the changed state.
  let down = false, waiting = [], pending = false, latest = null, wanted = null;
  document.addEventListener("pointerdown", () => { down = true; }, true);
  const up = () => setTimeout(() => {
    down = false;
    for (const issue of waiting.splice(0)) issue();
  });
  for (const end of ["pointerup", "pointercancel", "dragend"]) document.addEventListener(end, up, true);
  document.addEventListener("htmx:confirm", (event) => {
    if (event.target.id !== "inputs") return;
    pending = true;
    if (!down) return;
    event.preventDefault();
    waiting = [() => event.detail.issueRequest(true)];
  });
  document.addEventListener("htmx:beforeSend", (event) => { if (event.target.id === "inputs") latest = event.detail.xhr; });
  document.addEventListener("unanswered", () => { pending = false; wanted = null; });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.detail.xhr !== latest) return;
    pending = false;
    const same = (one) => one.pathname === wanted.path && one.textContent === wanted.words;
    const link = wanted && [...document.querySelectorAll("a[href]")].find(same);
    wanted = null;
    link?.click();
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href]");
    if (!link || !pending || link.hash || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    wanted = { path: link.pathname, words: link.textContent };
  }, true);

  // Enter in the field of another name saves under it.
  document.addEventListener("keydown", (event) => {
    if (event.target.id !== "other" || event.key !== "Enter") return;
    event.preventDefault();
    document.getElementById("save-it")?.click();
  });

  // A button that leads elsewhere sends the whole form there, and not to the sheet.
  document.addEventListener("submit", (event) => {
    if (event.submitter?.hasAttribute("formaction")) event.stopPropagation();
  }, true);

  // Temperature and material where the drawing is pointed at.
  const placeOf = (svg, event) => {
    const on = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const { left, top, metres } = svg.dataset;
    return { paper: on, x: (on.x - left) * metres * 1000, y: (top - on.y) * metres * 1000 };
  };
  const unasked = (status) => {
    if (!status) return "bridge2d does not answer.";
    if (status === 403) return "bridge2d was started anew: open the address that it printed.";
    if (document.querySelector("#sheet .stale")) return "Not while something is wrong: the picture does not show what was typed.";
    return "No place: write a number for x and one for y.";
  };
  let asked = 0;
  const ask = async (query) => {
    const sheet = document.getElementById("sheet");
    const number = ++asked;
    const state = sheet.dataset.query;
    const address = `${sheet.dataset.point}?${state ? state + "&" : ""}${query}`;
    const answer = await fetch(address, { headers: { accept: "application/json" } }).catch(() => null);
    const told = document.getElementById("told");
    if (number !== asked || !told) return;
    if (!answer?.ok) { told.textContent = unasked(answer?.status); return; }
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
      if (input && message.textContent.trim() && !message.querySelector(".counts")) input.setAttribute("aria-invalid", "true");
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
