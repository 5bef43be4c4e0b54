// The tangle of any choice of swaps.  Pads come in the order of ends, so pad numbers compare
// as ends do, and the first pad of an edge never lies right of the second.

const leftFirst = (e, f) => e.x0 - f.x0;

function makeTangle(data) {
  const { x, y, pin, label, flags, corners } = data.pads;
  const count = x.length, pinPads = data.pins.map(() => []);
  for (let pad = 0; pad < count; pad++) pinPads[pin[pad]].push(pad);
  const base = Int32Array.from(data.pins, (entry) => entry[3]);
  const uncounted = new Set(data.leftOut), field = padField();
  const trees = new Map(), overs = new Map();
  const touched = new Set();
  for (const swap of data.swaps) for (const [p, net] of swap.moves) touched.add(base[p]).add(net);
  touched.delete(-1);
  const basePins = new Map();
  base.forEach((net, p) => {
    if (net >= 0) (basePins.get(net) || basePins.set(net, []).get(net)).push(p);
  });
  const fixed = [...basePins.keys()].filter((net) => !touched.has(net)).flatMap((n) => tree(n, basePins.get(n)));
  fixed.sort(leftFirst);
  const bounds = {};
  for (const name of ["x0", "x1", "low", "high"]) bounds[name] = Float64Array.from(fixed, (edge) => edge[name]);
  const fixedPairs = sweep(fixed, { crossings: [], overlaps: [] });
  const fixedOver = fixed.flatMap((edge) => overPins(edge, base));
  const baseNets = new Map([...touched].map((net) => [net, tree(net, basePins.get(net) || [])]));

  // The spanning tree of the pads of these pins; pads that copper joins are one node.
  function tree(net, pins) {
    if (uncounted.has(net)) return [];
    const key = net + ":" + pins.join();
    if (!trees.has(key)) {
      const pads = pins.flatMap((p) => pinPads[p]).filter((pad) => flags[pad] & 1);
      trees.set(key, span(pads.sort((a, b) => a - b)).map((e) => edgeOf(e, net)));
    }
    return trees.get(key);
  }

  // Prim over all pads: the order of edges is total, so the tree is the only one.
  function span(pads) {
    const found = [], best = new Map();
    let outside = pads, entering = pads.length ? label[pads[0]] : -1;
    for (;;) {
      const taken = outside.filter((pad) => label[pad] === entering);
      outside = outside.filter((pad) => label[pad] !== entering);
      if (!outside.length) return found;
      let next = null;
      for (const pad of outside) {
        let mine = best.get(pad);
        for (const other of taken) {
          const dx = x[pad] - x[other], dy = y[pad] - y[other];
          const edge = { d: dx * dx + dy * dy, a: Math.min(pad, other), b: Math.max(pad, other), to: pad };
          if (!mine || order(edge, mine, x, y) < 0) mine = edge;
        }
        best.set(pad, mine);
        if (!next || order(mine, next, x, y) < 0) next = mine;
      }
      found.push(next);
      entering = label[next.to];
    }
  }

  function edgeOf({ a, b }, net) {
    const low = Math.min(y[a], y[b]), high = Math.max(y[a], y[b]);
    return {
      net, a, b, x0: x[a], y0: y[a], x1: x[b], y1: y[b], low, high,
      ...lengths(x[b] - x[a], y[b] - y[a]),
    };
  }

  // Counts a pair of edges of different nets where it is a crossing or an overlap.
  function meet(e, f, found) {
    const c = turn(e.x0, e.y0, e.x1, e.y1, f.x0, f.y0), d = turn(e.x0, e.y0, e.x1, e.y1, f.x1, f.y1);
    if (c * d < 0) {
      const a = turn(f.x0, f.y0, f.x1, f.y1, e.x0, e.y0), b = turn(f.x0, f.y0, f.x1, f.y1, e.x1, e.y1);
      if (a * b < 0) found.crossings.push([e, f]);
    } else if (!c && !d && inLine(e, f)) found.overlaps.push([e, f]);
  }

  // All pairs of sorted edges: a sweep from left to right.
  function sweep(edges, found) {
    for (let i = 0; i < edges.length; i++) {
      const e = edges[i], { x1, low, high, net } = e;
      for (let j = i + 1; j < edges.length && edges[j].x0 <= x1; j++) {
        const f = edges[j];
        if (f.low <= high && f.high >= low && f.net !== net) meet(e, f, found);
      }
    }
    return found;
  }

  // Pairs of edges that may move, with each other and with those that stay.
  function pairs(own) {
    const found = sweep(own.slice().sort(leftFirst), { crossings: [], overlaps: [] });
    for (const e of own)
      for (let j = 0; j < fixed.length && bounds.x0[j] <= e.x1; j++)
        if (bounds.x1[j] >= e.x0 && bounds.low[j] <= e.high && bounds.high[j] >= e.low) meet(e, fixed[j], found);
    return found;
  }

  // Whether two segments in one line share more than a point.
  function inLine(e, f) {
    const real = (g) => g.x0 !== g.x1 || g.y0 !== g.y1;
    const wide = Math.min(e.x1, f.x1) > Math.max(e.x0, f.x0);
    return real(e) && real(f) && (wide || Math.min(e.high, f.high) > Math.max(e.low, f.low));
  }

  // Pads by square cells, each with the box round its outline.
  function padField() {
    const boxes = [];
    for (let pad = 0; pad < count; pad++) {
      const at = [0, 1, 2, 3].map((i) => [corners[8 * pad + 2 * i], corners[8 * pad + 2 * i + 1]]);
      const us = at.map((c) => c[0]), vs = at.map((c) => c[1]);
      boxes.push({ at, x0: Math.min(...us), y0: Math.min(...vs), x1: Math.max(...us), y1: Math.max(...vs) });
    }
    const cell = Math.max(1e5, Math.max(data.size[0], data.size[1]) / 96), cells = new Map();
    const walk = (x0, y0, x1, y1, visit) => {
      for (let u = Math.floor(x0 / cell); u <= Math.floor(x1 / cell); u++)
        for (let v = Math.floor(y0 / cell); v <= Math.floor(y1 / cell); v++) visit(u * 65536 + v);
    };
    boxes.forEach((box, pad) => walk(box.x0, box.y0, box.x1, box.y1, (key) => {
      if (!cells.has(key)) cells.set(key, []);
      cells.get(key).push(pad);
    }));
    return { boxes, cells, cell, walk };
  }

  // All pads whose cells a segment runs through, each once; column by column.
  function nearPads(e) {
    const found = new Set(), { cell, cells, walk } = field;
    const rise = e.x1 > e.x0 ? (e.y1 - e.y0) / (e.x1 - e.x0) : 0;
    for (let u = Math.floor(e.x0 / cell); u <= Math.floor(e.x1 / cell); u++) {
      const from = Math.max(e.x0, u * cell), to = Math.min(e.x1, (u + 1) * cell);
      const ys = e.x1 > e.x0 ? [e.y0 + rise * (from - e.x0), e.y0 + rise * (to - e.x0)] : [e.y0, e.y1];
      walk(u * cell + cell / 2, Math.min(...ys) - 100, u * cell + cell / 2, Math.max(...ys) + 100, (key) => {
        for (const pad of cells.get(key) || []) found.add(pad);
      });
    }
    return found;
  }

  // Pins whose pads a segment between two pads runs over, whatever their nets.
  function runsOver(e) {
    const key = e.a * count + e.b;
    if (overs.has(key)) return overs.get(key);
    const sides = (flags[e.a] | flags[e.b]) >> 2, found = new Set();
    for (const pad of nearPads(e)) {
      const box = field.boxes[pad];
      if (box.x0 > e.x1 || box.x1 < e.x0 || box.y0 > e.high || box.y1 < e.low) continue;
      if (!(flags[pad] & 2) && !(sides & (flags[pad] >> 2))) continue;
      if (!found.has(pin[pad]) && passes(e, box.at)) found.add(pin[pad]);
    }
    const stands = (p, end) => pinPads[p].some((pad) => x[pad] === x[end] && y[pad] === y[end]);
    overs.set(key, [...found].filter((p) => !stands(p, e.a) && !stands(p, e.b)));
    return overs.get(key);
  }

  // Whether a segment meets the open inside of a four-cornered outline.
  function passes(e, at) {
    const sides = at.map(([u, v]) => turn(e.x0, e.y0, e.x1, e.y1, u, v));
    if (Math.min(...sides) >= 0 || Math.max(...sides) <= 0) return false;
    const winding = turn(...at[0], ...at[1], ...at[2]);
    if (!winding) return false;
    return at.every((from, i) => {
      const to = at[(i + 1) % 4];
      return winding * turn(...from, ...to, e.x0, e.y0) > 0 || winding * turn(...from, ...to, e.x1, e.y1) > 0;
    });
  }

  function overPins(e, nets) {
    return runsOver(e).filter((p) => nets[p] !== e.net).map((p) => ({ edge: e, pin: p }));
  }

  // The board with these swaps (a set of their numbers) done; marks are those of nets that may move.
  function state(taken) {
    const nets = base.slice(), pinsOf = new Map(), mover = new Set();
    for (const swap of data.swaps) {
      if (!taken.has(swap.id)) continue;
      for (const [p, net] of swap.moves) {
        mover.add(nets[p]).add(net);
        nets[p] = net;
      }
    }
    for (const net of touched) pinsOf.set(net, (basePins.get(net) || []).filter((p) => nets[p] === net));
    for (let p = 0; p < nets.length; p++) if (nets[p] !== base[p] && nets[p] >= 0) pinsOf.get(nets[p]).push(p);
    const byNet = new Map([...pinsOf].map(([net, pins]) => [net, tree(net, pins.sort((a, b) => a - b))]));
    const own = [...byNet.values()].flat(), edges = fixed.concat(own);
    const found = pairs(own);
    const over = own.flatMap((e) => overPins(e, nets));
    const figures = {
      crossings: found.crossings.length + fixedPairs.crossings.length,
      overlaps: found.overlaps.length + fixedPairs.overlaps.length,
      over_pads: over.length + fixedOver.length,
      length_mm: six(exactSum(edges.map((e) => e.once)) / 1e6),
    };
    return { nets, edges, figures, moved: movedLength(byNet, mover), marks: { links: own, over, ...found } };
  }

  // What the nets that moved have gained in length, as the worth of a swap is reckoned.
  function movedLength(byNet, mover) {
    const total = (from) => exactSum([...touched].filter((n) => mover.has(n)).flatMap((n) => from.get(n)).map((e) => e.twice)) / 1e6;
    return six(total(byNet) - total(baseNets));
  }

  const still = { links: fixed, over: fixedOver, ...fixedPairs };
  return { state, still, pinPads, field };
}
