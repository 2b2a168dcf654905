"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const make = (tag, options = {}, ...inside) => {
    const one = Object.assign(document.createElement(tag), options);
    one.append(...inside);
    return one;
  };
  const counted = (count, noun) => count + " " + noun + (count === 1 ? "" : "s");
  let state = null, sending = 0;

  async function ask(method, path, content) {
    const body = content === undefined || content instanceof Blob ? content : JSON.stringify(content);
    const answer = await fetch(path, { method, body });
    const told = await answer.json().catch(() => ({ error: "the workbench gave no answer; is it still open in the terminal?" }));
    if (!answer.ok) throw new Error(told.error || "refused");
    return told;
  }

  async function tell(method, path, content, where) {
    try {
      show(await ask(method, path, content));
      return true;
    } catch (error) {
      where.textContent = error.message;
      return false;
    }
  }

  // names go through one by one, so that a slash within one stays there
  const address = (name) => name.split("/").map(encodeURIComponent).join("/");

{% include "intake.js" %}

  const cards = new Map();
  const chosen = () => [...cards.values()].filter((c) => c.box.checked).map((c) => c.key);

  function card(photograph) {
    if (!cards.has(photograph.key)) {
      const box = make("input", { type: "checkbox" }), image = make("img", { alt: "", loading: "lazy" });
      const file = make("bdi", { className: "file" }), facts = make("p", { className: "facts" }), fitness = make("div", { className: "fitness" });
      const keeping = make("div", { className: "buttons" });
      const one = make("li", { className: "card-of" }, make("label", {}, image, box, file), facts, fitness, keeping);
      box.addEventListener("change", ready);
      file.textContent = photograph.key.split("/").pop();
      cards.set(photograph.key, { key: photograph.key, one, box, image, facts, fitness, keeping, said: "" });
    }
    const held = cards.get(photograph.key), said = JSON.stringify(photograph);
    if (said !== held.said) {
      held.said = said;
      if (held.stamp !== photograph.stamp) held.image.src = "preview/small/" + address(photograph.key) + "?" + photograph.stamp;
      held.stamp = photograph.stamp;
      held.facts.textContent = photograph.run === null
        ? ""
        : "run " + photograph.run + (photograph.sent_ppi ? ", " + photograph.sent_ppi + " ppi sent" : "");
      held.fitness.replaceChildren(...fitness(photograph));
      held.keeping.replaceChildren(...keeping(photograph));
    }
    return held.one;
  }

  const SIGNS = { "fit": "✓ Fit", "fit, with a warning": "! Fit, with a warning", "cannot tell": "? Cannot tell", "not fit": "✕ Not fit" };

  function fitness({ verdict, readable, messages, run }) {
    if (!verdict) return [make("b", { textContent: "Checking …" })];
    const own = verdict === "not fit" && readable && run === null && state.picture;
    const head = make("b", { textContent: own ? "No patch: compared with your own picture" : SIGNS[verdict] || verdict });
    if (own || !messages.length) return [head];
    const list = make("ul", {}, ...messages.map((m) => make("li", { textContent: m })));
    return [head, messages.length > 1 ? make("details", {}, make("summary", { textContent: counted(messages.length, "finding") }), list) : list];
  }

  function keeping({ key, left_out, copy }) {
    if (!left_out) return [];
    const name = key.split("/").pop();
    const button = (words, act) => {
      const one = make("button", { type: "button", textContent: words });
      one.setAttribute("aria-label", words + ": " + name);
      one.addEventListener("click", act);
      return one;
    };
    const back = button("Put back", () => tell("POST", "leave_out", { keys: [key], out: false }, byId("taken")));
    if (!copy) return [back, make("small", { textContent: "Your own file: it stays in the folder." })];
    return [back, button("Delete this copy", async () => {
      if (await tell("DELETE", "photographs/" + address(key), undefined, byId("taken"))) byId("taken").textContent = name + ": the copy is deleted; the file that you dropped stays where it was";
    })];
  }

  const compared = () => state.photographs.filter((p) => !p.left_out);
  const settings = () => [...new Set(compared().map((p) => p.setting).filter(Boolean))];

  let laid = "";
  function shelves() {
    const names = settings(), arrangement = JSON.stringify(state.photographs.map((p) => [p.key, p.setting, p.left_out]));
    state.photographs.forEach(card);
    if (arrangement === laid) return;
    laid = arrangement;
    const here = new Set(state.photographs.map((p) => p.key));
    [...cards.keys()].filter((key) => !here.has(key)).forEach((key) => cards.delete(key));
    const of = (setting) => compared().filter((p) => p.setting === setting);
    const groups = [
      ["Without a setting", "none", of("")],
      ...names.map((name, index) => [name, "s" + (index % 8 + 1), of(name)]),
      ["Left out of the comparison", "none", state.photographs.filter((p) => p.left_out)],
    ];
    byId("shelves").replaceChildren(...groups.flatMap(([name, look, own]) => {
      if (!own.length) return [];
      const head = make("h3", {}, make("bdi", { textContent: name }), " ", make("small", { textContent: counted(own.length, "photograph") }));
      return [make("section", { className: "shelf " + look }, head, make("ul", { className: "cards" }, ...own.map(card)))];
    }));
    byId("settings").replaceChildren(...names.map((name) => make("option", { value: name })));
  }

  function ready() {
    const picked = chosen().length, names = settings(), running = [state.comparison, state.tracking].some((job) => job.state === "running");
    byId("assign").hidden = !state.photographs.length;
    byId("put").disabled = !picked;
    byId("leave").disabled = !picked;
    byId("put").textContent = picked ? "Assign " + counted(picked, "photograph") : "Assign";
    const without = compared().filter((p) => !p.setting).length;
    byId("all").hidden = !without;
    byId("run").disabled = names.length < 2 || running;
    const sent = new Set(compared().filter((p) => p.setting && p.sent_ppi).map((p) => p.sent_ppi));
    byId("climb").hidden = sent.size < 2;
    byId("climb").disabled = running;
    byId("ready").textContent = names.length < 2 && sent.size < 2
      ? "Assign photographs to two settings or more. Print each setting three times: the print is what repeats."
      : counted(names.length, "setting") + ", " + (sent.size < 2 ? "" : sent.size + " values of ppi, ") + counted(compared().length - without, "photograph") +
        (without ? "; " + counted(without, "photograph") + " without a setting stay out" : "") + ".";
  }

  byId("all").addEventListener("click", () => {
    compared().filter((p) => !p.setting).forEach((p) => { cards.get(p.key).box.checked = true; });
    ready();
    byId("setting").focus();
  });
  byId("assign").addEventListener("submit", async (event) => {
    event.preventDefault();
    const keys = chosen(), setting = byId("setting").value;
    if (!keys.length) return;
    if (await tell("POST", "assign", { keys, setting }, byId("taken"))) {
      cards.forEach((c) => { c.box.checked = false; });
      byId("setting").value = "";
      byId("taken").textContent = counted(keys.length, "photograph") + (setting.trim() ? " put to " + setting.trim() : " without a setting now");
      ready();
    }
  });

  byId("leave").addEventListener("click", async () => {
    const keys = chosen();
    if (await tell("POST", "leave_out", { keys, out: true }, byId("taken"))) {
      cards.forEach((c) => { c.box.checked = false; });
      byId("taken").textContent = counted(keys.length, "photograph") + " left out; the files stay";
      ready();
    }
  });

  const KINDS = { edge: "Edge", tone: "Even tone" };
  let pictured = "", offered = "";
  function picture() {
    const sent = state.picture;
    byId("picture").hidden = !sent;
    const candidates = sent ? state.photographs.filter((p) => p.verdict && p.run === null).map((p) => p.key) : [];
    byId("marking").hidden = !candidates.length;
    if (JSON.stringify(candidates) !== offered) {
      offered = JSON.stringify(candidates);
      byId("mark-on").replaceChildren(...candidates.map((key) => make("option", { value: key, textContent: key })));
      pointed();
    }
    const said = JSON.stringify([sent, state.marks]);
    if (said === pictured) return;
    pictured = said;
    cards.forEach((c) => { c.said = ""; });
    state.photographs.forEach(card);
    if (!sent) return byId("sent").replaceChildren();
    const [wide, high] = sent.pixels, field = byId("sent");
    const image = field.querySelector("img") || make("img", { alt: "The picture that was sent, with the regions marked" });
    if (image.dataset.of !== sent.name + sent.pixels) { image.src = "picture?" + encodeURIComponent(sent.name) + Date.now(); image.dataset.of = sent.name + sent.pixels; }
    field.replaceChildren(image, ...state.marks.map((m, i) => frame(m.left / wide, m.top / high, m.right / wide, m.bottom / high, i + 1)));
    byId("sent-name").textContent = sent.name + ", " + wide + " × " + high + " pixels";
    if (document.activeElement !== byId("width")) byId("width").value = sent.width_mm ?? "";
    byId("marks").replaceChildren(...state.marks.map((m, i) => {
      const remove = make("button", { type: "button", textContent: "Remove" });
      remove.setAttribute("aria-label", "Remove region " + (i + 1));
      remove.addEventListener("click", () => tell("POST", "unmark", { number: i }, byId("mark-status")));
      return make("li", {}, KINDS[m.kind] + ", " + Math.round(m.right - m.left) + " × " + Math.round(m.bottom - m.top) + " pixels of the picture", remove);
    }));
  }

  function frame(left, top, right, bottom, words) {
    const one = make("i");
    Object.assign(one.style, { left: 100 * left + "%", top: 100 * top + "%", width: 100 * (right - left) + "%", height: 100 * (bottom - top) + "%" });
    if (words) one.append(make("b", { textContent: words }));
    return one;
  }

  const sides = ["left", "top", "right", "bottom"];
  const box = () => {
    const [left, top, right, bottom] = sides.map((side) => Math.min(Math.max(Number(byId(side).value) / 100, 0), 1));
    return [Math.min(left, right), Math.min(top, bottom), Math.max(left, right), Math.max(top, bottom)];
  };
  function pointed() {
    const field = byId("on-capture"), key = byId("mark-on").value;
    if (!key) return field.replaceChildren();
    if (field.dataset.key !== key) {
      field.replaceChildren(make("img", { src: "preview/large/" + address(key), alt: "Photograph to mark a region on", draggable: false }));
      field.dataset.key = key;
    }
    field.querySelectorAll("i").forEach((old) => old.remove());
    field.append(frame(...box()));
  }
  byId("mark-on").addEventListener("change", pointed);
  sides.forEach((side) => byId(side).addEventListener("input", pointed));
  let from = null;
  const place = (event) => {
    const area = byId("on-capture").getBoundingClientRect();
    const share = (at, low, size) => Math.min(Math.max(100 * (at - low) / size, 0), 100).toFixed(2);
    return [share(event.clientX, area.left, area.width), share(event.clientY, area.top, area.height)];
  };
  byId("on-capture").addEventListener("pointerdown", (event) => {
    from = place(event);
    event.currentTarget.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  byId("on-capture").addEventListener("pointermove", (event) => {
    if (!from) return;
    const to = place(event);
    [0, 1].forEach((axis) => {
      const [low, high] = [Number(from[axis]), Number(to[axis])].sort((a, b) => a - b);
      byId(sides[axis]).value = low;
      byId(sides[axis + 2]).value = high;
    });
    pointed();
  });
  ["pointerup", "pointercancel"].forEach((end) => byId("on-capture").addEventListener(end, () => { from = null; }));
  byId("mark").addEventListener("click", async () => {
    const where = byId("mark-status"), kind = document.querySelector("input[name=kind]:checked").value;
    where.textContent = "Finding the place in the picture …";
    byId("mark").disabled = true;
    const done = await tell("POST", "mark", { key: byId("mark-on").value, kind, box: box() }, where);
    byId("mark").disabled = false;
    if (done) where.textContent = KINDS[kind] + " marked; it is number " + state.marks.length + " on the picture";
  });
  byId("picture-file").addEventListener("change", async (event) => {
    const file = event.target.files[0];
    event.target.value = "";
    if (file) await tell("PUT", "picture/" + encodeURIComponent(file.name), file, byId("taken"));
  });
  byId("forget").addEventListener("click", () => tell("DELETE", "picture", undefined, byId("taken")));
  byId("width").addEventListener("change", (event) => {
    const width = Number(event.target.value);
    tell("POST", "width", { width_mm: width > 0 ? width : null }, byId("mark-status"));
  });

  const compare = (by) => tell("POST", "compare", { by }, byId("progress"));
  byId("run").addEventListener("click", () => compare("setting"));
  byId("climb").addEventListener("click", () => compare("ppi"));

  function progressText({ done, total, seconds_left }) {
    const left = seconds_left === null ? "" : ", about " + Math.max(1, Math.round(seconds_left)) + " s left";
    return done < total ? done + " of " + counted(total, "photograph") + " measured" + left : "Writing the report";
  }

  let told = "";
  function comparison() {
    const going = state.comparison, said = JSON.stringify([going, state.report]);
    if (said === told) return;
    told = said;
    const running = going.state === "running";
    byId("going").hidden = !running;
    byId("bar").max = going.total || 1;
    byId("bar").value = going.done;
    byId("progress").textContent = running ? progressText(going) : going.message;
    byId("outcome").hidden = !state.report || running;
    byId("said").textContent = going.verdict.join(" ") || "A report of an earlier comparison is in the folder.";
    byId("left-out").replaceChildren(...going.left_out.map((line) => make("li", { textContent: "Left out: " + line })));
  }

{% include "sheets_and_history.js" %}

  function show(now) {
    if (!state) byId("printing").open = !now.photographs.length;
    state = now;
    sheets();
    shelves();
    picture();
    comparison();
    history();
    ready();
    if (state.outside.length && !byId("refusals").children.length) {
      byId("refusals").append(...state.outside.map((name) => make("li", { textContent: name + ": leads out of the folder, and is left alone" })));
    }
    document.body.dataset.settled = String(![state.comparison, state.tracking].some((job) => job.state === "running") && !sending && state.photographs.every((p) => p.verdict));
  }

  let timer = 0;
  async function look() {
    clearTimeout(timer);
    let wait = 1500;
    try {
      show(await ask("GET", "state"));
      wait = document.body.dataset.settled === "true" ? 4000 : 500;
    } catch (error) {
      byId("taken").textContent = "The workbench does not answer; is it still open in the terminal?";
    }
    timer = setTimeout(look, wait);
  }
  for (const id of ["run", "climb"]) byId(id).addEventListener("click", () => setTimeout(look, 300));
  look();
})();
