// The form of a van: its drawing to choose on, the fields of what is chosen, and what can be done.
// The kernel says in `view` all that is shown; each thing that the reader does is one message.
function render({ model, el }) {
  const root = make("div", "vp-form", el);
  const bar = make("div", "vp-form-bar", root);
  const stage = make("div", "vp-form-stage", root);
  const told = make("div", "vp-form-told", root);
  const part = make("div", "vp-form-part", root);
  told.setAttribute("role", "status");

  const tell = (message) => {
    root.classList.add("vp-form-waits");
    model.send(message);
  };
  const text = (tag, name, parent, words) => {
    const one = make(tag, name, parent);
    one.textContent = words;
    return one;
  };
  const button = (parent, words, message, name = "") => {
    const one = text("button", `vp-form-button ${name}`, parent, words);
    one.type = "button";
    one.dataset.key = `button ${words}`;
    if (message) one.addEventListener("click", () => tell(message));
    return one;
  };
  const menu = (parent, label, options, value, chosen) => {
    const box = make("label", "vp-form-menu", parent);
    text("span", "", box, label);
    const one = make("select", "", box);
    one.dataset.key = `menu ${label}`;
    for (const [key, words] of options) {
      const option = text("option", "", one, words);
      option.value = key;
    }
    one.value = value;
    if (chosen) one.addEventListener("change", () => chosen(one.value));
    return one;
  };

  // what is shown, part by part

  const field = (parent, one, fixed) => {
    const box = make("div", `vp-form-field${one.problem ? " vp-bad" : ""}`, parent);
    const id = `f-${model.model_id ?? ""}-${one.key}`;
    const label = text("label", "", box, one.label + (one.required ? " *" : ""));
    label.htmlFor = id;
    const row = make("div", "vp-form-row", box);
    const menued = one.options.length && !one.free;
    const entry = make(menued ? "select" : "input", "", row);
    entry.id = id;
    entry.dataset.key = one.key;
    entry.disabled = fixed;
    if (menued) {
      for (const option of one.options) {
        text("option", "", entry, option || `not said${one.usual ? `: ${one.usual}` : ""}`).value = option;
      }
      if (!one.options.includes(one.text)) text("option", "", entry, one.text).value = one.text;
    } else {
      entry.type = "text";
      entry.autocomplete = "off";
      entry.placeholder = one.usual;
      if (one.options.length) {
        const list = make("datalist", "", row);
        list.id = `${id}-list`;
        for (const option of one.options) make("option", "", list).value = option;
        entry.setAttribute("list", list.id);
      }
    }
    entry.value = one.typed ?? one.text;
    if (one.unit && !menued) text("span", "vp-form-unit", row, one.unit);
    const help = text("div", one.problem ? "vp-note vp-wrong" : "vp-note", box, one.problem || one.about);
    help.id = `${id}-help`;
    entry.setAttribute("aria-describedby", help.id);
    if (one.problem) { help.setAttribute("role", "alert"); entry.setAttribute("aria-invalid", "true"); }
    if (one.doubt) {
      const doubt = text("div", "vp-note vp-doubt", box, one.doubt);
      doubt.setAttribute("role", "status");
      for (const said of one.instead) {
        button(doubt, said, { do: "set", key: one.key, value: said }, "vp-form-instead");
      }
    }
    entry.addEventListener("change", () => tell({ do: "set", key: one.key, value: entry.value }));
    return box;
  };

  const actions = (view, parent) => {
    const row = make("div", "vp-form-acts", parent);
    if (view.goals.length) {
      const pair = make("div", "vp-form-pair", row);
      const goal = menu(pair, "lead water from it to", view.goals, view.goals[0][0]);
      button(pair, "Connect", null).addEventListener("click",
        () => tell({ do: "connect", end: goal.value }));
    }
    for (const [words, run] of view.between) {
      const pair = make("div", "vp-form-pair", row);
      const kind = menu(pair, words, view.inline, view.inline[0][0]);
      button(pair, "Put in", null).addEventListener("click",
        () => tell({ do: "put", run, kind: kind.value }));
    }
    if (view.removable) button(row, "Remove", { do: "remove" });
  };

  // A press on a button first leaves the field that was typed in, which changes the page: it is
  // shown when the pointer is up again, so that the button is still there to be pressed.
  let down = false, due = false;
  root.addEventListener("pointerdown", () => { down = true; });
  for (const kind of ["pointerup", "pointercancel"]) {
    document.addEventListener(kind, () => {
      down = false;
      setTimeout(() => { if (due && !down) show(); }, 0);
    });
  }
  const show = () => {
    due = down;
    if (down) return;
    const view = model.get("view");
    const kept = document.activeElement && root.contains(document.activeElement)
      ? document.activeElement.dataset.key || document.activeElement.dataset.pick : null;
    const open = part.querySelector("details")?.open;
    const left = stage.scrollLeft;
    root.classList.remove("vp-form-waits");
    told.replaceChildren();
    if (view.told) text("div", view.good ? "vp-good" : "vp-wrong", told, view.told);
    for (const one of view.problems) {
      const line = make("div", "vp-form-offer vp-wrong", told);
      text("span", "", line, one.words);
      if (one.label) button(line, `show ${one.part}`, { do: "pick", label: one.label });
    }
    for (const one of view.offers) {
      const line = text("div", "vp-form-offer", told, one.why);
      button(line, one.words, { do: "offer", number: one.number });
    }
    bar.replaceChildren();
    if (!view.fixed && !view.broken) {
      const kind = menu(bar, "add", view.kinds, view.kinds[0][0]);
      button(bar, "Add", null).addEventListener("click", () => tell({ do: "add", kind: kind.value }));
    }
    if (!view.fixed) {
      button(bar, "Undo", { do: "undo" }).disabled = !view.undo;
      button(bar, "Redo", { do: "redo" }).disabled = !view.redo;
    }
    stage.innerHTML = view.svg;
    stage.scrollLeft = left;
    part.replaceChildren();
    if (view.broken) {
      text("div", "vp-wrong", part, view.broken).setAttribute("role", "alert");
    } else {
      menu(part, "part", view.parts, view.picked, (label) => tell({ do: "pick", label }));
    }
    if (view.asks) {
      const ask = make("div", "vp-form-asks", part);
      ask.setAttribute("role", "alertdialog");
      text("div", "", ask, view.asks);
      button(ask, "Remove it", { do: "remove", sure: true }, "vp-form-sure");
      button(ask, "Leave it", { do: "leave" });
    }
    if (view.title && !view.broken) {
      text("h3", "vp-group", part, view.title);
      if (view.wrong) text("div", "vp-wrong", part, view.wrong).setAttribute("role", "alert");
      if (!view.fixed) actions(view, part);
      const grid = make("div", "vp-form-fields", part);
      const shown = view.fields.filter((one) => one.main);
      const more = view.fields.filter((one) => !one.main);
      shown.forEach((one) => field(grid, one, view.fixed));
      if (more.length) {
        const fold = make("details", "", part);
        fold.open = Boolean(open);
        text("summary", "", fold, `${more.length} more that it may say`).dataset.key = "more";
        const rest = make("div", "vp-form-fields", fold);
        more.forEach((one) => field(rest, one, view.fixed));
      }
    }
    if (kept) focus(view.focus || kept);
    else if (view.focus) focus(view.focus);
  };
  const focus = (key) => {
    for (const one of root.querySelectorAll("[data-key], [data-pick]")) {
      if ((one.dataset.key || one.dataset.pick) === key) { one.focus({ preventScroll: true }); return; }
    }
  };

  // choosing on the drawing: by pointer, by Enter or blank, and from one to the next by arrows
  const pick = (target) => {
    const one = target.closest?.("[data-pick]");
    if (!one || !one.dataset.pick) return false;
    tell({ do: "pick", label: one.dataset.pick });
    return true;
  };
  const middle = (one) => {
    const box = one.getBoundingClientRect();
    return [box.left + box.width / 2, box.top + box.height / 2];
  };
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  stage.addEventListener("click", (event) => pick(event.target));
  stage.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") {
      if (pick(event.target)) event.preventDefault();
      return;
    }
    const way = ways[event.key], here = event.target.closest?.("[data-pick]");
    if (!way || !here) return;
    event.preventDefault();
    const [x, y] = middle(here);
    let best = null, least = Infinity;
    for (const one of stage.querySelectorAll(".vp-part[data-pick]")) {
      if (one === here) continue;
      const [a, b] = middle(one);
      const along = (a - x) * way[0] + (b - y) * way[1];
      const off = Math.abs((a - x) * way[1]) + Math.abs((b - y) * way[0]);
      if (along > 4 && along + 3 * off < least) { best = one; least = along + 3 * off; }
    }
    if (best) { best.focus(); best.scrollIntoView({ block: "nearest", inline: "nearest" }); }
  });
  root.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
    if (event.target.matches("input[type=text]")) return;
    event.preventDefault();
    event.stopPropagation();
    tell({ do: event.shiftKey ? "redo" : "undo" });
  });
  // the notebook has keys of its own, which are not meant while something is typed here
  for (const kind of ["keydown", "keyup"]) root.addEventListener(kind, (event) => event.stopPropagation());
  model.on("change:view", show);
  show();
}
export default { render };
