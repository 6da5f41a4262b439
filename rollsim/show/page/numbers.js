// The numbers of the page: reading between points, every moment of a run. Angles are in degrees as in
// the result.

for (const entry of page.cases) {
  for (const run of entry.runs) {
    let last = arrays[run.roll].length - 1;
    while (last >= 0 && Number.isNaN(arrays[run.roll][last])) {
      last -= 1;
    }
    run.last = last; // the last point that she reached, -1 where she never ran
  }
}

// The value of a history at `time`, straight between its points.
function along(name, entry, run, time) {
  const values = arrays[name];
  const point = Math.min(Math.max(time / entry.step, 0), run.last);
  const index = Math.min(Math.floor(point), Math.max(run.last - 1, 0));
  const share = point - index;
  return share === 0 ? values[index] : values[index] + share * (values[index + 1] - values[index]);
}

// The roll at `time`: the cubic through the angles and rates of the points on both sides.
function rollAt(entry, run, time) {
  const roll = arrays[run.roll];
  const rate = arrays[run.rate];
  const point = Math.min(Math.max(time / entry.step, 0), run.last);
  const i = Math.min(Math.floor(point), Math.max(run.last - 1, 0));
  const x = point - i;
  if (x === 0) {
    return roll[i];
  }
  const rise = roll[i + 1] - roll[i];
  const [a, b] = [rate[i] * entry.step - rise, rise - rate[i + 1] * entry.step];
  return roll[i] + x * rise + x * (1 - x) * (a * (1 - x) + b * x);
}

// A curve over the stored heels at one heel; missing outside: nothing is extrapolated.
function onCurve(values, entry, heel) {
  const grid = arrays[entry.heel];
  if (!(heel >= grid[0] - 1e-3 && heel <= grid[grid.length - 1] + 1e-3)) {
    return NaN;
  }
  let [low, high] = [0, grid.length - 1];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (grid[middle] <= heel) {
      low = middle;
    } else {
      high = middle;
    }
  }
  const share = (heel - grid[low]) / (grid[high] - grid[low]);
  return values[low] + share * (values[high] - values[low]);
}

// The righting lever over the stored heels, G where it is at the moment: the curve of the start and
// what it changes by for each metre that G has moved up, by free surfaces too, and to starboard.
function curveNow(entry, moment) {
  const raised = moment.g[1] - arrays[entry.g_z][0];
  const [rise, shift] = [raised + moment.lift, moment.g[0] - arrays[entry.g_y][0]];
  const [gz, perRise, perShift] = [entry.gz, entry.per_rise, entry.per_shift].map((i) => arrays[i]);
  const liquid = liquidNow(entry, moment.time);
  return gz.map((lever, i) => lever + rise * perRise[i] + shift * perShift[i] + liquid(i));
}

// What moving liquid adds to the lever at each stored heel while tanks fill.
function liquidNow(entry, time) {
  if (!entry.filling) {
    return () => 0;
  }
  const { times, curves } = entry.filling;
  const after = times.findIndex((each) => each > time);
  const last = after < 0 ? times.length - 1 : Math.max(after, 1);
  const span = times[last] - times[last - 1];
  const part = span > 0 ? Math.min((time - times[last - 1]) / span, 1) : 1;
  const [low, high] = [arrays[curves[last - 1]], arrays[curves[last]]];
  return (i) => (1 - part) * low[i] + part * high[i];
}

// Where G has been since the start, in ship axes; it stands still where nothing moves it.
function wayOfG(entry, run, time) {
  const [y, z] = [entry.g_y, entry.g_z].map((index) => arrays[index]);
  const last = Math.min(Math.floor(time / entry.step), run.last);
  const way = [];
  for (let i = 0; i <= last; i += 1) {
    if (i === 0 || y[i] !== y[i - 1] || z[i] !== z[i - 1]) {
      way.push([y[i], z[i]]);
    }
  }
  return [...way, [along(entry.g_y, entry, run, time), along(entry.g_z, entry, run, time)]];
}

// All that is drawn of one moment; null where she never ran.
function momentOf(entry, run, time) {
  if (run.last < 0) {
    return null;
  }
  const moment = {
    time: Math.min(time, run.end),
    ended: time >= run.end,
    roll: rollAt(entry, run, time),
    slope: entry.relative ? along(run.slope, entry, run, time) : 0,
    lever: along(run.lever, entry, run, time),
    g: [along(entry.g_y, entry, run, time), along(entry.g_z, entry, run, time)],
    lift: along(entry.lift, entry, run, time),
    draught: entry.draught,
    way: wayOfG(entry, run, time),
  };
  moment.heel = moment.roll - moment.slope;
  moment.gm = along(entry.gm_then, entry, run, time);
  moment.curve = curveNow(entry, moment);
  moment.gz = onCurve(moment.curve, entry, moment.heel);
  const read = (name) => onCurve(arrays[entry[name]], entry, moment.heel);
  moment.rise =
    (entry.draught * Math.cos(moment.heel / RADIAN) - read("level")) /
    Math.cos(moment.slope / RADIAN);
  moment.m = [read("m_y"), read("m_z")];
  moment.b = [read("b_y"), read("b_z")];
  moment.virtual = [moment.g[0], moment.g[1] + entry.free_surface + moment.lift];
  // Z lies from G towards the low side, along the water.
  const [c, s] = [Math.cos(moment.heel / RADIAN), Math.sin(moment.heel / RADIAN)];
  moment.z = [moment.virtual[0] + moment.gz * c, moment.virtual[1] + moment.gz * s];
  return moment;
}

// Heel and its rate at every point that she reached.
function trackOf(entry, run) {
  const [roll, slope, rate] = [run.roll, run.slope, run.heel_rate].map((index) => arrays[index]);
  const heel = (angle, i) => [angle - (entry.relative ? slope[i] : 0), rate[i]];
  return Array.from(roll.slice(0, run.last + 1), heel);
}
