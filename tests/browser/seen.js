// What is wrong to see in a notebook as it stands: texts that lie over one another, that are cut,
// that stick out, that can hardly be read.  Gives a list of [fault, where, text, figure].
//
// A picture that takes a text's place for those who can't see it (title, desc) is no text to see.
(least) => {
  const root = document.querySelector('.jp-Notebook');
  const page = root.getBoundingClientRect();
  const found = [];
  const put = (fault, node, text, figure) => found.push([fault, where(node), text.trim().slice(0, 60), figure]);
  const where = node => {
    const names = [];
    for (let e = node; e && e !== root && names.length < 4; e = e.parentElement) {
      const own = typeof e.className === 'string' ? e.className : (e.className.baseVal || '');
      names.unshift(e.tagName.toLowerCase() + own.split(/\s+/).filter(c => /^vp-/.test(c)).map(c => '.' + c).join(''));
    }
    return names.join(' > ');
  };

  // -- colours ---------------------------------------------------------------
  const pen = document.createElement('canvas').getContext('2d', {willReadFrequently: true});
  const known = new Map();
  const colour = text => {  // [red, green, blue, alpha], whatever way it is written
    if (!known.has(text)) {
      pen.clearRect(0, 0, 1, 1);
      pen.fillStyle = '#000';
      pen.fillStyle = text;
      pen.fillRect(0, 0, 1, 1);
      const [r, g, b, a] = pen.getImageData(0, 0, 1, 1).data;
      known.set(text, [r, g, b, a / 255]);
    }
    return known.get(text);
  };
  const over = (top, below) => [0, 1, 2].map(i => top[i] * top[3] + below[i] * (1 - top[3])).concat(1);
  const light = c => {
    const [r, g, b] = c.slice(0, 3).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (a, b) => {
    const [low, high] = [light(a), light(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
  };
  const behind = new Map();
  const ground = e => {  // what an element of the page is painted on, itself included
    if (!e) return [255, 255, 255, 1];
    if (!behind.has(e)) {
      const own = colour(getComputedStyle(e).backgroundColor);
      behind.set(e, own[3] === 1 ? own : over(own, ground(e.parentElement)));
    }
    return behind.get(e);
  };
  const thinned = e => {  // how much of it shows, by the opacity of all that it stands in
    let all = 1;
    for (; e && e !== root; e = e.parentElement) all *= Number(getComputedStyle(e).opacity);
    return all;
  };
  const painted = (svg, text, x, y) => {  // what a picture has under a text at that place
    let under = ground(svg.parentElement);
    const own = colour(getComputedStyle(svg).backgroundColor);
    under = over(own, under);
    for (const shape of shapes(svg)) {
      if (shape.compareDocumentPosition(text) & Node.DOCUMENT_POSITION_PRECEDING) break;
      const style = getComputedStyle(shape);
      if (style.fill === 'none' || style.visibility !== 'visible') continue;
      const box = shape.getBoundingClientRect();
      if (x < box.left || x > box.right || y < box.top || y > box.bottom) continue;
      const matrix = shape.getScreenCTM();
      if (!matrix || !shape.isPointInFill(new DOMPoint(x, y).matrixTransform(matrix.inverse()))) continue;
      let fill = style.fill;
      if (fill.startsWith('url')) {
        const stops = [...(svg.querySelector(fill.match(/#[^")]+/)[0])?.querySelectorAll('stop') || [])];
        if (!stops.length) continue;
        fill = getComputedStyle(stops[Math.floor(stops.length / 2)]).stopColor;
      }
      const one = colour(fill).slice();
      one[3] *= Number(style.fillOpacity) * thinnedIn(shape, svg);
      under = over(one, under);
    }
    return under;
  };
  const thinnedIn = (e, svg) => {
    let all = 1;
    for (; e && e !== svg; e = e.parentElement) all *= Number(getComputedStyle(e).opacity);
    return all;
  };
  const kept = new Map();
  const shapes = svg => {
    if (!kept.has(svg))
      kept.set(svg, [...svg.querySelectorAll('rect, path, circle, ellipse, polygon')]
        .filter(e => !e.closest('defs, clipPath, mask, pattern, marker, symbol')));
    return kept.get(svg);
  };

  // -- where a text may show -------------------------------------------------
  const windows = new Map();
  const shown = e => {  // [what hides, what scrolls] over an element: boxes outside of which it is not seen
    if (!e || e === root || e === document.body) return {hide: [-1e6, -1e6, 1e6, 1e6], scroll: [-1e6, -1e6, 1e6, 1e6], scrolls: false};
    if (!windows.has(e)) {
      const up = shown(e.parentElement);
      const one = {hide: up.hide.slice(), scroll: up.scroll.slice(), scrolls: up.scrolls};
      const style = getComputedStyle(e);
      const inner = e instanceof SVGElement && !(e instanceof SVGSVGElement);
      if (!inner) {
        const box = e.getBoundingClientRect();
        const cut = (place, which) => {
          const low = place === 'x' ? 0 : 1;
          const [a, b] = place === 'x' ? [box.left, box.right] : [box.top, box.bottom];
          one[which][low] = Math.max(one[which][low], a);
          one[which][low + 2] = Math.min(one[which][low + 2], b);
        };
        for (const [place, how] of [['x', style.overflowX], ['y', style.overflowY]]) {
          if (how === 'hidden' || how === 'clip') cut(place, 'hide');
          if (how === 'auto' || how === 'scroll') {  // what lies outside can be brought into it
            cut(place, 'scroll');
            const low = place === 'x' ? 0 : 1;
            [one.hide[low], one.hide[low + 2]] = [-1e6, 1e6];
            if (place === 'x') one.scrolls = true;
          }
        }
      }
      windows.set(e, one);
    }
    return windows.get(e);
  };

  // -- all texts, line by line -----------------------------------------------
  const lines = [];  // {node, text, corners, box}
  const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  const seen = new Map();
  const visible = e => {
    if (!seen.has(e)) seen.set(e, e.checkVisibility({opacityProperty: true, visibilityProperty: true, contentVisibilityAuto: true}));
    return seen.get(e);
  };
  const range = document.createRange();
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const e = node.parentElement;
    if (!node.data.trim() || !e || !visible(e)) continue;
    if (e.closest('.jp-InputPrompt, .jp-OutputPrompt, .jp-Toolbar, .jp-InputArea-editor, .jp-Collapser, '
      + '.jp-Placeholder, .jp-cell-toolbar, .jp-InternalAnchorLink, .katex-mathml, .MathJax, mjx-container, '
      + 'style, script, title, desc, defs, option, textarea, .vp-editor-numbers, [aria-hidden=true] math, .cm-editor')) continue;
    const svg = e.closest('svg');
    range.selectNodeContents(node);
    if (svg && e.getScreenCTM) {
      const of = e.closest('text');
      if (!of || e !== of && e.tagName !== 'tspan') continue;
      const m = of.getScreenCTM();
      let box;
      if (e === of && !of.querySelector('tspan')) box = of.getBBox();
      else {  // a part of a text: from its letters
        let first = 0;
        for (let n = document.createTreeWalker(of, NodeFilter.SHOW_TEXT), t = n.nextNode(); t && t !== node; t = n.nextNode()) first += t.data.length;
        let left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
        for (let i = 0; i < node.data.length && first + i < of.getNumberOfChars(); i++) {
          if (!node.data[i].trim()) continue;
          const b = of.getExtentOfChar(first + i);
          left = Math.min(left, b.x); top = Math.min(top, b.y);
          right = Math.max(right, b.x + b.width); bottom = Math.max(bottom, b.y + b.height);
        }
        if (right < left) continue;
        box = {x: left, y: top, width: right - left, height: bottom - top};
      }
      if (!box.width) continue;
      const thin = 0.18 * box.height;  // letters fill less than their line
      const corners = [[box.x, box.y + thin], [box.x + box.width, box.y + thin],
        [box.x + box.width, box.y + box.height - thin], [box.x, box.y + box.height - thin]]
        .map(([x, y]) => new DOMPoint(x, y).matrixTransform(m)).map(p => [p.x, p.y]);
      lines.push({node, e, svg, text: node.data, corners});
    } else {
      for (const r of range.getClientRects()) {
        if (r.width < 1 || r.height < 1) continue;
        const thin = 0.18 * r.height;
        lines.push({node, e, svg, text: node.data, corners: [[r.left, r.top + thin], [r.right, r.top + thin],
          [r.right, r.bottom - thin], [r.left, r.bottom - thin]]});
      }
    }
  }
  for (const line of lines) {
    const xs = line.corners.map(p => p[0]), ys = line.corners.map(p => p[1]);
    line.box = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  }

  // -- cut, or out of the page -----------------------------------------------
  const told = new Set();
  const once = (fault, line, figure) => {
    const key = fault + where(line.e) + line.text;
    if (!told.has(key)) put(fault, line.e, line.text, figure);
    told.add(key);
  };
  for (const line of lines) {
    const {hide, scroll, scrolls} = shown(line.e);
    const [left, top, right, bottom] = line.box;
    line.gone = right < hide[0] + 1 || left > hide[2] - 1 || bottom < hide[1] + 1 || top > hide[3] - 1
      || right < scroll[0] + 1 || left > scroll[2] - 1 || bottom < scroll[1] + 1 || top > scroll[3] - 1;
    const beyond = Math.max(hide[0] - left, right - hide[2], hide[1] - top, bottom - hide[3]);
    const folded = hide[2] - hide[0] < 2 || hide[3] - hide[1] < 2;  // away as a whole, on purpose
    const moves = line.e.closest('.vp-editor-numbers') !== null;  // with the text beside it
    if (beyond > 1.5 && !folded && !moves && !forEars(line.e)) once('cut', line, Math.round(beyond));
    if (!scrolls && right > page.right + 1) once('wider than the page', line, Math.round(right - page.right));
  }
  function forEars(e) {  // kept for those who hear the page
    return getComputedStyle(e).clipPath !== 'none' || e.closest('.sr-only, .visually-hidden') !== null;
  }
  for (const e of root.querySelectorAll('.vanplumb *')) {
    if (e instanceof SVGElement && !(e instanceof SVGSVGElement) || !visible(e)) continue;
    const box = e.getBoundingClientRect();
    if (box.width && !shown(e.parentElement).scrolls && box.right > page.right + 1 && shown(e.parentElement).hide[2] > page.right + 1)
      put('wider than the page', e, e.textContent, Math.round(box.right - page.right));
    else {  // what a frame of ours has room for; once for all that stands in what sticks out
      const frame = e.parentElement.closest('.vanplumb').getBoundingClientRect();
      const up = e.parentElement.getBoundingClientRect();
      if (box.width && frame.width && !shown(e.parentElement).scrolls && box.right > frame.right + 2
          && up.right <= frame.right + 2 && shown(e.parentElement).hide[2] > frame.right + 2)
        put('wider than its frame', e, e.textContent, Math.round(box.right - frame.right));
    }
  }
  for (const e of root.querySelectorAll('.vanplumb input, .vanplumb select, .vanplumb textarea')) {
    if (!visible(e) || ['checkbox', 'radio', 'range', 'file', 'color'].includes(e.type)) continue;
    const style = getComputedStyle(e);
    if (e.tagName === 'SELECT') {
      pen.font = style.font;
      const text = e.selectedOptions[0]?.label || '';
      const room = e.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
      const needs = pen.measureText(text).width;
      if (needs > room + 1) put('cut', e, text, Math.round(needs - room));
    } else if (e.tagName === 'INPUT' && e.scrollWidth > e.clientWidth + 1) {
      put('cut', e, e.value, e.scrollWidth - e.clientWidth);
    }
    if ((e.placeholder || '').replace(/[\s\u200b]/g, '') && !e.value) {
      pen.font = style.font;
      const room = e.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
      const needs = pen.measureText(e.placeholder).width;
      if (e.tagName === 'INPUT' && needs > room + 1) put('cut', e, e.placeholder, Math.round(needs - room));
      const c = colour(getComputedStyle(e, '::placeholder').color);
      const ratio = contrast(over(c, ground(e)), ground(e));
      if (ratio < least - 0.02) put('faint', e, e.placeholder, Number(ratio.toFixed(2)));
    }
    if (e.disabled || !e.value.replace(/[\s\u200b]/g, '')) continue;
    const ink = colour(style.color).slice();
    ink[3] *= thinned(e);
    const ratio = contrast(over(ink, ground(e)), ground(e));
    if (ratio < least - 0.02) put('faint', e, e.value, Number(ratio.toFixed(2)));
  }

  // -- over one another ------------------------------------------------------
  const apart = (a, b) => {  // two four-sided boxes at any angle: some line parts them
    for (const shape of [a, b]) for (let i = 0; i < 2; i++) {
      const [p, q] = [shape[i], shape[i + 1]];
      const size = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
      const axis = [(q[0] - p[0]) / size, (q[1] - p[1]) / size];
      const on = s => s.map(c => c[0] * axis[0] + c[1] * axis[1]);
      const [x, y] = [on(a), on(b)];
      if (Math.min(Math.max(...x), Math.max(...y)) - Math.max(Math.min(...x), Math.min(...y)) < 1.5) return true;
    }
    return false;
  };
  // What stays in sight while the page is scrolled lies over the page on purpose: looked at by itself.
  const stuck = new Map();
  const layer = e => {
    if (!e || e === root) return null;
    if (!stuck.has(e)) stuck.set(e, ['sticky', 'fixed'].includes(getComputedStyle(e).position) ? e : layer(e.parentElement));
    return stuck.get(e);
  };
  const open = lines.filter(line => !line.gone).sort((a, b) => a.box[1] - b.box[1]);
  for (let i = 0; i < open.length; i++) {
    for (let j = i + 1; j < open.length && open[j].box[1] < open[i].box[3]; j++) {
      const [a, b] = [open[i], open[j]];
      if (a.node === b.node || a.box[2] <= b.box[0] || b.box[2] <= a.box[0]) continue;
      if (a.svg === null !== (b.svg === null) && (a.svg || b.svg).contains((a.svg ? b : a).e)) continue;
      if (layer(a.e) !== layer(b.e) || a.e.closest('mjx-container') || apart(a.corners, b.corners)) continue;
      once('over another', a, b.text.trim().slice(0, 40));
    }
  }

  // -- hard to read ----------------------------------------------------------
  for (const line of open) {
    const style = getComputedStyle(line.e);
    if (line.e.closest('button:disabled, [disabled], [aria-disabled=true]')) continue;
    const x = (line.box[0] + line.box[2]) / 2, y = (line.box[1] + line.box[3]) / 2;
    let ink, under;
    if (line.svg) {
      under = painted(line.svg, line.e, x, y);
      if (style.paintOrder.startsWith('stroke') && style.stroke !== 'none' && parseFloat(style.strokeWidth) > 1) {
        const halo = colour(style.stroke).slice();
        halo[3] *= Number(style.strokeOpacity);
        under = over(halo, under);
      }
      ink = colour(style.fill).slice();
      ink[3] *= Number(style.fillOpacity);
    } else {
      under = ground(line.e);
      ink = colour(style.color).slice();
    }
    ink[3] *= thinned(line.e);
    const ratio = contrast(over(ink, under), under);
    if (ratio < least - 0.02) once('faint', line, Number(ratio.toFixed(2)));
  }
  for (const e of root.querySelectorAll('[title=null], [title=undefined], [title=None]'))
    if (visible(e) && e.getBoundingClientRect().width)
      put('a name that is none', e, e.textContent, e.title);
  return found;
}
