// Files: what was done to a ship as a new base, and as a scenario that the program repeats.

const PLAIN = ["kn", "gz", "wall-sided", "polynomial"]; // levers that displacement_t does not choose
// What cannot be set is refused before anything is.
function checkBounds(values, sea) {
  for (const [name, value] of Object.entries(values)) {
    const bounds = BOUNDS[name];
    if (!bounds || !(value >= bounds[0] && value <= bounds[1]) || typeof value !== "number") {
      const allowed = bounds ? `a number from ${bounds.join(" to ")}` : Object.keys(BOUNDS).join(", ");
      throw new Error(`set: ${name} = ${value}: allowed is ${allowed}`);
    }
    if (name === "wave_height_m" && sea.kind === "irregular") {
      throw new Error("set: wave_height_m: the height of a regular sea alone may change");
    }
  }
}

// She can be let go anywhere short of the capsize angle [degree].
function checkStart({ roll_deg: roll, roll_rate_deg_per_s: rate }, capsize) {
  if (!(Math.abs(roll) < capsize) || !(Math.abs(rate) < 360)) {
    const allowed = `less than ${capsize.toFixed(1)}° and less than 360°/s`;
    throw new Error(`release: roll ${roll}°, rate ${rate}°/s: allowed is ${allowed}`);
  }
}

// A file with another value at a dotted key.
function withValue(file, key, value) {
  const [first, ...rest] = key.split(".");
  return { ...file, [first]: rest.length ? withValue(file[first] || {}, rest.join("."), value) : value };
}

// A sea with waves of a height [m] and period [s]; a calm where the height is 0.
function seaOf(sea, height, period) {
  const { height_m: _, period_s: __, phase_deg: phase = 0, ...rest } = sea;
  if (!(height > 0)) {
    return { ...rest, kind: "calm" };
  }
  return { ...rest, kind: "regular", height_m: height, period_s: period, phase_deg: phase };
}

// The file whose start is this moment: values in force, events and gusts that have not begun.
function folded(ship) {
  const { file, time, hull } = ship;
  const now = ship.physics.timeline.inForce(time);
  // Tanks with moving liquid stay as they are; whatever else has not begun still comes.
  const stays = (event) => hull.filling && ship.entry.file.events.includes(event);
  const later = file.events.filter((event) => !begins(time, event) && !stays(event));
  const events = [...eventsOfNow(file, now), ...later];
  const made = {
    ...file,
    events,
    ship: {
      ...file.ship,
      displacement_t: file.ship.displacement_t * (PLAIN.includes(hull.table.kind) ? now.mass : 1),
      gravity: { kg_m: now.kg, off_centre_m: now.offCentre, free_surface_m: now.freeSurface },
    },
    sea: seaAtRelease(ship, now),
  };
  if (hull.filling) {
    made.filled = ship.physics.inForce(time).filled;
  }
  if (file.wind) {
    // The gusts of the scenario are weather: they come again with the clock.
    const gust = (file.wind.gust || []).filter((each) => time === 0 || !each.by_hand);
    made.wind = { ...file.wind, speed_mps: now.wind, gust };
  }
  return made;
}

// What cannot stand in the base: a heeling lever, and a weight where the displacement is the curve's.
function eventsOfNow(file, now) {
  const events = [];
  if (now.lever !== 0) {
    events.push({ kind: "heeling-lever", at_s: 0, lever_m: now.lever });
  }
  const mass = (now.mass - 1) * file.ship.displacement_t;
  if (!PLAIN.includes(file.ship.levers.kind) && Math.abs(mass) > 1e-9) {
    const kind = mass > 0 ? "add-weight" : "remove-weight";
    const place = { height_m: now.kg, across_m: now.offCentre };
    events.push({ kind, at_s: 0, mass_t: Math.abs(mass), ...place });
  }
  return events;
}

// The sea from now on: the height that it has or is on its way to, the period that was set.
function seaAtRelease(ship, now) {
  const { sea, events } = ship.file;
  if (sea.kind !== "regular") {
    return sea;
  }
  const set = events.filter((event) => event.key === "sea.height_m" && begins(ship.time, event)).pop();
  const height = set ? set.to : sea.height_m * now.waves;
  return seaOf(sea, height > LEAST_WAVE ? height : 0, ship.nextPeriod ?? sea.period_s);
}

// The scenario of what was done: with samples of a storm the run must keep its length, for the storm's
// sake; else it ends just after what was seen.
function scenarioOf(ship, remarks = []) {
  const { file, time, hull, storm } = ship;
  const recorded = Object.keys(storm).length > 0;
  const { run } = file;
  const seen = (Math.floor(time / run.output_step_s) + 1) * run.output_step_s;
  const duration = recorded || time === 0 ? run.duration_s : Math.max(seen, run.settle_s);
  const gust = file.wind && (file.wind.gust || []).map(({ by_hand: _, ...each }) => each);
  return toToml(
    {
      ...file,
      ...ownTables(ship),
      filled: undefined,
      ...(file.wind ? { wind: { ...file.wind, gust: gust.length ? gust : undefined } } : {}),
      run: { ...run, duration_s: duration },
    },
    remarks,
  );
}

// [ship] and the events. While tanks with moving liquid fill, they are those of her papers, with what
// was done besides; once she was let go, the liquid where it is stands in a table of KN.
function ownTables({ file, hull, entry, physics }) {
  const { filling } = hull;
  if (filling && file.filled === undefined) {
    const { inertia, damping } = file.ship;
    const done = file.events.filter((event) => !entry.file.events.includes(event));
    return { ship: { ...entry.papers.ship, inertia, damping }, events: [...entry.papers.events, ...done] };
  }
  const table = filling ? tableOfLiquid(physics, file.filled) : hull.table;
  return { ship: { ...file.ship, levers: table }, events: file.events };
}

// KN with the liquid at a coordinate of its filling: every degree, closer near upright.
function tableOfLiquid({ levers, hull }, filled) {
  const { heel_min: low, heel_max: high } = levers;
  const every = (step, reach) => Array.from({ length: 2 * Math.floor(reach / step) + 1 }, (_, i) =>
    Number(((i - Math.floor(reach / step)) * step).toFixed(6)));
  const fine = [...every(1, 180), ...every(0.25, 20), ...every(0.05, 4), low * RADIAN, high * RADIAN];
  const inside = fine.filter((heel) => heel >= low * RADIAN && heel <= high * RADIAN);
  const heels = [...new Set(inside)].sort((a, b) => a - b);
  const kn = (heel) => {
    const phi = levers.inside(heel / RADIAN);
    return levers.kn(phi) + hull.filling.between(VALUE, phi, filled);
  };
  return {
    kind: "kn",
    heel_deg: heels,
    kn_m: heels.map((heel) => (heel === 0 ? 0 : kn(heel))),
    km_m: levers.slope(0) + hull.filling.between(SLOPE, 0, filled),
    kb_m: hull.kb ?? undefined,
  };
}
