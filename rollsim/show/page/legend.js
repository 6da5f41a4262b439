// The one legend: shapes, colours and names come with the data, as animation and pictures have them.

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
