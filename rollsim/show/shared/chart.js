// An empty chart with its axes, and lines in it.

const NARROW = { left: 58, right: 12, top: 26, bottom: 38 };
const EDGE = { ...NARROW };
const LEAST = { width: 320, height: 130 };

function ticks([low, high], most) {
  const rough = (high - low) / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * [1, 2, 5, 10].find((factor) => factor * power >= rough);
  const marks = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i += 1) {
    marks.push([i * step, Number((i * step).toPrecision(6)).toString().replace("-", "−")]);
  }
  return marks;
}

// An empty chart with its axes; x and y turn values into places.
function makeChart(svg, x, y, words) {
  svg.replaceChildren();
  // Drawn at the size that it has, so that the type keeps its own.
  const [wide, high] = [Math.max(svg.clientWidth, LEAST.width), Math.max(svg.clientHeight, LEAST.height)];
  set(svg, { viewBox: `0 0 ${wide} ${high}` });
  const width = wide - EDGE.left - EDGE.right;
  const height = high - EDGE.top - EDGE.bottom;
  const chart = {
    x: (value) => EDGE.left + ((value - x[0]) / (x[1] - x[0])) * width,
    y: (value) => EDGE.top + ((y[1] - value) / (y[1] - y[0])) * height,
    foot: EDGE.top + height,
  };
  const frame = { x: EDGE.left, y: EDGE.top, width, height };
  draw("rect", svg, { ...frame, class: "paper" });
  for (const [value, text] of ticks(x, presents() ? 6 : 8)) {
    draw("path", svg, { class: value ? "grid" : "zero", d: `M${chart.x(value)} ${EDGE.top}v${height}` });
    const label = { x: chart.x(value), y: EDGE.top + height + 0.42 * EDGE.bottom, "text-anchor": "middle" };
    draw("text", svg, { class: "small", ...label }, text);
  }
  for (const [value, text] of ticks(y, presents() ? 3 : 5)) {
    draw("path", svg, { class: value ? "grid" : "zero", d: `M${EDGE.left} ${chart.y(value)}h${width}` });
    const label = { x: EDGE.left - 6, y: chart.y(value) + 5, "text-anchor": "end" };
    draw("text", svg, { class: "small", ...label }, text);
  }
  const heading = draw("text", svg, { class: "heading", x: 4, y: 0.65 * EDGE.top }, words.y);
  const right = { x: wide - EDGE.right, "text-anchor": "end" };
  const under = draw("text", svg, { class: "small", ...right, y: high - 6 }, words.x);
  const key = draw("text", svg, { class: "small legend", ...right, y: 0.65 * EDGE.top }, words.key);
  if (heading.getComputedTextLength() + key.getComputedTextLength() > wide - 40) {
    set(key, { x: 4, y: high - 6, "text-anchor": "start" });
    visible(key, key.getComputedTextLength() + under.getComputedTextLength() < wide - 40);
  }
  const name = `clip-${svg.id}`;
  const clip = draw("clipPath", draw("defs", svg), { id: name });
  draw("rect", clip, frame);
  chart.inside = draw("g", svg, { "clip-path": `url(#${name})` });
  chart.svg = svg;
  return chart;
}

function line(chart, pairs, style) {
  const points = pairs.filter(([a, b]) => Number.isFinite(a) && Number.isFinite(b));
  const text = points.map(([a, b]) => `${chart.x(a).toFixed(1)},${chart.y(b).toFixed(1)}`);
  return draw("polyline", chart.inside, { class: style, points: text.join(" ") });
}
