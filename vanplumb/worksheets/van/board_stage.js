// Shows the board and tells the kernel what is taken, dragged, let go or done by key.
// The kernel answers each message with a new drawing; the next one waits for that answer.
function render({ model, el }) {
  const stage = make("div", "vp-board", el);
  let waiting = false, next = null, drag = null, whole = null;

  const send = (message) => {
    if (waiting) { next = message; return; }
    waiting = true;
    model.send(message);
  };
  const answered = () => {
    waiting = false;
    if (next) { const message = next; next = null; send(message); }
  };
  const mark = () => {
    stage.querySelectorAll(".vp-taken").forEach((g) => g.classList.remove("vp-taken"));
    const name = model.get("selected");
    stage.querySelectorAll("[data-grip]").forEach((g) => {
      if (g.dataset.grip === name) g.classList.add("vp-taken");
    });
  };
  // Only what changed: each element of the drawing is one piece of it, in its order.
  const patch = (changes) => {
    const svg = stage.querySelector("svg");
    const fresh = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    for (const [number, text] of changes) {
      fresh.innerHTML = text;
      svg.children[number].replaceWith(fresh.firstElementChild);
    }
  };
  const draw = () => {
    const changes = model.get("patch");
    if (changes.length && stage.firstChild && whole === model.get("svg")) {
      patch(changes);
      mark();
      stage.dataset.serial = model.get("serial");
      answered();
      return;
    }
    whole = model.get("svg");
    const focused = document.activeElement?.closest?.("[data-grip]");
    const kept = focused && stage.contains(focused) ? focused.dataset.grip : null;
    stage.innerHTML = whole;
    mark();
    if (kept) {
      for (const g of stage.querySelectorAll("[tabindex]")) {
        if (g.dataset.grip === kept) { g.focus({ preventScroll: true }); break; }
      }
    }
    stage.dataset.serial = model.get("serial");
    answered();
  };
  // Board millimetres under the pointer; the drawing's y runs down, the board's up.
  const place = (event) => {
    const svg = stage.querySelector("svg");
    const point = new DOMPoint(event.clientX, event.clientY);
    const at = point.matrixTransform(svg.getScreenCTM().inverse());
    return [at.x, -at.y];
  };

  stage.addEventListener("pointerdown", (event) => {
    const g = event.target.closest("[data-grip]");
    if (!g || event.button) return;
    drag = { grip: g.dataset.grip, start: place(event), moved: false };
    stage.setPointerCapture(event.pointerId);
    event.preventDefault();
    send({ kind: "take", grip: drag.grip });
  });
  stage.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const [x, y] = place(event);
    const dx = x - drag.start[0], dy = y - drag.start[1];
    if (!drag.moved && Math.hypot(dx, dy) < 2) return;
    drag.moved = true;
    send({ kind: "drag", grip: drag.grip, dx, dy });
  });
  const release = (event) => {
    if (!drag) return;
    const [x, y] = place(event);
    const last = { kind: "drop", grip: drag.grip, dx: x - drag.start[0], dy: y - drag.start[1] };
    const moved = drag.moved;
    drag = null;
    if (moved && event.type === "pointerup") send(last);
    else if (moved) send({ kind: "cancel" });
  };
  stage.addEventListener("pointerup", release);
  stage.addEventListener("pointercancel", release);
  stage.addEventListener("dblclick", (event) => {
    const g = event.target.closest("[data-grip]");
    if (g) send({ kind: "key", grip: g.dataset.grip, key: "t" });
  });
  stage.addEventListener("keydown", (event) => {
    const g = event.target.closest("[data-grip]");
    const keys = ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Enter", " ", "t", "b"];
    if (event.key === "Escape" && drag) { drag = null; send({ kind: "cancel" }); }
    if (!g || event.ctrlKey || event.metaKey || event.altKey || !keys.includes(event.key)) return;
    event.preventDefault();
    event.stopPropagation();
    send({ kind: "key", grip: g.dataset.grip, key: event.key, far: event.shiftKey });
  });

  model.on("change:serial", draw);
  model.on("change:selected", mark);
  draw();
  return () => { model.off("change:serial", draw); model.off("change:selected", mark); };
}
export default { render };
