// Drawing with SVG: elements, arrows, labels that keep clear of each other, the shapes of the one
// legend, which come with the data as animation and pictures have them.

const SVG = "http://www.w3.org/2000/svg";
const { marks: MARKS, strokes: STROKES } = page.legend;

function draw(tag, parent, attributes = {}, text = "") {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) {
    element.setAttribute(name, value);
  }
  element.textContent = text;
  parent.append(element);
  return element;
}

// What stays as it is costs no layout.
function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (element.getAttribute(name) !== String(value)) {
      element.setAttribute(name, value);
    }
  }
}

function visible(element, shown) {
  set(element, { visibility: shown ? "inherit" : "hidden" });
}

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

// Levels at least `gap` apart in the given order, as near to the wanted ones as may be.
function spread(wanted, gap) {
  const blocks = [];
  wanted.forEach((level, i) => {
    blocks.push({ sum: level - i * gap, count: 1 });
    const mean = (block) => block.sum / block.count;
    while (blocks.length > 1 && mean(blocks[blocks.length - 2]) > mean(blocks[blocks.length - 1])) {
      const last = blocks.pop();
      blocks[blocks.length - 1].sum += last.sum;
      blocks[blocks.length - 1].count += last.count;
    }
  });
  const means = blocks.flatMap(({ sum, count }) => Array(count).fill(sum / count));
  return means.map((mean, i) => mean + i * gap);
}

function arrow(from, to) {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const [x, y] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  const head = [[-10 * x - 5 * y, -10 * y + 5 * x], [-10 * x + 5 * y, -10 * y - 5 * x]];
  const barbs = head.map((barb) => `M${to[0] + barb[0]} ${to[1] + barb[1]}L${to.join(" ")}`);
  return `M${from.join(" ")}L${to.join(" ")}${barbs.join("")}`;
}
