// The righting lever with a moving point, the history, and the phase portrait.

const LIMIT_WORDS = {
  roll_limit: "roll limit",
  flooding_limit: "flooding",
  capsize_limit: "capsize",
};

function sameFamily(one, other) {
  return one.study === other.study && one.family === other.family;
}

const reaches = new Map();

// The greatest sizes over all cases of a family, so that the axes stay as the slider moves.
function reachOf(entry) {
  const name = `${entry.study} ${entry.family}`;
  if (!reaches.has(name)) {
    reaches.set(name, measured(page.cases.filter((other) => sameFamily(other, entry))));
  }
  return reaches.get(name);
}

function measured(family) {
  const reach = { roll: 1, heel: 1, rate: 0.5, levers: [-0.01, 0.01] };
  for (const entry of family) {
    for (const run of entry.runs) {
      for (const roll of arrays[run.roll].filter(Number.isFinite)) {
        reach.roll = Math.max(reach.roll, Math.abs(roll));
      }
      for (const [heel, rate] of trackOf(entry, run)) {
        reach.heel = Math.max(reach.heel, Math.abs(heel));
        reach.rate = Math.max(reach.rate, Math.abs(rate));
      }
    }
  }
  reach.curve = reachOfCurve(family, reach.heel);
  for (const entry of family) {
    const heel = arrays[entry.heel];
    for (const name of ["gz", "steady"]) {
      const seen = arrays[entry[name]].filter((_, i) => Math.abs(heel[i]) <= reach.curve);
      const known = seen.filter(Number.isFinite);
      reach.levers = [Math.min(reach.levers[0], ...known), Math.max(reach.levers[1], ...known)];
    }
  }
  const limits = family.flatMap((entry) => Object.values(entry.limits));
  reach.roll = 1.1 * Math.max(reach.roll, ...limits.filter((limit) => limit < 2 * reach.roll));
  return reach;
}

// Heel to show of the curve: a little past vanishing, or twice what the runs reach, if less.
function reachOfCurve(family, heel) {
  const known = Math.max(...family.flatMap((entry) => Array.from(arrays[entry.heel], Math.abs)));
  const vanishing = Math.max(0, ...family.flatMap((entry) => entry.vanishing.map(Math.abs)));
  const most = vanishing ? Math.min(known, vanishing + 12) : known;
  return Math.min(known, Math.max(30, heel, Math.min(most, 2 * heel)));
}

function pairsOf(entry, name) {
  return Array.from(arrays[entry.heel], (heel, i) => [heel, arrays[entry[name]][i]]);
}

function makeCurve(svg, entry, reach) {
  const spare = 0.12 * (reach.levers[1] - reach.levers[0]);
  const y = [reach.levers[0] - spare, reach.levers[1] + spare];
  const chart = makeChart(svg, [-reach.curve, reach.curve], y, {
    y: "righting lever GZ [m]",
    x: `${entry.relative ? "heel to the water" : "heel"}, + to starboard [°]`,
    key: keyOfCurve(entry),
  });
  for (const other of otherCurves(entry)) {
    line(chart, pairsOf(other, "gz"), "other");
  }
  if (hasWind(entry)) {
    line(chart, pairsOf(entry, "steady"), "steady");
  }
  line(chart, pairsOf(entry, "gz"), "moved-from");
  chart.now = line(chart, pairsOf(entry, "gz"), "curve");
  chart.stem = drawStroke(chart.inside, "bar");
  chart.heeling = draw("rect", chart.inside, { class: "lever-now", width: 10, height: 10 });
  chart.point = draw("circle", chart.inside, { class: "point", r: 7 });
  return chart;
}

const hasWind = (entry) => arrays[entry.steady].some((lever) => Math.abs(lever) > 0);
const hasWaves = (run) => arrays[run.slope].some((slope) => Math.abs(slope) > 0);

const otherCurves = (entry) =>
  page.cases.filter((other) => sameFamily(other, entry) && other.gz !== entry.gz);

function keyOfCurve(entry) {
  const moves = (name) => arrays[entry[name]].some((length) => Math.abs(length - arrays[entry[name]][0]) > 1e-6);
  return [
    hasWind(entry) ? "dotted: heeling lever at the start" : "",
    moves("g_y") || moves("g_z") ? "dashed: GZ at the start" : "",
    otherCurves(entry).length ? "thin: other cases" : "",
  ].filter((text) => text).join("; ");
}

function moveCurve(chart, entry, moment) {
  const heels = arrays[entry.heel];
  const seen = Array.from(moment.curve, (gz, i) => [heels[i], gz]).filter(([, gz]) => Number.isFinite(gz));
  const text = seen.map(([heel, gz]) => `${chart.x(heel).toFixed(1)},${chart.y(gz).toFixed(1)}`);
  set(chart.now, { points: text.join(" ") });
  const known = Number.isFinite(moment.gz);
  const [x, y] = known ? [chart.x(moment.heel), chart.y(moment.gz)] : [-99, -99];
  set(chart.point, { cx: x, cy: y });
  set(chart.stem, { d: known ? `M${x} ${chart.y(0)}V${y}` : "" });
  const heeled = Math.abs(moment.lever) > 1e-9;
  set(chart.heeling, { x: heeled ? x - 5 : -99, y: chart.y(moment.lever) - 5 });
}

// The part of a long run that the history shows at `time`.
function windowOf(entry, span, time) {
  if (!span || span >= entry.duration) {
    return [0, Math.max(entry.duration, 1e-3)];
  }
  const page_ = Math.floor(Math.min(time, entry.duration - 1e-9) / span);
  return [page_ * span, (page_ + 1) * span];
}

function makeHistory(svg, entry, run, reach, span) {
  const chart = makeChart(svg, span, [-reach.roll, reach.roll], {
    y: "roll, + starboard [°]",
    x: "time [s]",
    key: legendOf(entry, run, reach),
  });
  for (const [name, limit] of Object.entries(entry.limits)) {
    for (const angle of [-limit, limit]) {
      line(chart, span.map((time) => [time, angle]), name);
    }
  }
  chart.whole = draw("g", chart.inside);
  const clip = draw("clipPath", draw("defs", svg), { id: "played" });
  chart.played = draw("rect", clip, { x: 0, y: 0, width: 0, height: chart.foot });
  const strong = draw("g", chart.inside, { "clip-path": "url(#played)" });
  for (const [group, name, style] of [
    [chart.whole, "slope", "slope ahead"],
    [chart.whole, "roll", "ahead"],
    [strong, "slope", "slope"],
    [strong, "roll", "roll"],
  ]) {
    if (name === "roll" || hasWaves(run)) {
      line({ ...chart, inside: group }, pointsIn(entry, run, name, span), style);
    }
  }
  if (run.capsized) {
    const [x, y] = [chart.x(run.end), chart.y(arrays[run.roll][run.last])];
    draw("path", chart.whole, { class: "end", d: `M${x - 7} ${y - 7}l14 14m0-14l-14 14` });
  }
  chart.cursor = draw("path", chart.inside, { class: "cursor" });
  chart.point = draw("circle", chart.inside, { class: "point", r: 6 });
  return chart;
}

function pointsIn(entry, run, name, [from, to]) {
  const pairs = Array.from(arrays[run[name]], (value, i) => [i * entry.step, value]);
  return pairs.filter(([time]) => time >= from - entry.step && time <= to + entry.step);
}

function legendOf(entry, run, reach) {
  const seen = Object.entries(entry.limits).filter(([, limit]) => limit <= reach.roll);
  const words = seen.map(([name, limit]) => `${LIMIT_WORDS[name]} ±${Number(limit.toPrecision(4))}°`);
  return [...(hasWaves(run) ? ["dashed: wave slope"] : []), ...words].join(", ");
}

function moveHistory(chart, moment) {
  const x = chart.x(moment.time);
  set(chart.played, { width: Math.max(x, 0) });
  set(chart.cursor, { d: `M${x} ${EDGE.top}V${chart.foot}` });
  set(chart.point, { cx: x, cy: chart.y(moment.roll) });
}

function makePhase(svg, entry, run, reach, span) {
  const [x, y] = [1.1 * reach.heel, 1.15 * reach.rate];
  const toWater = entry.relative && hasWaves(run);
  const [heel, rate] = entry.escape.map((index) => arrays[index]);
  const seen = heel && heel.some((angle, i) => Math.abs(angle) < x && Math.abs(rate[i]) < y);
  const chart = makeChart(svg, [-x, x], [-y, y], {
    y: toWater ? "rate to the water [°/s]" : "roll rate [°/s]",
    x: `${toWater ? "heel to the water" : "roll"}, + to starboard [°]`,
    key: seen ? "dashed: escape line" : "",
  });
  const track = trackOf(entry, run);
  chart.track = track;
  if (seen) {
    line(chart, Array.from(heel, (angle, i) => [angle, rate[i]]), "escape");
    line(chart, Array.from(heel, (angle, i) => [angle, -rate[i]]), "escape");
  }
  chart.whole = draw("g", chart.inside);
  const [from, to] = span.map((time) => time / entry.step);
  const part = track.filter((_, i) => i >= from && i <= to);
  line({ ...chart, inside: chart.whole }, part, "ahead");
  chart.trail = draw("polyline", chart.inside, { class: "roll" });
  chart.point = draw("circle", chart.inside, { class: "point", r: 6 });
  return chart;
}

const TRAIL_SECONDS = 40;

function movePhase(chart, entry, moment) {
  const point = Math.min(moment.time / entry.step, chart.track.length - 1);
  const last = Math.floor(point);
  const first = Math.max(0, Math.floor(last - TRAIL_SECONDS / entry.step));
  const next = chart.track[Math.min(last + 1, chart.track.length - 1)];
  const mix = (i) => chart.track[last][i] + (point - last) * (next[i] - chart.track[last][i]);
  const here = [moment.heel, mix(1)];
  const points = [...chart.track.slice(first, last + 1), here];
  const text = points.map(([a, b]) => `${chart.x(a).toFixed(1)},${chart.y(b).toFixed(1)}`);
  set(chart.trail, { points: text.join(" ") });
  set(chart.point, { cx: chart.x(here[0]), cy: chart.y(here[1]) });
}
