// A text with numbered lines, and below it what is wrong, each a button that goes to its line.
function render({ model, el }) {
  const frame = make("div", "vp-editor", el);
  const numbers = make("div", "vp-editor-numbers", frame);
  const area = make("textarea", "vp-editor-text", frame);
  const problems = make("div", "vp-editor-problems", el);
  numbers.setAttribute("aria-hidden", "true");
  Object.assign(area, { spellcheck: false, wrap: "off", autocomplete: "off" });
  area.setAttribute("aria-label", "build file");
  let later = 0;

  const tell = () => {
    clearTimeout(later);
    if (area.value === model.get("text")) return;
    model.set("text", area.value);
    model.save_changes();
  };
  let marked = 0;
  const number = (chosen) => {
    if (Number.isInteger(chosen)) marked = chosen;
    const bad = new Set(model.get("problems").map((one) => one.line));
    const count = area.value.split("\n").length;
    numbers.replaceChildren();
    for (let line = 1; line <= count; line++) {
      make("div", bad.has(line) ? "vp-bad-line" : line === marked ? "vp-chosen-line" : "", numbers).textContent = line;
    }
    follow();
  };
  const follow = () => { numbers.style.transform = `translateY(${-area.scrollTop}px)`; };
  const go = (line) => {
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.focus();
    area.setSelectionRange(start, start + (lines[line - 1] || "").length);
    const high = area.scrollHeight / lines.length;
    area.scrollTop = Math.max(0, (line - 6) * high);
    area.scrollLeft = 0;
    follow();
  };
  const list = () => {
    problems.replaceChildren();
    for (const one of model.get("problems")) {
      const button = make("button", "vp-problem-line", problems);
      const said = area.value.split("\n")[one.line - 1];
      button.textContent = one.line ? `line ${one.line}: ${one.told}` : one.told;
      if (one.line && said !== undefined) make("code", "", button).textContent = said.trim();
      if (one.line) button.addEventListener("click", () => go(one.line));
    }
    number();
  };
  const text = () => {
    if (area.value !== model.get("text")) area.value = model.get("text");
    number();
  };
  // the part that was chosen in the form beside it
  const chosen = () => {
    const line = model.get("at")[0];
    if (!line || document.activeElement === area) return;
    area.scrollTop = Math.max(0, (line - 3) * area.scrollHeight / area.value.split("\n").length);
    number(line);
  };
  const fixed = () => { area.readOnly = model.get("fixed"); };

  area.addEventListener("input", () => {
    number();
    clearTimeout(later);
    later = setTimeout(tell, 400);
  });
  area.addEventListener("blur", tell);
  area.addEventListener("scroll", follow);
  model.on("change:text", text);
  model.on("change:problems", list);
  model.on("change:fixed", fixed);
  model.on("change:at", chosen);
  // asked for what stands here now: what was typed last may still wait to be sent
  model.on("msg:custom", () => {
    clearTimeout(later);
    model.set("text", area.value);
    model.send({ text: area.value });
  });
  text();
  list();
  fixed();
}
export default { render };
