"use strict";
(() => {
  const content = JSON.parse(document.getElementById("viewer-content").textContent);
  if (!content.settings.length) return;

  const CARD_MM = 53.98, CSS_PER_MM = 96 / 25.4, MOST_BESIDE = 4, FINEST = 600;
  const byId = (id) => document.getElementById(id);
  const stage = byId("stage"), status = byId("status"), plan = byId("plan");
  const [patchWidth, patchHeight] = content.size;
  const whole = { name: "Whole patch", box: [0, 0, patchWidth, patchHeight] };
  const places = [whole, ...content.elements];

  const kept = (key, fallback) => {
    try { return Number(localStorage.getItem("dotloupe " + key)) || fallback; } catch { return fallback; }
  };
  const keep = (key, value) => {
    try { localStorage.setItem("dotloupe " + key, value); } catch { /* a page from disk may keep nothing */ }
  };
  const screen = {
    perMm: kept("css pixels per mm", CSS_PER_MM),
    distanceCm: kept("screen distance cm", 60),
    printCm: content.distance / 10,
  };
  const view = { x: patchWidth / 2, y: patchHeight / 2, scale: 10 };
  let arrange = "beside", top = 0, place = 0, sized = "fit";  // or "cover", "true", "seen", ""

  const count = content.settings.length;
  const atFirst = new Set(Array.from({ length: Math.min(count, MOST_BESIDE) }, (_, i) =>
    count <= MOST_BESIDE ? i : Math.round(i * (count - 1) / (MOST_BESIDE - 1))));
  const panes = content.settings.map((setting, index) => {
    const pane = document.createElement("div"), canvas = document.createElement("canvas");
    const name = document.createElement("p"), swatch = document.createElement("span"), words = document.createElement("bdi");
    pane.className = "pane";
    swatch.className = "swatch s" + setting.colour;
    swatch.setAttribute("aria-hidden", "true");
    words.textContent = setting.name;
    name.append(swatch, " ", words);
    pane.append(canvas, name);
    stage.append(pane);
    return { pane, canvas, setting, shown: atFirst.has(index), print: 0 };
  });
  const measure = document.createElement("div"), measureBar = document.createElement("i"), measureWords = document.createElement("span");
  measure.className = "measure";
  measure.append(measureWords, measureBar);

  const pictures = new Map();
  const picture = (path) => {
    if (!pictures.has(path)) {
      const image = new Image();
      image.onload = redraw;
      image.src = path;
      pictures.set(path, image);
    }
    return pictures.get(path);
  };

  const visible = () => arrange === "over" ? [panes[top]] : panes.filter((p) => p.shown);

  function lay() {
    const open = visible();
    panes.forEach((p) => { p.pane.hidden = !open.includes(p); });
    const across = open.length < 4 ? open.length : Math.ceil(Math.sqrt(open.length));
    stage.style.setProperty("--across", across);
    stage.style.setProperty("--across-narrow", open.length > 3 ? 2 : 1);
    stage.classList.add("narrow");
    open[open.length - 1].pane.append(measure);
    refit();
    redraw();
  }

  function refit() {
    if (place < 0) return;
    if (sized === "fit") fit(places[place].box);
    if (sized === "cover") cover(places[place].closeUp);
  }

  function paneSize() {
    const pane = visible()[0].pane;
    return [Math.max(pane.clientWidth, 1), Math.max(pane.clientHeight, 1)];
  }

  function fit(box) {
    const [x, y, width, height] = box, margin = box === whole.box ? 0 : 0.5;
    const [across, down] = paneSize();
    view.x = x + width / 2;
    view.y = y + height / 2;
    view.scale = Math.min(across / (width + 2 * margin), down / (height + 2 * margin), FINEST);
    sized = "fit";
  }

  // nothing but a close-up in view: it needs no other picture
  function cover([x, y, width, height]) {
    const [across, down] = paneSize();
    view.x = x + width / 2;
    view.y = y + height / 2;
    view.scale = Math.min(Math.max(across / width, down / height), FINEST);
    sized = "cover";
  }

  let waiting = false;
  function redraw() {
    if (waiting) return;
    waiting = true;
    stage.dataset.settled = "";
    requestAnimationFrame(() => { waiting = false; draw(); });
  }

  function draw() {
    view.scale = Math.min(Math.max(view.scale, 1), FINEST);
    view.x = Math.min(Math.max(view.x, 0), patchWidth);
    view.y = Math.min(Math.max(view.y, 0), patchHeight);
    const open = visible(), drawn = open.filter(drawPane);
    if (drawn.length === open.length) stage.dataset.settled = "1";
    drawMeasure();
    drawPlan();
    tell();
  }

  // true where every picture in view has come
  function drawPane({ canvas, pane, setting, print }) {
    const ratio = window.devicePixelRatio || 1;
    const width = Math.round(pane.clientWidth * ratio), height = Math.round(pane.clientHeight * ratio);
    if (canvas.width !== width || canvas.height !== height) { canvas.width = width; canvas.height = height; }
    const brush = canvas.getContext("2d"), scale = view.scale * ratio;
    const left = view.x - width / 2 / scale, over = view.y - height / 2 / scale;
    brush.fillStyle = "#777";
    brush.fillRect(0, 0, width, height);
    brush.imageSmoothingQuality = "high";
    const layers = setting.prints[Math.min(print, setting.prints.length - 1)].layers;
    const right = left + width / scale, under = over + height / scale;
    const wanted = layers.filter(({ box: [x, y, w, h] }, index) =>
      x < right && y < under && x + w > left && y + h > over && (index === 0 || scale >= layers[0].scale));
    const slack = 0.5 / scale;
    const filling = wanted.find(({ box: [x, y, w, h] }) =>
      x <= left + slack && y <= over + slack && x + w >= right - slack && y + h >= under - slack && scale >= layers[0].scale &&
      w < patchWidth);
    let come = true;
    (filling ? [filling] : wanted).forEach((layer) => {
      const [x, y, w, h] = layer.box;
      const image = picture(layer.path);
      if (!image.naturalWidth) { come = false; return; }
      brush.imageSmoothingEnabled = scale < 4 * layer.scale;
      brush.drawImage(image, (x - left) * scale, (y - over) * scale, w * scale, h * scale);
    });
    return come;
  }

  function drawMeasure() {
    const [across] = paneSize();
    const lengths = [10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05];
    const length = lengths.find((mm) => mm * view.scale <= across / 3) || 0.05;
    measureBar.style.width = length * view.scale + "px";
    measureWords.textContent = length + " mm";
  }

  function drawPlan() {
    const [across, down] = paneSize(), frame = plan.querySelector(".frame");
    const width = Math.min(across / view.scale, patchWidth), height = Math.min(down / view.scale, patchHeight);
    frame.setAttribute("x", Math.max(view.x - width / 2, 0));
    frame.setAttribute("y", Math.max(view.y - height / 2, 0));
    frame.setAttribute("width", width);
    frame.setAttribute("height", height);
  }

  const round = (value, digits) => Number(value.toPrecision(digits)).toString();

  let said = "";
  function tell() {
    const [across, down] = paneSize();
    const names = visible().map((p) => p.setting.name);
    const what = arrange === "over" ? "“" + names[0] + "” on top" : names.map((n) => "“" + n + "”").join(" beside ");
    const size = round(across / view.scale, 3) + " by " + round(down / view.scale, 3) + " mm, " +
      round(view.scale / screen.perMm, 2) + " times print size";
    const where = place >= 0 ? places[place].name : "x " + view.x.toFixed(1) + ", y " + view.y.toFixed(1) + " mm";
    stage.dataset.x = view.x.toFixed(4);
    stage.dataset.y = view.y.toFixed(4);
    stage.dataset.scale = view.scale.toFixed(4);
    stage.dataset.top = arrange === "over" ? top + 1 : "";
    const now = what + ". " + where + ": " + size + ".";
    if (now !== said) { said = now; clearTimeout(tell.later); tell.later = setTimeout(() => { status.textContent = said; }, 150); }
    byId("true-size").setAttribute("aria-pressed", sized === "true");
    byId("as-seen").setAttribute("aria-pressed", sized === "seen");
    byId("element-choice").value = place > 0 ? String(place) : place === 0 ? "" : "-1";
  }

  const byRule = () => sized === "true" || sized === "seen";

  function moved(dx, dy) { view.x += dx / view.scale; view.y += dy / view.scale; place = -1; if (!byRule()) sized = ""; redraw(); }

  function zoomed(factor, px, py) {
    const before = view.scale;
    view.scale = Math.min(Math.max(view.scale * factor, 1), FINEST);
    view.x += px * (1 / before - 1 / view.scale);
    view.y += py * (1 / before - 1 / view.scale);
    sized = "";
    redraw();
  }

  function go(index) {
    place = (index + places.length) % places.length;
    const fixed = byRule(), before = sized, scale = view.scale;
    fit(places[place].box);
    if (fixed) { sized = before; view.scale = scale; }
    redraw();
  }

  function lifeSize(kind) {
    sized = kind;
    view.scale = screen.perMm * (kind === "seen" ? screen.distanceCm / screen.printCm : 1);
    redraw();
  }

  function layOver(index) {
    arrange = "over";
    top = index;
    document.querySelector("input[name=arrange][value=over]").checked = true;
    lay();
  }

  function flick() {
    const open = panes.map((p, i) => i).filter((i) => panes[i].shown);
    if (arrange === "beside") return layOver(open[0]);
    layOver(open[(open.indexOf(top) + 1) % open.length]);
  }

  function layBeside() {
    arrange = "beside";
    document.querySelector("input[name=arrange][value=beside]").checked = true;
    lay();
  }

  const keys = {
    ArrowLeft: () => moved(-60, 0), ArrowRight: () => moved(60, 0), ArrowUp: () => moved(0, -60), ArrowDown: () => moved(0, 60),
    "+": () => zoomed(1.25, 0, 0), "=": () => zoomed(1.25, 0, 0), "-": () => zoomed(0.8, 0, 0), "−": () => zoomed(0.8, 0, 0),
    " ": flick, b: layBeside, n: () => go(place + 1), p: () => go(Math.max(place, 0) - 1), w: () => { sized = "fit"; go(0); },
    t: () => lifeSize("true"), e: () => lifeSize("seen"),
  };
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const index = Number(event.key) - 1;
    const act = index >= 0 && index < panes.length ? () => layOver(index) : keys[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });

  const held = new Map();
  const spread = () => {
    const [a, b] = [...held.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.hypot(a.x - b.x, a.y - b.y) };
  };
  const fromMiddle = (event) => {
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const pane = (under && under.closest(".pane")) || visible()[0].pane, box = pane.getBoundingClientRect();
    return [event.clientX - box.left - box.width / 2, event.clientY - box.top - box.height / 2];
  };
  stage.addEventListener("pointerdown", (event) => {
    held.set(event.pointerId, { x: event.clientX, y: event.clientY });
    stage.setPointerCapture(event.pointerId);
    stage.classList.add("held");
  });
  stage.addEventListener("pointermove", (event) => {
    const last = held.get(event.pointerId);
    if (!last) return;
    const before = held.size === 2 ? spread() : null;
    held.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (!before) return moved(last.x - event.clientX, last.y - event.clientY);
    const after = spread();
    moved(before.x - after.x, before.y - after.y);
    if (before.apart > 0) zoomed(after.apart / before.apart, 0, 0);
  });
  const release = (event) => { held.delete(event.pointerId); if (!held.size) stage.classList.remove("held"); };
  stage.addEventListener("pointerup", release);
  stage.addEventListener("pointercancel", release);
  stage.addEventListener("dblclick", (event) => zoomed(2, ...fromMiddle(event)));
  stage.addEventListener("wheel", (event) => {
    // the page scrolls on unless the pictures are in use
    if (document.activeElement !== stage && !event.ctrlKey) return;
    event.preventDefault();
    zoomed(Math.exp(-event.deltaY * (event.deltaMode ? 0.06 : 0.002)), ...fromMiddle(event));
  }, { passive: false });

  function fill() {
    const chooser = byId("element-choice"), groups = new Map();
    content.elements.forEach((element, index) => {
      if (!groups.has(element.group)) {
        const group = document.createElement("optgroup");
        group.label = element.group;
        groups.set(element.group, group);
        chooser.append(group);
      }
      groups.get(element.group).append(new Option(element.name, index + 1));
    });
    const anywhere = new Option("Where you moved to", "-1");
    anywhere.hidden = true;
    chooser.append(anywhere);
    chooser.addEventListener("change", () => go(Number(chooser.value || 0)));

    const most = Math.max(...panes.map((p) => p.setting.prints.length)), prints = byId("print-choice");
    for (let i = 0; i < most; i += 1) prints.append(new Option(String(i + 1) + " of each", i));
    prints.disabled = most < 2;
    prints.addEventListener("change", () => { panes.forEach((p) => { p.print = Number(prints.value); }); redraw(); });

    panes.forEach((p, index) => {
      const label = document.createElement("label"), box = document.createElement("input"), name = document.createElement("bdi");
      const swatch = document.createElement("span");
      box.type = "checkbox";
      box.checked = p.shown;
      swatch.className = "swatch s" + p.setting.colour;
      swatch.setAttribute("aria-hidden", "true");
      name.textContent = p.setting.name;
      label.append(box, swatch, name);
      byId("shown").append(label);
      box.addEventListener("change", () => {
        p.shown = box.checked;
        if (!panes.some((other) => other.shown)) { p.shown = true; box.checked = true; }
        if (arrange === "over" && !panes[top].shown) top = panes.findIndex((other) => other.shown);
        lay();
      });
      if (index === 0) top = 0;
    });

    document.querySelectorAll("input[name=arrange]").forEach((radio) => radio.addEventListener("change", () => {
      if (radio.value === "beside") layBeside();
      else layOver(panes[top].shown ? top : panes.findIndex((p) => p.shown));
    }));
    const actions = {
      flick, previous: keys.p, next: keys.n, nearer: keys["+"], farther: keys["-"], whole: keys.w, "true-size": keys.t, "as-seen": keys.e,
    };
    Object.entries(actions).forEach(([id, act]) => byId(id).addEventListener("click", act));
  }

  function drawPlanOnce() {
    const make = (className, [x, y, width, height]) => {
      const rect = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      Object.entries({ class: className, x, y, width, height }).forEach(([name, value]) => rect.setAttribute(name, value));
      plan.append(rect);
    };
    plan.setAttribute("viewBox", "0 0 " + patchWidth + " " + patchHeight);
    content.elements.forEach((element) => make(element.group, element.box));
    make("frame", whole.box);
    plan.addEventListener("click", (event) => {
      const box = plan.getBoundingClientRect();
      view.x = (event.clientX - box.left) / box.width * patchWidth;
      view.y = (event.clientY - box.top) / box.height * patchHeight;
      if (sized === "fit" && place === 0) view.scale = Math.max(view.scale, 60);
      if (!byRule()) sized = "";
      place = -1;
      redraw();
    });
  }

  function fitScreen() {
    const slider = byId("card-size"), card = byId("card"), print = byId("print-distance"), eye = byId("screen-distance");
    const show = () => {
      card.style.width = screen.perMm * CARD_MM + "px";
      slider.value = screen.perMm * CARD_MM;
      byId("as-seen-from").textContent = round(screen.printCm, 4);
      if (byRule()) lifeSize(sized);
      else redraw();
    };
    print.value = screen.printCm;
    eye.value = screen.distanceCm;
    slider.addEventListener("input", () => { screen.perMm = Number(slider.value) / CARD_MM; keep("css pixels per mm", screen.perMm); show(); });
    print.addEventListener("input", () => { if (Number(print.value) > 0) { screen.printCm = Number(print.value); show(); } });
    eye.addEventListener("input", () => {
      if (!(Number(eye.value) > 0)) return;
      screen.distanceCm = Number(eye.value);
      keep("screen distance cm", screen.distanceCm);
      show();
    });
    show();
  }

  byId("viewer").hidden = false;
  fill();
  drawPlanOnce();
  fitScreen();
  place = content.start + 1;
  if (place > 0) sized = "cover";
  lay();
  new ResizeObserver(() => { refit(); redraw(); }).observe(stage);
  const ahead = () => panes.forEach((p) => { if (p.shown) picture(p.setting.prints[0].layers[0].path); });
  window.addEventListener("load", () => setTimeout(ahead, 300));
})();
