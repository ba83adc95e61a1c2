"use strict";
// What a browser sees of a page, for the tests: it changes nothing of it.
(() => {
  const shown = (e) => {
    if (!e.checkVisibility({ checkVisibilityCSS: true, checkOpacity: true })) return false;
    const r = e.getBoundingClientRect();
    return r.width > 0 && r.height > 0 && r.right + scrollX > 0; // a way past the head lies left of the page until it has the focus
  };
  const text = (e) => (e.innerText ?? e.textContent ?? "").replace(/\s+/g, " ").trim();
  const parted = (e) => { // without what joins two texts that only look apart
    const walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT), out = [];
    while (walk.nextNode()) if (shown(walk.currentNode.parentElement)) out.push(walk.currentNode.data);
    return out.join(" ").replace(/\s+/g, " ").trim();
  };
  const told = (e) => {
    const is = e.id ? "#" + e.id : typeof e.className === "string" && e.className ? "." + e.className.split(" ").join(".") : "";
    return `${e.localName}${is} "${(text(e) || e.name || "").slice(0, 40)}"`;
  };
  const all = (selector) => [...document.querySelectorAll(selector)].filter(shown);

  // Colours, as WCAG 2.2 reckons contrast.
  const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const seen = new Map();
  const rgba = (colour) => {
    if (!seen.has(colour)) {
      canvas.clearRect(0, 0, 1, 1);
      canvas.fillStyle = colour;
      canvas.fillRect(0, 0, 1, 1);
      const [r, g, b, a] = canvas.getImageData(0, 0, 1, 1).data;
      seen.set(colour, [r, g, b, a / 255]);
    }
    return seen.get(colour);
  };
  const over = ([r, g, b, a], [R, G, B]) => [r * a + R * (1 - a), g * a + G * (1 - a), b * a + B * (1 - a), 1];
  const behind = (e) => { // the colour behind an element's own text
    const layers = [];
    for (let x = e; x; x = x.parentElement) {
      const c = rgba(getComputedStyle(x).backgroundColor);
      layers.push(c);
      if (c[3] === 1) break;
    }
    return layers.reverse().reduce((below, c) => over(c, below), [255, 255, 255, 1]);
  };
  const light = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map((c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const contrast = (colour, ground) => {
    const [a, b] = [light(over(colour, ground)), light(ground)].sort((p, q) => q - p);
    return (a + 0.05) / (b + 0.05);
  };

  const pressed = "a[href], button, input:not([type=hidden]), select, textarea, summary, label.tick";
  const many = ".many button"; // more than a hundred of them may stand below each other
  const answers = ".ask button, .ask label.tick, .ask input:not([type=hidden], [type=checkbox]), .ask select, .ask textarea, .ask summary";
  const inSentence = (e) => { // WCAG 2.2, 2.5.8: a target in a sentence
    if (e.localName !== "a" || getComputedStyle(e).display !== "inline") return false;
    let block = e.parentElement;
    while (getComputedStyle(block).display === "inline") block = block.parentElement;
    return text(block) !== text(e);
  };

  const width = (out) => {
    const wide = document.scrollingElement.scrollWidth;
    if (wide <= innerWidth) return;
    const by = all("body *").filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5).slice(0, 3).map(told);
    out.push(`width: the page is ${wide} px wide in a window of ${innerWidth} px: ${by.join(", ")}`);
  };
  const cut = (out) => {
    for (const e of all("body, body *")) {
      if (e instanceof SVGElement) continue;
      const s = getComputedStyle(e);
      const scrolls = [s.overflowX, s.overflowY].some((o) => o === "auto" || o === "scroll");
      const wide = e.scrollWidth > e.clientWidth + 1, high = e.scrollHeight > e.clientHeight + 1;
      if (e.localName === "textarea" || s.display === "inline" || s.webkitLineClamp !== "none" && e.matches("a[href^='#']")) continue; // the last leads to all of its text
      if (scrolls && (wide || high)) {
        if (e.tabIndex < 0) out.push(`cut: no key scrolls ${told(e)}`);
      } else if (wide && (s.overflowX !== "visible" || e.matches("button, a, label, summary, legend, td, th, h1, h2, h3, p, li"))) {
        out.push(`cut: ${told(e)} is ${e.scrollWidth} px wide in ${e.clientWidth} px`);
      } else if (high && s.overflowY !== "visible") {
        out.push(`cut: ${told(e)} is ${e.scrollHeight} px high in ${e.clientHeight} px`);
      }
    }
  };
  const targets = (out) => {
    const put = all(answers);
    for (const e of all(pressed)) {
      if (e.closest("label.tick") && e.localName === "input" || inSentence(e)) continue; // the label is the target
      const r = e.getBoundingClientRect();
      const least = put.includes(e) && !e.matches(many) ? 72 : 44;
      if (r.height < least - 0.5) out.push(`target: ${told(e)} is ${r.height.toFixed(0)} px high, not ${least}`);
      if (r.width < 44 - 0.5) out.push(`target: ${told(e)} is ${r.width.toFixed(0)} px wide, not 44`);
    }
    for (const [i, e] of put.entries()) {
      const a = e.getBoundingClientRect();
      for (const f of put.slice(i + 1)) {
        const b = f.getBoundingClientRect();
        if (e.contains(f) || f.contains(e)) continue;
        const across = Math.max(b.left - a.right, a.left - b.right), down = Math.max(b.top - a.bottom, a.top - b.bottom);
        const apart = e.matches(many) && f.matches(many) ? 8 : 12;
        if (Math.max(across, down) < apart - 0.5) out.push(`target: ${told(e)} and ${told(f)} are ${Math.max(across, down).toFixed(0)} px apart, not ${apart}`);
      }
    }
  };
  const colours = (out) => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const told4 = new Set();
    while (walk.nextNode()) {
      const e = walk.currentNode.parentElement, words = walk.currentNode.data.trim();
      if (!words || ["SCRIPT", "STYLE", "style", "title", "desc"].includes(e.nodeName) || !e.checkVisibility({ checkVisibilityCSS: true })) continue;
      const s = getComputedStyle(e);
      const must = /[0-9]/.test(words) || e.closest(".ask, .stops, .refused, .haste, .step, .signal, [role=alert]") ? 7 : 4.5;
      const has = contrast(rgba(e instanceof SVGElement ? s.fill : s.color), behind(e instanceof SVGElement ? e.closest("svg").parentElement : e));
      const is = `contrast: ${told(e)} has ${has.toFixed(1)}:1, not ${must}:1`;
      if (has < must && !told4.has(is)) told4.add(is) && out.push(is);
    }
    for (const e of all("input:not([type=hidden], [type=checkbox], [type=radio]), select, textarea, label.tick, button, summary")) {
      const framed = e.localName === "summary" ? e.parentElement : e, s = getComputedStyle(framed);
      const has = contrast(rgba(s.borderTopColor), behind(framed.parentElement));
      if (parseFloat(s.borderTopWidth) < 1 || has < 3) out.push(`contrast: the border of ${told(e)} is ${s.borderTopWidth} wide and has ${has.toFixed(1)}:1, not 3:1`);
    }
  };
  const lineOf = (e) => e.matches(".tick input") ? e.parentElement : e;
  const focus = () => { // where the focus is, and what is wrong with how it is seen
    const e = document.activeElement, out = [];
    if (!e || e === document.body || e === document.documentElement) return { at: "", faults: out };
    const s = getComputedStyle(e), line = getComputedStyle(lineOf(e)), r = e.getBoundingClientRect();
    const has = contrast(rgba(line.outlineColor), behind(lineOf(e).parentElement));
    if (line.outlineStyle === "none" || parseFloat(line.outlineWidth) < 2) out.push(`focus: nothing shows that it is on ${told(e)}`);
    else if (has < 3) out.push(`focus: its line round ${told(e)} has ${has.toFixed(1)}:1, not 3:1`);
    const boxes = [...e.getClientRects()].filter((b) => b.width > 0 && b.height > 0); // a link over two lines has two
    if (e.localName === "textarea") boxes.splice(0, 1, new DOMRect(r.x, r.y, r.width, Math.min(r.height, 44))); // where one writes
    const points = boxes.flatMap((b) => [[b.left + b.width / 2, b.top + b.height / 2], [b.left + 3, b.top + 3], [b.right - 3, b.top + 3], [b.left + 3, b.bottom - 3], [b.right - 3, b.bottom - 3]])
      .filter(([x, y]) => r.height <= innerHeight * 0.75 || y >= 0 && y < innerHeight); // what is higher is not seen all at once
    for (const [x, y] of points) {
      const on = document.elementFromPoint(x, y);
      if (!on || !(e.contains(on) || lineOf(e).contains(on) || on.contains(e) && s.display === "inline")) {
        out.push(`focus: ${told(e)} is hidden at ${x.toFixed(0)}, ${y.toFixed(0)} by ${on ? told(on) : "the edge of the window"}`);
        break;
      }
    }
    const way = [...document.querySelectorAll("*")].indexOf(e);
    return { at: `${way} ${told(e)}`, is: e.localName, value: e.value ?? "", name: e.name ?? "", faults: out };
  };

  return {
    // Nothing is wider than the window or cut, and all that is pressed is large enough.
    fits: () => { const out = []; width(out); cut(out); targets(out); return out; },
    colours: () => { const out = []; colours(out); return out; },
    focus,
    // How many stops Tab makes.
    stops: () => all("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']").filter((e) => e.tabIndex >= 0 && !e.disabled && (e.type !== "radio" || e === (all(`input[type=radio][name="${e.name}"]`).find((o) => o.checked || o === e)))).length, // one of a choice
    // What is asked, and what can be answered: what is pressed, what is ticked, and whether words are an answer.
    asked: () => {
      const values = (selector) => [...document.querySelectorAll(selector)].filter(shown).map((e) => e.value);
      return {
        path: location.pathname, asked: text(document.querySelector("#asked") ?? document.body).slice(0, 200),
        prompt: document.querySelector(".ask input[name=prompt]")?.value ?? "",
        buttons: values(".ask button[value]").filter((v) => v !== ""), ticks: values(".ask input[name=chosen]"), words: !!document.querySelector(".ask #text"),
      };
    },
    // What is to stand on paper, and what is on it that is only to be pressed. It is
    // asked with the styles of paper.
    paper: () => {
      const leaf = (e) => ![...e.querySelectorAll("p, li, td, th, h1, h2, h3, dt, dd, div, article, section")].some(shown);
      return {
        texts: all("main p, main li, main td, main th, main h1, main h2, main h3, main div").filter((e) => leaf(e) && text(e)).map(parted),
        pressed: all("header.ways, nav, footer, .ask form, button, summary, a.skip, a.button").map(told),
      };
    },
    // Where something can be pressed, scrolled to as by a wheel, and what lies over it.
    place: (selector) => {
      const e = document.querySelector(selector);
      if (!e) return { there: false };
      e.scrollIntoView({ block: "nearest", behavior: "instant" });
      const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2, on = document.elementFromPoint(x, y);
      return { there: true, x, y, by: !on ? "the edge of the window" : e.contains(on) || on.contains(e) ? "" : told(on) };
    },
  };
})()
