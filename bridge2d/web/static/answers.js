// Where an answer does not come, or is none of the page's, what stands there stays and is marked; nothing typed is lost.
(() => {
  "use strict";

  const why = (status) => {
    if (!status) return "bridge2d does not answer. Is it still running in its terminal?";
    if (status === 403) return "bridge2d was started anew. Open the address that it printed in another tab, and come back to this one.";
    return `bridge2d could not answer (${status}); its terminal may say more.`;
  };
  const boxOf = (element) => element?.closest?.("#sheet, #what-if, #found, #schedule, #swept") || document.getElementById("sheet") || document.getElementById("content");

  // changed: whether something was typed that the picture and the numbers do not show.
  const tell = (box, status, changed, left) => {
    let note = document.getElementById("unanswered");
    if (!note || !box.contains(note)) {
      note?.remove();
      note = Object.assign(document.createElement("p"), { id: "unanswered", className: "wrong" });
      note.setAttribute("role", "alert");
      box.prepend(note);
    }
    note.textContent = `${why(status)} ${left}`;
    if (!changed) return;
    for (const one of box.querySelectorAll("section.sheet:not(.actions)")) {
      one.classList.add("stale");
      if (!one.querySelector(".stamp")) {
        one.prepend(Object.assign(document.createElement("p"), { className: "stamp", textContent: "Last good picture: it does not show what was typed." }));
      }
    }
    document.dispatchEvent(new Event("unanswered"));
  };
  const lost = (event, status) => {
    const element = event.detail.requestConfig?.elt || event.detail.elt || event.target;
    if (element.matches?.(".stamp")) element.textContent = "First look: the brackets hold; the narrower ones did not come.";
    const box = boxOf(event.detail.target || element);
    const changed = element.matches?.("form") && box.matches("#sheet, #what-if");
    tell(box, status, changed, changed ? "What is typed stays; the next change, or the button, asks again." : "Loading the page again asks once more.");
  };
  for (const name of ["htmx:sendError", "htmx:timeout"]) document.addEventListener(name, (event) => lost(event, 0));

  // Only what has the part that is to be put in is put in.
  const isOurs = (xhr, element) => {
    if (xhr.status === 200 || xhr.status === 204) return true;
    const part = element?.closest?.("[hx-select]")?.getAttribute("hx-select");
    if (!part || part === "unset") return !xhr.responseText.includes("<html");
    return new DOMParser().parseFromString(xhr.responseText, "text/html").querySelector(part) !== null;
  };
  document.addEventListener("htmx:beforeSwap", (event) => {
    const { xhr, requestConfig } = event.detail;
    if (isOurs(xhr, requestConfig?.elt)) return;
    event.detail.shouldSwap = false;
    lost(event, xhr.status);
  });
  document.addEventListener("htmx:afterSwap", () => {
    const note = document.getElementById("unanswered");
    if (note && !note.closest(".stale, #sheet, #what-if")) note.remove();
  });

  // What is sent to be kept goes only where it is taken: first it is asked who answers, and with which token.
  document.addEventListener("submit", async (event) => {
    const form = event.target, button = event.submitter;
    if ((button?.getAttribute("formmethod") || form.getAttribute("method") || "get").toLowerCase() !== "post" || form.dataset.sure) return;
    event.preventDefault();
    event.stopPropagation();
    const answer = await fetch("/token", { cache: "no-store" }).catch(() => null);
    if (!answer?.ok) {
      tell(boxOf(form), answer?.status ?? 0, false, "Nothing was sent, and what is typed stays.");
      document.getElementById("unanswered").scrollIntoView({ block: "nearest" });
      return;
    }
    const { token } = await answer.json();
    for (const one of document.querySelectorAll("[name=token]")) one.value = token;
    document.getElementById("unanswered")?.remove();
    form.dataset.sure = "yes";
    form.requestSubmit(button && (button.isConnected ? button : document.getElementById(button.id)));
    delete form.dataset.sure;
  }, true);
})();
