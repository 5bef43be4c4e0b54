// The page itself: two pictures, a list of swaps, and what the ticked ones make of the board.

const data = JSON.parse(document.getElementById("data").textContent);
const tangle = makeTangle(data);
const SVG = "http://www.w3.org/2000/svg", UNIT = 10000, RING = 70;
const byId = (id) => document.getElementById(id);
const boxes = [...document.querySelectorAll("input[data-swap]")];
const pictures = [...document.querySelectorAll("svg.board")];
const states = { before: tangle.state(new Set()), after: null };
let pinned = null, spot = -1;

const netName = (net) => (net < 0 ? "(open)" : data.nets[net]);
const pinName = (p) => `${data.parts[data.pins[p][0]]}:${data.pins[p][1]}`;
const pinWords = (p) => pinName(p) + (data.pins[p][2] ? ` ${data.pins[p][2]}` : "");
const taken = () => new Set(boxes.filter((box) => box.checked).map((box) => Number(box.dataset.swap)));
const units = (nm) => Math.round(nm / UNIT);

function make(name, settings, parent) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(settings)) node.setAttribute(key, value);
  return parent ? parent.appendChild(node) : node;
}

function line(e) {
  return `M${units(e.x0)} ${units(e.y0)}L${units(e.x1)} ${units(e.y1)}`;
}

// Where edges cross, for the eye only; very many marks are drawn on a coarser grid.
function meetings(pairs) {
  const step = pairs.length > 20000 ? 10 : 1, spots = new Set();
  for (const [e, f] of pairs) {
    const ux = e.x1 - e.x0, uy = e.y1 - e.y0, vx = f.x1 - f.x0, vy = f.y1 - f.y0;
    const share = ((f.x0 - e.x0) * vy - (f.y0 - e.y0) * vx) / (ux * vy - uy * vx);
    const column = Math.round((e.x0 + ux * share) / UNIT / step), row = Math.round((e.y0 + uy * share) / UNIT / step);
    spots.add(column * 2 ** 20 + row);
  }
  return [...spots].map((key) => `M${Math.floor(key / 2 ** 20) * step} ${(key % 2 ** 20) * step}h0`);
}

function common([e, f]) {
  const ends = [[e.x0, e.y0], [e.x1, e.y1], [f.x0, f.y0], [f.x1, f.y1]];
  ends.sort((p, q) => p[0] - q[0] || p[1] - q[1]);
  return `M${ends[1].map(units).join(" ")}L${ends[2].map(units).join(" ")}`;
}

function dot(p) {
  const pad = tangle.pinPads[p][0];
  return `M${units(data.pads.x[pad])} ${units(data.pads.y[pad])}h0`;
}

function marks(found, kind, group) {
  const paths = {
    [kind]: found.links.map(line),
    shared: found.overlaps.map(common),
    over: found.over.map((hit) => dot(hit.pin)),
    cross: meetings(found.crossings),
  };
  for (const [name, d] of Object.entries(paths)) if (d.length) make("path", { class: name, d: d.join("") }, group);
}

function draw(side) {
  const group = document.querySelector(`#${side} .state`);
  group.replaceChildren();
  marks(states[side].marks, "link own", group);
  const chosen = taken();
  for (const swap of data.swaps) for (const [p] of swap.moves) {
    const pad = tangle.pinPads[p][0];
    const kind = side === "after" && !chosen.has(swap.id) ? "moved not" : "moved";
    make("circle", { class: kind, cx: units(data.pads.x[pad]), cy: units(data.pads.y[pad]), r: RING }, group);
  }
}

function put(id, value) {
  const cell = byId(id), number = Object.is(value, -0) ? 0 : value;
  cell.value = String(number);
  const text = Number.isInteger(number) && !id.includes("length") ? String(number) : number.toFixed(1);
  cell.textContent = id.startsWith("change") && number > 0 ? `+${text}` : text;
  if (id.startsWith("change")) cell.className = number < 0 ? "less" : number > 0 ? "more" : "";
}

function refresh() {
  const chosen = taken(), before = states.before.figures;
  states.after = tangle.state(chosen);
  for (const [name, value] of Object.entries(states.after.figures)) {
    put(`now-${name}`, value);
    put(`change-${name}`, name === "length_mm" ? states.after.moved : value - before[name]);
  }
  const pins = data.swaps.filter((s) => chosen.has(s.id)).reduce((sum, s) => sum + s.moves.length, 0);
  const now = states.after.figures;
  byId("taken").textContent = `${chosen.size} of ${data.swaps.length} swaps ticked, ${pins} pins move`;
  byId("heard").textContent =
    `${chosen.size} swaps ticked: ${now.crossings} crossings, ${now.overlaps} overlaps, ` +
    `${now.over_pads} over pads, ${now.length_mm.toFixed(1)} millimetres`;
  for (const box of boxes) box.closest("li").classList.toggle("left", !box.checked);
  draw("after");
  light(pinned);
  byId("saved").hidden = true;
}

// Lights up {net} or {pin} on both pictures; null puts it out.
function light(what) {
  for (const side of ["before", "after"]) {
    const group = document.querySelector(`#${side} .lit`), state = states[side];
    group.replaceChildren();
    if (!what) continue;
    const net = what.pin === undefined ? what.net : state.nets[what.pin];
    const pins = what.pin === undefined ? [] : [what.pin];
    if (net >= 0) state.nets.forEach((n, p) => n === net && pins.push(p));
    const d = net < 0 ? "" : state.edges.filter((e) => e.net === net).map(line).join("");
    if (d) make("path", { class: "glow", d }, group);
    for (const pad of new Set(pins).values()) for (const at of tangle.pinPads[pad])
      make("circle", { class: pad === what.pin ? "here" : "there", cx: units(data.pads.x[at]), cy: units(data.pads.y[at]), r: pad === what.pin ? 90 : 60 }, group);
  }
  byId("told").textContent = what ? words(what) : "Point at a pin or a net, or walk the moved pins with the arrow keys.";
}

function words(what) {
  if (what.pin === undefined) return `Net ${netName(what.net)}`;
  const was = netName(states.before.nets[what.pin]), now = netName(states.after.nets[what.pin]);
  return was === now ? `${pinWords(what.pin)}: ${was}` : `${pinWords(what.pin)}: ${was} becomes ${now}`;
}

function target(node) {
  const { pin, net } = node.dataset;
  return pin === undefined ? { net: Number(net) } : { pin: Number(pin) };
}

const same = (a, b) => !!a && !!b && a.pin === b.pin && a.net === b.net;

function pinDown(what) {
  pinned = same(pinned, what) ? null : what;
  for (const node of document.querySelectorAll("button[data-pin],button[data-net]"))
    node.setAttribute("aria-pressed", String(same(pinned, target(node))));
  light(pinned);
}

// The pin or net at a place on the board (nanometres), within reach.
function find(side, px, py, reach) {
  let best = null, least = reach;
  tangle.field.boxes.forEach((box, pad) => {
    const dx = Math.max(box.x0 - px, px - box.x1, 0), dy = Math.max(box.y0 - py, py - box.y1, 0);
    const far = Math.hypot(dx, dy);
    if (far < least || (far === 0 && least === 0)) [best, least] = [{ pin: data.pads.pin[pad] }, far];
  });
  if (best && least === 0) return best;
  for (const e of states[side].edges) {
    const ux = e.x1 - e.x0, uy = e.y1 - e.y0, square = ux * ux + uy * uy;
    const t = square ? Math.min(1, Math.max(0, ((px - e.x0) * ux + (py - e.y0) * uy) / square)) : 0;
    const far = Math.hypot(e.x0 + t * ux - px, e.y0 + t * uy - py);
    if (far < least) [best, least] = [{ net: e.net }, far];
  }
  return best;
}

function place(svg, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const reach = (6 * svg.viewBox.baseVal.width) / svg.clientWidth;
  return find(svg.id, at.x * UNIT, at.y * UNIT, reach * UNIT);
}

function look(x, y, width, height) {
  for (const svg of pictures) svg.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
}

function closer(factor, cx, cy) {
  const v = pictures[0].viewBox.baseVal;
  const width = Math.min(data.frame[0], Math.max(200, v.width * factor)), scale = width / v.width;
  const mx = cx ?? v.x + v.width / 2, my = cy ?? v.y + v.height / 2;
  const inside = (low, size, whole) => Math.min(Math.max(low, 0), Math.max(0, whole - size));
  const height = v.height * scale;
  look(inside(mx - (mx - v.x) * scale, width, data.frame[0]), inside(my - (my - v.y) * scale, height, data.frame[1]), width, height);
}

function drag(svg, start) {
  const v = svg.viewBox.baseVal, [x, y, scale] = [v.x, v.y, v.width / svg.clientWidth];
  const move = (event) => look(x - (event.clientX - start.clientX) * scale, y - (event.clientY - start.clientY) * scale, v.width, v.height);
  svg.setPointerCapture(start.pointerId);
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerup", () => svg.removeEventListener("pointermove", move), { once: true });
}

function walk(step) {
  const pins = data.swaps.flatMap((swap) => swap.moves.map(([p]) => p));
  if (!pins.length) return;
  spot = (spot + step + pins.length) % pins.length;
  light({ pin: pins[spot] });
}

function watch(svg) {
  let from = null;
  svg.addEventListener("pointermove", (event) => event.buttons || light(place(svg, event) || pinned));
  svg.addEventListener("pointerleave", () => light(pinned));
  svg.addEventListener("pointerdown", (event) => { from = [event.clientX, event.clientY]; drag(svg, event); });
  svg.addEventListener("click", (event) => {
    if (from && Math.hypot(event.clientX - from[0], event.clientY - from[1]) < 4) pinDown(place(svg, event));
  });
  svg.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.altKey) return;
    event.preventDefault();
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    closer(event.deltaY < 0 ? 0.8 : 1.25, at.x, at.y);
  }, { passive: false });
  svg.addEventListener("keydown", (event) => {
    const doing = {
      ArrowRight: () => walk(1), ArrowDown: () => walk(1), ArrowLeft: () => walk(-1), ArrowUp: () => walk(-1),
      "+": () => closer(0.8), "-": () => closer(1.25), Escape: () => { pinned = null; light(null); },
    }[event.key];
    if (!doing) return;
    event.preventDefault();
    doing();
  });
}

function search(text) {
  const wanted = text.trim(), net = data.nets.indexOf(wanted);
  if (net >= 0) return { net };
  const p = wanted ? data.pins.findIndex((_, i) => pinName(i) === wanted) : -1;
  return p < 0 ? null : { pin: p };
}

function save() {
  const chosen = taken(), ids = [...chosen].join(",");
  const list = data.head + data.swaps.filter((s) => chosen.has(s.id)).map((s) => s.text).join("") + ")\n";
  byId("command").textContent = chosen.size ? `${data.command} --only ${ids}` : "No swap is ticked: there is nothing to apply.";
  const link = byId("file");
  URL.revokeObjectURL(link.href);
  link.href = URL.createObjectURL(new Blob([list], { type: "text/plain" }));
  link.download = data.listName;
  byId("saved").hidden = false;
  byId("command").focus();
}

for (const box of boxes) box.addEventListener("change", refresh);
for (const [id, checked] of [["all", true], ["none", false]])
  byId(id).addEventListener("click", () => { boxes.forEach((box) => { box.checked = checked; }); refresh(); });
for (const node of document.querySelectorAll("button[data-pin],button[data-net]")) {
  for (const kind of ["pointerenter", "focus"]) node.addEventListener(kind, () => light(target(node)));
  for (const kind of ["pointerleave", "blur"]) node.addEventListener(kind, () => light(pinned));
  node.addEventListener("click", () => pinDown(target(node)));
}
byId("closer").addEventListener("click", () => closer(0.7));
byId("farther").addEventListener("click", () => closer(1 / 0.7));
byId("whole").addEventListener("click", () => look(0, 0, ...data.frame));
byId("find").addEventListener("input", (event) => { pinned = search(event.target.value); light(pinned); });
byId("save").addEventListener("click", save);
byId("words").append(...data.nets.map((name) => Object.assign(document.createElement("option"), { value: name })));
pictures.forEach(watch);
for (const [name, value] of Object.entries(states.before.figures)) put(`before-${name}`, value);
for (const svg of pictures) marks(tangle.still, "link", svg.querySelector(".still"));
draw("before");
refresh();
const agrees = (found, told) => Object.keys(told).every((name) => Math.abs(found[name] - told[name]) < 2e-6);
const all = tangle.state(new Set(data.swaps.map((s) => s.id))).figures;
byId("doubt").hidden = agrees(states.before.figures, data.expect.before) && agrees(all, data.expect.after);
document.documentElement.dataset.ready = "yes";
