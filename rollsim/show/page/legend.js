// The one legend: shapes, colours and names come with the data, as animation and pictures have them.

const { marks: MARKS, strokes: STROKES } = page.legend;

// The shape of a point; each has one of its own besides its colour and letter.
function drawMark(parent, name) {
  const mark = MARKS[name];
  const open = mark.marker === "x";
  return draw("path", parent, {
    class: "shape",
    d: mark.path,
    fill: open ? "none" : mark.hollow ? "#ffffff" : mark.colour,
    stroke: open || mark.hollow ? mark.colour : "#222222",
    "stroke-width": open || mark.hollow ? 3 : 1,
  });
}

// A line of the legend in its colour, width and dashes; its points are given later.
function drawStroke(parent, name, tag = "path") {
  const { colour, width, dashes } = STROKES[name];
  const thick = 1.4 * width;
  return draw(tag, parent, {
    class: name,
    stroke: colour,
    "stroke-width": thick,
    "stroke-dasharray": dashes.map((dash) => dash * width).join(" ") || "none",
  });
}

function entryOf(list, kind, words, make) {
  const item = document.createElement("li");
  item.className = kind;
  const svg = document.createElementNS(SVG, "svg");
  set(svg, { viewBox: "-12 -10 24 20", class: "key", "aria-hidden": "true" });
  make(svg);
  item.append(svg, words);
  list.append(item);
}

// The entries of what is drawn of a run.
function fillLegend(list, entry, run) {
  const moves = (index) => arrays[index].some((length) => Math.abs(length - arrays[index][0]) > 1e-6);
  const absent = {
    virtual: !(entry.free_surface > 0),
    b: !arrays[entry.b_y].some(Number.isFinite),
    "g-path": !moves(entry.g_y) && !moves(entry.g_z),
    push: !arrays[run.lever].some((lever) => Math.abs(lever) >= 1e-4),
  };
  list.replaceChildren();
  for (const [name, { letter, words }] of Object.entries(MARKS).filter(([each]) => !absent[each])) {
    entryOf(list, "point", `${letter} ${words}`, (svg) => drawMark(svg, name));
  }
  for (const [name, { words }] of Object.entries(STROKES).filter(([each]) => !absent[each])) {
    entryOf(list, "line", words, (svg) => set(drawStroke(svg, name), { d: "M-11 0H11", class: "shape" }));
  }
}
