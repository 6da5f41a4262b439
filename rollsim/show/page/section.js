// The section of the ship on her wave slope, and a close-up round G.

const SVG = "http://www.w3.org/2000/svg";
const STAGE = { width: 760, height: 500, x: 492, y: 262, reach: 212 };
const CLOSE = { x: 12, y: 12, width: 236, height: 322 };
const FACTORS = [32, 16, 8, 4, 2];

function draw(tag, parent, attributes = {}, text = "") {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) {
    element.setAttribute(name, value);
  }
  element.textContent = text;
  parent.append(element);
  return element;
}

function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    element.setAttribute(name, value);
  }
}

function visible(element, shown) {
  element.setAttribute("visibility", shown ? "inherit" : "hidden");
}

// The drawing of one case: everything that stands still; `moveSection` moves the rest.
function makeSection(svg, entry, show) {
  svg.replaceChildren();
  set(svg, { viewBox: `0 0 ${STAGE.width} ${STAGE.height}` });
  const shape = entry.outline.map((index) => arrays[index]);
  const size = Math.max(...shape[0].map((y, i) => Math.hypot(y, shape[1][i] - entry.draught)));
  const scale = STAGE.reach / size;
  const clip = draw("clipPath", draw("defs", svg), { id: "close-frame" });
  draw("rect", clip, CLOSE);
  const whole = makeView(svg, entry, { scale, x: STAGE.x, y: STAGE.y, centred: false });
  draw("text", svg, { class: "small", x: STAGE.width - 8, y: 20, "text-anchor": "end" },
    `section schematic${entry.depth_assumed ? ", depth assumed" : ""}; seen from astern`);
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
  draw("text", svg, { class: "small", x: CLOSE.x, y: foot + 20 }, `round G, ${factor} times larger`);
  drawRuler(svg, foot + 34, scale * factor);
  const made = { views: [whole, near], entry };
  showParts(made, show);
  return made;
}

// How much larger the close-up is, so that GM and the levers up to the greatest stay in it.
function closeFactor(entry, scale) {
  const family = page.cases.filter((other) => sameFamily(other, entry));
  const size = Math.max(0.02, ...family.map((other) => {
    const heel = arrays[other.heel];
    const levers = arrays[other.gz].filter((gz, i) => Math.abs(heel[i]) <= 25);
    return Math.max(Math.abs(other.gm), ...levers.map(Math.abs));
  }));
  const fits = FACTORS.find((factor) => size * scale * factor <= 0.42 * CLOSE.width);
  return fits || FACTORS[FACTORS.length - 1];
}

// A bar of a round length in metres at the scale of the close-up.
function drawRuler(svg, y, scale) {
  const length = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5].find((m) => m * scale > 60) || 10;
  const x = CLOSE.x + length * scale;
  draw("path", svg, { class: "ruler", d: `M${CLOSE.x} ${y - 4}v8m0-4H${x}m0-4v8` });
  draw("text", svg, { class: "small", x: x + 8, y: y + 5 }, `${length} m`);
}

function makeView(parent, entry, view) {
  const made = { ...view };
  const shape = entry.outline.map((index) => arrays[index]);
  const group = draw("g", parent);
  made.sea = draw("path", group, { class: "sea" });
  made.ship = draw("g", group, { class: "ship" });
  const points = Array.from(shape[0], (y, i) => `${y},${shape[1][i]}`).join(" ");
  draw("polygon", made.ship, { class: "hull", points });
  const top = Math.max(...shape[1]);
  draw("path", made.ship, { class: "centreline", d: `M0 0V${top}` });
  made.path = draw("polyline", made.ship, { class: "m-path", points: pathOfM(entry) });
  made.front = draw("path", group, { class: "sea front" });
  made.surface = draw("path", group, { class: "surface" });
  made.buoyancy = draw("path", group, { class: "buoyancy" });
  made.weight = draw("path", group, { class: "weight" });
  made.bar = draw("path", group, { class: "bar" });
  made.marks = {};
  const marks = { b: "B", virtual: "Gv", z: "Z", g: "G", m: "M" };
  for (const [name, letter] of Object.entries(marks)) {
    const mark = draw("g", group, { class: `mark ${name}` });
    drawMark(mark, name);
    draw("text", mark, {}, letter);
    made.marks[name] = mark;
  }
  return made;
}

// Each point has a shape of its own besides its colour and letter.
function drawMark(mark, name) {
  const shapes = {
    g: ["circle", { r: 8 }],
    virtual: ["circle", { r: 7, class: "hollow" }],
    b: ["rect", { x: -7, y: -7, width: 14, height: 14 }],
    m: ["path", { d: "M0-9L9 0L0 9L-9 0Z" }],
    z: ["path", { d: "M-6-6L6 6M-6 6L6-6" }],
  };
  draw(shapes[name][0], mark, shapes[name][1]);
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
  // Letters keep clear of each other: Z on its own side of G, M above or below it.
  const left = view.centred && moment.gz < 0;
  const apart = moment.virtual[1] > moment.g[1];
  writeBeside(view.marks.g, left ? 12 : -12, apart ? 18 : 6);
  writeBeside(view.marks.virtual, left ? 12 : -12, -4);
  writeBeside(view.marks.z, left ? -12 : 12, 6);
  writeBeside(view.marks.b, 12, 6);
  writeBeside(view.marks.m, 12, view.centred && moment.gm < 0 && moment.m[1] < moment.virtual[1] ? 22 : -6);
}

function writeBeside(mark, x, y) {
  set(mark.lastChild, { x, y, "text-anchor": x < 0 ? "end" : "start" });
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

function arrow(from, to) {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const [x, y] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  const head = [[-10 * x - 5 * y, -10 * y + 5 * x], [-10 * x + 5 * y, -10 * y - 5 * x]];
  const barbs = head.map((barb) => `M${to[0] + barb[0]} ${to[1] + barb[1]}L${to.join(" ")}`);
  return `M${from.join(" ")}L${to.join(" ")}${barbs.join("")}`;
}
