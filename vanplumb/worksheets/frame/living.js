// Sets a drawing in motion.  The kernel draws it and works out all figures; here nothing is
// computed but where a dash of water, a level or a colour stands at this instant.
const SVG = "http://www.w3.org/2000/svg";
const SMALLEST = 0.84, LARGEST = 1.75; // how much a drawing may be shrunk or blown up
let born = 0;

function render({ model, el }) {
  const own = `w${++born}`;
  const root = make("div", "vp-living", el);
  const says = make("div", "vp-living-says", root);
  const stage = make("div", "vp-living-strips", root);
  const foot = make("div", "vp-living-foot", root);
  const go = make("button", "vp-living-go", foot);
  const bar = make("input", "vp-living-bar", foot);
  const lean = make("label", "vp-living-lean", foot);
  lean.textContent = "tilt ";
  const tilt = make("input", "vp-living-tilt", lean);
  Object.assign(tilt, { type: "range", min: 0, max: 70, step: 1, value: 50 });
  const clock = make("output", "vp-living-clock", foot);
  const pace = make("select", "vp-living-pace", foot);
  const note = make("span", "vp-living-note", foot);
  Object.assign(bar, { type: "range", min: 0, max: 1000, step: 1 });
  bar.setAttribute("aria-label", "time");
  pace.setAttribute("aria-label", "how fast the picture moves");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");

  let scene = {}, solids = [], strips = [], ways = [], seen = true, wanted = true, frame = 0, last = 0;
  let time = 0, held = "", paces = "";
  const phase = new Map();

  // --- where the drawing stands: in one piece, or folded where the page is narrow
  const windows = (svg) => {
    let [x, y, wide, high] = svg.getAttribute("viewBox").split(" ").map(Number);
    const room = stage.clientWidth || 600;
    const folds = scene.folds || [];
    const count = Math.min(Math.ceil((wide * SMALLEST) / room), folds.length + 1);
    const legend = [];
    const scale = svg.querySelector(".vp-legend");
    if (scale) {
      const [left, top] = scale.getAttribute("transform").match(/[\d.]+/g).map(Number);
      legend.push({ x: left - 20, y: top - 2, wide: 345, high: 34, legend: true });
      high = top - 4 - y;
    }
    if (scene.solids) { // no higher than the board is seen at this tilt
      const angle = (Number(tilt.value) * Math.PI) / 180;
      const tall = Math.max(...scene.solids.map((one) => one.high));
      const deep = Math.max(...scene.solids.flatMap((one) => one.points.map((p) => p[1])));
      high = deep * Math.cos(angle) + tall * Math.sin(angle) + 16;
    }
    if (count <= 1) return [{ x, y, wide, high, whole: true }, ...legend];
    const cuts = [x];
    for (let n = 1; n < count; n++) {
      const near = folds.filter((f) => f > cuts[cuts.length - 1] + 40)
        .sort((a, b) => Math.abs(a - x - (wide * n) / count) - Math.abs(b - x - (wide * n) / count));
      if (near.length) cuts.push(near[0]);
    }
    cuts.push(x + wide);
    const found = [];
    for (let n = 0; n + 1 < cuts.length; n++) {
      found.push({ x: cuts[n], wide: cuts[n + 1] - cuts[n], ...rows(svg, cuts[n], cuts[n + 1]) });
    }
    return [...found, ...legend];
  };
  // the heights that something stands on between two folds
  const rows = (svg, left, right) => {
    let top = Infinity, bottom = -Infinity;
    for (const g of svg.querySelectorAll("[data-box]")) {
      const [a, b, c, d] = g.dataset.box.split(" ").map(Number);
      if (c > left && a < right) { top = Math.min(top, b); bottom = Math.max(bottom, d); }
    }
    for (const path of svg.querySelectorAll(".vp-run")) {
      const points = (path.getAttribute("d").match(/-?[\d.]+ -?[\d.]+/g) || [])
        .map((p) => p.split(" ").map(Number));
      for (let n = 0; n + 1 < points.length; n++) {
        const [a, b] = [points[n], points[n + 1]];
        if (Math.max(a[0], b[0]) < left || Math.min(a[0], b[0]) > right) continue;
        top = Math.min(top, a[1] - 8, b[1] - 8);
        bottom = Math.max(bottom, a[1] + 8, b[1] + 8);
      }
    }
    return { y: top, high: bottom - top };
  };
  const arrange = (svg) => {
    const found = windows(svg);
    while (strips.length > found.length) strips.pop().box.remove();
    while (strips.length < found.length) {
      const box = make("div", "vp-living-strip", stage);
      const holder = make("div", "vp-living-picture", box);
      strips.push({ box, holder, canvas: make("canvas", "vp-living-water", box) });
    }
    const room = stage.clientWidth || 600;
    found.forEach((view, n) => {
      const one = strips[n];
      let scale = Math.min(room / view.wide, LARGEST);
      if (view.whole) {
        const least = window.innerWidth >= 1600 ? 1.26 : SMALLEST;
        scale = Math.min(scale, Math.max(((el.classList.contains("vp-stays") ? 0.5 : 0.8) * height()) / view.high, least));
      } else if (view.legend) scale = Math.min(scale, window.innerWidth >= 1600 ? 1.3 : 1);
      else scale = Math.min((room - 4) / view.wide, 1.1);
      Object.assign(one, { view, scale });
      if (view.legend) { if (one.box.parentNode !== foot) foot.insertBefore(one.box, note); }
      else if (stage.children[n] !== one.box) stage.insertBefore(one.box, stage.children[n] || null);
      one.box.style.width = `${view.wide * scale}px`;
      one.box.style.height = `${view.high * scale}px`;
      one.box.classList.toggle("vp-folded", !view.whole && !view.legend);
      one.box.classList.toggle("vp-living-scale", Boolean(view.legend));
      const shown = svg.cloneNode(true);
      shown.setAttribute("viewBox", `${view.x} ${view.y} ${view.wide} ${view.high}`);
      prune(shown, view);
      rename(shown, `${own}-${n}`);
      if (one.holder.firstElementChild) morph(one.holder.firstElementChild, shown);
      else one.holder.appendChild(shown);
      const sharp = Math.min(window.devicePixelRatio || 1, 2);
      const [w, h] = [view.wide * scale * sharp, view.high * scale * sharp].map(Math.round);
      if (one.canvas.width !== w || one.canvas.height !== h) {
        one.canvas.width = w;
        one.canvas.height = h;
      }
      one.sharp = sharp;
    });
  };
  const prune = (svg, view) => {
    for (const g of svg.querySelectorAll("[data-box]")) {
      const [a, , c] = g.dataset.box.split(" ").map(Number);
      if (view.legend || c <= view.x || a >= view.x + view.wide) g.remove();
    }
    if (!view.legend) svg.querySelector(".vp-legend")?.remove();
    else svg.querySelectorAll(".vp-run").forEach((path) => path.remove());
  };
  // two pictures on a page must not share the name of a gradient
  const rename = (svg, mark) => {
    for (const one of svg.querySelectorAll("linearGradient[id], clipPath[id]")) {
      const old = one.id;
      one.id = `${old}-${mark}`;
      for (const name of ["fill", "stroke", "clip-path"]) {
        for (const user of svg.querySelectorAll(`[${name}="url(#${old})"]`)) {
          user.setAttribute(name, `url(#${one.id})`);
        }
      }
    }
  };
  // the new drawing in the old one's elements, so that colours go over and the focus stays
  const morph = (old, fresh) => {
    if (old.nodeName !== fresh.nodeName) { old.replaceWith(fresh); return; }
    if (old.nodeType === 3) { if (old.data !== fresh.data) old.data = fresh.data; return; }
    for (const { name } of [...old.attributes]) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
    for (const { name, value } of [...fresh.attributes]) {
      if (old.getAttribute(name) !== value) old.setAttribute(name, value);
    }
    const [mine, theirs] = [[...old.childNodes], [...fresh.childNodes]];
    theirs.forEach((child, n) => (n < mine.length ? morph(mine[n], child) : old.appendChild(child)));
    mine.slice(theirs.length).forEach((child) => child.remove());
  };

  // --- it stays in sight while the controls below it are used
  const scroller = () => {
    for (let up = el.parentElement; up; up = up.parentElement) {
      if (/auto|scroll/.test(getComputedStyle(up).overflowY) && up.scrollHeight > up.clientHeight + 4
        && up.clientHeight > 200) return up;
    }
    return document.scrollingElement;
  };
  const height = () => Math.min(scroller()?.clientHeight || window.innerHeight, window.innerHeight);
  const stick = () => { if (el.classList.contains("vp-stays")) el.style.top = `${Math.min(0, Math.round(0.62 * height() - root.offsetHeight))}px`; };

  // --- figures between two instants that the kernel worked out
  const between = (times, values, at) => {
    if (!Array.isArray(values)) return values;
    let n = place(times, at);
    const part = (at - times[n]) / (times[n + 1] - times[n] || 1);
    return values[n] + (values[Math.min(n + 1, values.length - 1)] - values[n]) * Math.min(Math.max(part, 0), 1);
  };
  const place = (times, at) => {
    let low = 0, high = times.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (times[middle] <= at) low = middle; else high = middle;
    }
    return low;
  };
  const shade = (warm) => {
    const stops = scene.ramp || [];
    if (!stops.length) return "#888888";
    let n = 0;
    while (n + 2 < stops.length && warm > stops[n + 1][0]) n++;
    const [[low, one], [high, other]] = [stops[n], stops[n + 1]];
    const part = Math.min(Math.max((warm - low) / (high - low), 0), 1);
    return `rgb(${[0, 1, 2].map((k) => Math.round(one[k] + (other[k] - one[k]) * part)).join()})`;
  };

  // --- one frame
  const water = (dt) => {
    const play = scene.play;
    for (const way of ways) {
      const speed = play ? between(play.times, way.speed, time) : way.speed;
      way.runs = speed > 0;
      const gap = Math.max(way.gap * way.stretch, 5);
      const gone = ((phase.get(way.key) || 0) + speed * way.stretch * dt) % gap;
      phase.set(way.key, gone);
      way.gone = gone;
      way.every = gap;
    }
  };
  const paint = () => {
    for (const one of strips) {
      if (one.view.legend) continue;
      const ink = one.canvas.getContext("2d"), k = one.scale * one.sharp;
      ink.setTransform(1, 0, 0, 1, 0, 0);
      ink.clearRect(0, 0, one.canvas.width, one.canvas.height);
      ink.setTransform(k, 0, 0, k, -one.view.x * k, -one.view.y * k);
      ink.lineJoin = "round";
      for (const tube of scene.tubes || []) fill(ink, tube);
      if (scene.solids) relief(ink, one.view);
      ink.lineCap = "round";
      ink.strokeStyle = "rgba(255,255,255,0.88)";
      for (const way of ways) {
        if (!way.runs) continue;
        const thick = Math.max(Math.min(way.wide * 0.42, 8), 1.3);
        const long = Math.max(Math.min(way.every * 0.42, way.long || 11) - thick, 0.1);
        ink.lineWidth = thick;
        ink.setLineDash([long, way.every - long]);
        ink.lineDashOffset = -way.gone;
        ink.stroke(way.path);
      }
      ink.setLineDash([]);
    }
  };
  // solids between two heights, seen from in front of a board that is tilted back
  const relief = (ink, view) => {
    const angle = (Number(tilt.value) * Math.PI) / 180, [c, s] = [Math.cos(angle), Math.sin(angle)];
    const put = ([x, y], z) => [x + 4, view.high - 11 - y * c - z * s];
    const face = (corners, colour) => {
      ink.beginPath();
      corners.forEach(([x, y], n) => (n ? ink.lineTo(x, y) : ink.moveTo(x, y)));
      ink.closePath();
      ink.fillStyle = colour;
      ink.fill();
      ink.stroke();
    };
    ink.lineJoin = "round";
    for (const one of solids) {
      let points = one.points;
      if (one.pivot) {
        const turn = (between(scene.play.times, one.turn, time) * Math.PI) / 180;
        const [u, v] = one.pivot, [p, q] = [Math.cos(turn), Math.sin(turn)];
        points = points.map(([x, y]) => [u + (x - u) * p - (y - v) * q, v + (x - u) * q + (y - v) * p]);
      }
      ink.strokeStyle = one.edge;
      ink.lineWidth = 0.6;
      if (s > 0.02) {
        points.forEach((a, n) => {
          const b = points[(n + 1) % points.length];
          face([put(a, one.low), put(b, one.low), put(b, one.high), put(a, one.high)], one.side);
        });
      }
      face(points.map((point) => put(point, one.high)), one.top);
    }
  };
  // a tube whose water differs from place to place: cells of one temperature, or whitened by ice
  const fill = (ink, tube) => {
    const times = scene.play.times, n = place(times, time);
    const part = Math.min(Math.max((time - times[n]) / (times[n + 1] - times[n] || 1), 0), 1);
    ink.lineCap = "butt";
    ink.lineWidth = tube.wide;
    if (tube.front) {
      ink.setLineDash([]);
      ink.strokeStyle = shade(tube.cool);
      ink.stroke(tube.path);
      ink.setLineDash([Math.max(between(times, tube.front, time) * tube.long, 0.01), 1e5]);
      ink.lineDashOffset = 0;
      ink.strokeStyle = shade(tube.warm);
      ink.stroke(tube.path);
      ink.setLineDash([]);
      return;
    }
    const [a, b] = [tube.cells[n], tube.cells[Math.min(n + 1, tube.cells.length - 1)]];
    tube.parts.forEach((path, i) => {
      ink.strokeStyle = tube.ice ? frost(a[i] + (b[i] - a[i]) * part, tube) : shade(a[i] + (b[i] - a[i]) * part);
      ink.stroke(path);
    });
  };
  const frost = (share) => `rgba(236,246,255,${Math.min(Math.max(share, 0), 1).toFixed(3)})`;

  const tracks = () => {
    const play = scene.play;
    if (!play) return;
    const n = place(play.times, time);
    const near = time - play.times[n] > (play.times[n + 1] - play.times[n]) / 2 ? n + 1 : n;
    for (const track of scene.tracks || []) {
      for (const one of track.on) {
        if (track.text) { if (one.textContent !== track.text[near]) one.textContent = track.text[near]; }
        else if (track.warm) set(one, track.attr || "fill", shade(between(play.times, track.warm, time)));
        else if (track.shift) {
          const x = between(play.times, track.shift.map((p) => p[0]), time);
          const y = between(play.times, track.shift.map((p) => p[1]), time);
          one.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
        } else if (track.turn) {
          one.setAttribute("transform", `rotate(${between(play.times, track.turn, time).toFixed(2)})`);
        } else set(one, track.attr, between(play.times, track.values, time).toFixed(2));
      }
    }
    const said = play.says ? play.says[near] : "";
    if (says.textContent !== said) says.textContent = said;
    if (clock.textContent !== play.clock[near]) clock.textContent = play.clock[near];
    if (document.activeElement !== bar || moving()) {
      const at = String(Math.round((1000 * (time - play.times[0])) / (play.times.at(-1) - play.times[0])));
      if (bar.value !== at) bar.value = at;
    }
  };
  const set = (one, name, value) => { if (one.getAttribute(name) !== value) one.setAttribute(name, value); };
  const rate = () => Number(pace.value) || 1;
  const moving = () => wanted && seen && !still.matches && el.isConnected;
  const tick = (now) => {
    frame = 0;
    if (!moving()) return;
    const dt = Math.min((now - last) / 1000, 0.1) * rate();
    last = now;
    const play = scene.play;
    if (play && !resting) {
      time += dt;
      if (time > play.times.at(-1)) finished();
    }
    water(play && play.flows === "still" ? 0 : dt / (play ? play.slow || 1 : 1));
    tracks();
    paint();
    root.vpFrames = (root.vpFrames || 0) + 1;
    frame = requestAnimationFrame(tick);
  };
  let resting = false;
  const finished = () => {
    const play = scene.play;
    time = play.times.at(-1);
    resting = true;
    setTimeout(() => { if (resting) { time = play.times[0]; resting = false; } }, 2500);
  };
  const start = () => {
    go.textContent = wanted ? "Hold still" : "Move";
    go.hidden = still.matches && !scene.play;
    root.dataset.moving = moving();
    if (!frame && moving()) { last = performance.now(); frame = requestAnimationFrame(tick); }
    if (!moving()) { water(0); tracks(); paint(); }
  };

  // --- what the kernel has sent
  const ready = () => {
    ways = (scene.flows || []).map((flow) => {
      const { path, long } = line(flow.points);
      return { ...flow, path, stretch: long / flow.length };
    });
    solids = [...(scene.solids || [])].sort((a, b) => a.low - b.low || nearest(b) - nearest(a));
    for (const track of scene.tracks || []) {
      track.on = [...stage.querySelectorAll(`[data-part="${track.part}"]`)];
    }
    for (const tube of scene.tubes || []) {
      if (tube.cells) tube.parts = pieces(tube.points, tube.cells[0].length);
      else Object.assign(tube, line(tube.points));
    }
  };
  const nearest = (solid) => Math.min(...solid.points.map((p) => p[1]));
  const line = (points) => {
    const path = new Path2D();
    let long = 0;
    points.forEach(([x, y], n) => {
      if (n) long += Math.hypot(x - points[n - 1][0], y - points[n - 1][1]);
      if (n) path.lineTo(x, y); else path.moveTo(x, y);
    });
    return { path, long };
  };
  const pieces = (points, count) => {
    const ends = [0];
    points.slice(1).forEach(([x, y], n) => ends.push(ends[n] + Math.hypot(x - points[n][0], y - points[n][1])));
    const at = (s) => {
      let n = 0;
      while (n + 2 < points.length && s > ends[n + 1]) n++;
      const part = (s - ends[n]) / (ends[n + 1] - ends[n] || 1);
      return [0, 1].map((k) => points[n][k] + (points[n + 1][k] - points[n][k]) * part);
    };
    const found = [];
    for (let i = 0; i < count; i++) {
      const [from, to] = [(ends.at(-1) * i) / count, Math.min((ends.at(-1) * (i + 1.04)) / count, ends.at(-1))];
      const path = new Path2D();
      path.moveTo(...at(from));
      ends.forEach((s, n) => { if (s > from && s < to) path.lineTo(...points[n]); });
      path.lineTo(...at(to));
      found.push(path);
    }
    return found;
  };
  const show = () => {
    scene = JSON.parse(JSON.stringify(model.get("scene")));
    const text = model.get("svg");
    const shelf = document.createElementNS(SVG, "svg");
    shelf.innerHTML = text;
    const svg = shelf.firstElementChild;
    if (!svg) return;
    held = text;
    arrange(svg);
    ready();
    const play = scene.play;
    bar.hidden = clock.hidden = !play;
    says.hidden = !play?.says;
    lean.hidden = !scene.solids;
    root.classList.toggle("vp-living-depth", Boolean(scene.solids));
    if (play && (time < play.times[0] || time > play.times.at(-1) || root.vpPlay !== play.name)) {
      root.vpPlay = play.name;
      time = still.matches ? play.still ?? play.times.at(-1) : play.times[0];
      resting = false;
    }
    const rates = JSON.stringify(scene.paces || [[1, "in real time"], [0.25, "4 times slower"], [0.1, "10 times slower"]]);
    if (rates !== paces) {
      paces = rates;
      pace.replaceChildren(...JSON.parse(rates).map(([value, told]) => new Option(told, value)));
    }
    note.textContent = scene.dash || "";
    pace.hidden = still.matches && !play;
    root.dataset.serial = model.get("serial");
    start();
    stick();
  };
  const again = () => { if (held) show(); };

  const press = (target) => {
    const tap = target.closest?.("[data-tap]");
    if (tap) model.send({ tap: tap.dataset.tap });
    return Boolean(tap);
  };
  stage.addEventListener("click", (event) => press(event.target));
  stage.addEventListener("keydown", (event) => {
    if ((event.key === "Enter" || event.key === " ") && press(event.target)) {
      event.preventDefault();
      event.stopPropagation();
    }
  });
  go.addEventListener("click", () => { wanted = !wanted; start(); });
  bar.addEventListener("input", () => {
    const play = scene.play;
    time = play.times[0] + (bar.value / 1000) * (play.times.at(-1) - play.times[0]);
    resting = false;
    if (!moving()) { tracks(); paint(); }
  });
  tilt.addEventListener("input", () => { if (held) show(); });
  bar.addEventListener("pointerdown", () => { if (wanted) { wanted = false; start(); } });
  const motion = () => { pace.hidden = still.matches && !scene.play; start(); };
  still.addEventListener("change", motion);
  const watch = new IntersectionObserver((all) => { seen = all.at(-1).isIntersecting; start(); });
  watch.observe(root);
  let width = 0;
  const size = new ResizeObserver(() => {
    if (stage.clientWidth && stage.clientWidth !== width) { width = stage.clientWidth; again(); }
    stick();
  });
  size.observe(stage);
  window.addEventListener("resize", again);
  model.on("change:serial", show);
  show();
  return () => {
    model.off("change:serial", show);
    still.removeEventListener("change", motion);
    window.removeEventListener("resize", again);
    watch.disconnect();
    size.disconnect();
    cancelAnimationFrame(frame);
  };
}
export default { render };
