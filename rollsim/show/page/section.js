// The section of the ship on her wave slope, and a close-up round G.

const STAGE = { width: 760, height: 500, x: 492, y: 262, reach: 212 };
const CLOSE = { x: 12, y: 12, width: 236, height: 322 };
const LEAST_TYPE = 12; // [px], on a small screen
const FACTORS = [32, 16, 8, 4, 2];

// Type in units of the section's drawing: in presenter mode a share of the window's height.
function typeSize() {
  const svg = element("section");
  const scale = Math.min(svg.clientWidth / STAGE.width, svg.clientHeight / STAGE.height);
  const least = presents() ? PRESENTED * window.innerHeight : LEAST_TYPE;
  return Math.max(17, least / Math.max(scale, 0.1));
}

// The drawing of one case: everything that stands still; `moveSection` moves the rest.
function makeSection(svg, entry, show) {
  svg.replaceChildren();
  set(svg, { viewBox: `0 0 ${STAGE.width} ${STAGE.height}` });
  const type = typeSize();
  const small = type > 17 ? type : 14;
  svg.style.setProperty("--type", `${type}px`);
  svg.style.setProperty("--small", `${small}px`);
  const shape = entry.outline.map((index) => arrays[index]);
  const size = Math.max(...shape[0].map((y, i) => Math.hypot(y, shape[1][i] - entry.draught)));
  const scale = STAGE.reach / size;
  const clip = draw("clipPath", draw("defs", svg), { id: "close-frame" });
  draw("rect", clip, CLOSE);
  const whole = makeView(svg, entry, { scale, x: STAGE.x, y: STAGE.y, centred: false });
  draw("text", svg, { class: "small", x: STAGE.width - 8, y: small + 6, "text-anchor": "end" },
    `${entry.schematic ? "schematic" : "midship section"}${entry.depth_assumed ? ", depth assumed" : ""}, from astern`);
  const port = { class: "small", y: STAGE.height - 10 };
  draw("text", svg, { ...port, x: STAGE.x - 200, "text-anchor": "middle" }, "port");
  draw("text", svg, { ...port, x: STAGE.x + 200, "text-anchor": "middle" }, "starboard");
  const factor = closeFactor(entry, scale);
  const close = draw("g", svg, { "clip-path": "url(#close-frame)" });
  draw("rect", close, { ...CLOSE, class: "paper" });
  const near = makeView(close, entry, {
    scale: scale * factor,
    x: CLOSE.x + CLOSE.width / 2,
    y: CLOSE.y + CLOSE.height / 2,
    centred: true,
  });
  draw("rect", svg, { ...CLOSE, class: "frame" });
  const foot = CLOSE.y + CLOSE.height;
  draw("text", svg, { class: "small", x: CLOSE.x, y: foot + small + 4 }, `round G, × ${factor}`);
  drawRuler(svg, foot + 2.2 * small + 4, scale * factor);
  const made = { views: [whole, near], entry };
  showParts(made, show);
  return made;
}

// How much larger the close-up is, so that GM, the levers up to the greatest and M, wherever the
// runs take it up to a heel of `NEAR`, stay in it.
function closeFactor(entry, scale) {
  const family = page.cases.filter((other) => sameFamily(other, entry));
  const size = Math.max(0.02, ...family.map((other) => {
    const heel = arrays[other.heel];
    const levers = arrays[other.gz].filter((gz, i) => Math.abs(heel[i]) <= NEAR);
    return Math.max(Math.abs(other.gm), ...levers.map(Math.abs));
  }));
  const away = Math.max(0, ...family.flatMap((other) => other.runs.map((run) => farthestM(other, run))));
  const fits = FACTORS.find((factor) => size * scale * factor <= 0.42 * CLOSE.width
    && away * scale * factor <= 0.45 * CLOSE.height);
  return fits || FACTORS[FACTORS.length - 1];
}

const NEAR = 25; // [degree]
const LOOKS = 200;

// How far [m] M comes from G, free surfaces included, in a run up to a heel of `NEAR`.
function farthestM(entry, run) {
  const times = Array.from({ length: LOOKS + 1 }, (_, i) => (i / LOOKS) * run.end);
  const moments = times.map((time) => momentOf(entry, run, time));
  const near = moments.filter((moment) => moment && Math.abs(moment.heel) <= NEAR);
  const away = near.map(({ m, virtual }) => Math.hypot(m[0] - virtual[0], m[1] - virtual[1]));
  return Math.max(0, ...away.filter(Number.isFinite));
}

// A bar of a round length in metres at the scale of the close-up.
function drawRuler(svg, y, scale) {
  const length = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5].find((m) => m * scale > 60) || 10;
  const x = CLOSE.x + length * scale;
  draw("path", svg, { class: "ruler", d: `M${CLOSE.x} ${y - 4}v8m0-4H${x}m0-4v8` });
  draw("text", svg, { class: "small", x: x + 8, y: y + 5 }, `${length} m`);
}

function makeView(parent, entry, view) {
  const shape = entry.outline.map((index) => arrays[index]);
  const beam = Math.max(...shape[0]);
  const side = 0.5 * (entry.draught + Math.max(...shape[1]));
  const made = { ...view, beam, side, most: mostLever(entry) };
  const group = draw("g", parent);
  made.sea = draw("path", group, { class: "sea" });
  made.ship = draw("g", group, { class: "ship" });
  const points = Array.from(shape[0], (y, i) => `${y},${shape[1][i]}`).join(" ");
  draw("polygon", made.ship, { class: "hull", points });
  const top = Math.max(...shape[1]);
  draw("path", made.ship, { class: "centreline", d: `M0 0V${top}` });
  made.path = drawStroke(made.ship, "m-path", "polyline");
  set(made.path, { points: pathOfM(entry) });
  made.way = drawStroke(made.ship, "g-path", "polyline");
  made.front = draw("path", group, { class: "sea front" });
  made.surface = draw("path", group, { class: "surface" });
  for (const name of ["buoyancy", "weight", "bar", "push"]) {
    made[name] = drawStroke(group, name);
  }
  made.cause = draw("text", group, { class: "small", "text-anchor": "middle" }, entry.push);
  made.marks = {};
  for (const name of ["b", "virtual", "z", "g", "m"]) {
    const mark = draw("g", group, { class: `mark ${name}` });
    drawMark(mark, name);
    draw("text", mark, {}, MARKS[name].letter);
    made.marks[name] = mark;
  }
  return made;
}

// The greatest heeling lever of any run of a family.
function mostLever(entry) {
  const runs = page.cases.filter((other) => sameFamily(other, entry)).flatMap((other) => other.runs);
  const levers = runs.map((run) => arrays[run.lever].filter(Number.isFinite));
  return levers.reduce((most, each) => each.reduce((a, b) => Math.max(a, Math.abs(b)), most), 1e-4);
}

function pathOfM(entry) {
  const [heel, reach] = [arrays[entry.heel], reachOf(entry).curve];
  const [y, z] = [arrays[entry.m_y], arrays[entry.m_z]];
  // Beyond what the curve shows the path would only cover the rest.
  const seen = Array.from(y.keys()).filter((i) => Math.abs(heel[i]) <= reach);
  const known = seen.filter((i) => Number.isFinite(y[i]));
  return known.map((i) => `${y[i]},${z[i]}`).join(" ");
}

function showParts(made, show) {
  for (const view of made.views) {
    visible(view.path, show.m);
    visible(view.way, show.levers);
    for (const part of [view.weight, view.buoyancy, view.bar, view.marks.z]) {
      visible(part, show.levers);
    }
    visible(view.marks.m, show.m);
    visible(view.marks.b, show.b);
    visible(view.marks.virtual, show.levers && made.entry.free_surface > 0);
  }
  // Between G and M there is room for these in the close-up only.
  visible(made.views[0].marks.z, false);
  visible(made.views[0].marks.virtual, false);
}

function moveSection(made, moment, show) {
  for (const view of made.views) {
    moveView(view, moment, show);
  }
}

function moveView(view, moment, show) {
  const k = view.scale;
  const [ox, oz] = view.centred ? toEarth(moment.virtual, moment) : [0, 0];
  const screen = ([x, z]) => [view.x + k * (x - ox), view.y - k * (z - oz)];
  const [c, s] = [Math.cos(moment.roll / RADIAN), Math.sin(moment.roll / RADIAN)];
  const across = view.x - k * (ox + s * moment.draught);
  const down = view.y + k * (oz - moment.rise + c * moment.draught);
  const turn = [k * c, k * s, k * s, -k * c, across, down];
  set(view.ship, { transform: `matrix(${turn.join(" ")})` });
  const slope = moment.slope / RADIAN;
  const up = [Math.sin(slope), Math.cos(slope)];
  const side = [Math.cos(slope), -Math.sin(slope)];
  const far = (2 * STAGE.width) / k;
  const edge = [-far, far].map((x) => screen([x * side[0], x * side[1]]).join(" "));
  const deep = [far, -far].map((x) => `${x + view.x} ${far * k}`);
  set(view.sea, { d: `M${[...edge, ...deep].join("L")}Z` });
  set(view.front, { d: view.sea.getAttribute("d") });
  set(view.surface, { d: `M${edge.join("L")}` });
  moveLevers(view, moment, screen, up, show);
  for (const [name, mark] of Object.entries(view.marks)) {
    const [x, y] = screen(toEarth(moment[name], moment));
    const known = Number.isFinite(x) && Number.isFinite(y);
    set(mark, { transform: `translate(${known ? `${x} ${y}` : "-9999 -9999"})` });
  }
  moveCauses(view, moment, screen);
  placeLetters(view, moment, show);
}

// Letters keep clear of each other, in the true order of height of their points.
function placeLetters(view, moment, show) {
  const seen = { g: true, m: show.m, b: show.b, z: show.levers, virtual: show.levers };
  const names = ["g", "m", "b", ...(view.centred ? ["z", "virtual"] : [])];
  const points = names
    .filter((name) => seen[name] && !(name === "virtual" && moment.g[1] === moment.virtual[1]))
    .map((name) => ({ name, y: heightOf(view.marks[name]) }))
    .filter(({ y }) => Math.abs(y) < 2 * STAGE.height)
    .sort((one, other) => one.y - other.y);
  const left = view.centred && moment.gz < 0;
  const side = { g: left ? 12 : -12, virtual: left ? 12 : -12, z: left ? -12 : 12, b: 12, m: 12 };
  const levels = spread(points.map(({ y }) => y), typeSize());
  points.forEach(({ name, y }, i) => {
    const text = { x: side[name], y: levels[i] - y + 6, "text-anchor": side[name] < 0 ? "end" : "start" };
    set(view.marks[name].lastChild, text);
  });
}

const heightOf = (mark) => mark.transform.baseVal.getItem(0).matrix.f;

// What heels her: the way of G since the start, and the push of wind or whatever else.
function moveCauses(view, moment, screen) {
  const way = moment.way.map(([y, z]) => `${y},${z}`);
  set(view.way, { points: way.join(" ") });
  const acts = !view.centred && Math.abs(moment.lever) >= 1e-4;
  visible(view.push, acts);
  visible(view.cause, acts);
  if (!acts) {
    return;
  }
  const from = moment.lever > 0 ? -1 : 1;
  const [x, y] = screen(toEarth([from * view.beam, view.side], moment));
  const length = 26 + 44 * Math.min(1, Math.abs(moment.lever) / view.most);
  const tip = x + from * 6;
  set(view.push, { d: arrow([tip + from * length, y], [tip, y]) });
  set(view.cause, { x: tip + from * 0.5 * length, y: y - 12 });
}

function moveLevers(view, moment, screen, up, show) {
  const known = Number.isFinite(moment.gz);
  const [g, z] = [toEarth(moment.virtual, moment), toEarth(moment.z, moment)];
  const size = 110 / view.scale;
  const on = ([x, y], length) => [x + length * up[0], y + length * up[1]];
  set(view.weight, { d: arrow(screen(g), screen(on(g, -size))) });
  if (!known) {
    set(view.buoyancy, { d: "" });
    set(view.bar, { d: "" });
    return;
  }
  // The line of buoyancy runs through Z; it begins at B where B is known, and passes M.
  const height = (point) => (point[0] - z[0]) * up[0] + (point[1] - z[1]) * up[1];
  const b = height(toEarth(moment.b, moment));
  const far = 6 * size; // out of any view
  const low = Math.max(Number.isFinite(b) ? b : -size, -far);
  const high = Math.max(height(toEarth(moment.m, moment)) + 0.3 * size, low + size);
  set(view.buoyancy, { d: arrow(screen(on(z, low)), screen(on(z, Math.min(high, far)))) });
  const rights = moment.gz * moment.heel >= 0;
  set(view.bar, {
    d: `M${screen(g).join(" ")}L${screen(z).join(" ")}`,
    class: rights ? "bar" : "bar over",
  });
}
