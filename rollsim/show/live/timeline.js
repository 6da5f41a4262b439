// What changes in time besides the storm: events as the file has them, and what is in force.

const SAME_TIME = 1e-9; // times nearer than this [s] are one
const SETTINGS = {
  "ship.gravity.kg_m": "kg",
  "ship.gravity.off_centre_m": "offCentre",
  "ship.gravity.free_surface_m": "freeSurface",
  "wind.speed_mps": "wind",
  "sea.height_m": "waves",
};

const overOf = (event) => event.over_s ?? 0;
const begins = (time, event) => event.at_s <= time + SAME_TIME;

// How much of an event has come at `time` [s]; a sudden one counts from where the step began.
function shareOf(event, time, from) {
  const over = overOf(event);
  if (over === 0) {
    return from >= event.at_s - SAME_TIME ? 1 : 0;
  }
  return Math.min(Math.max((time - event.at_s) / over, 0), 1);
}

// A weight or a lever as shares of the displacement at t = 0 and their moments [m].
function changeOf(event, displacement) {
  if (event.kind === "heeling-lever") {
    return { event, mass: 0, height: 0, across: 0, lever: event.lever_m };
  }
  const share = event.mass_t / displacement;
  const across = event.across_m ?? 0;
  if (event.kind === "move-weight") {
    return { event, mass: 0, height: share * (event.up_m ?? 0), across: share * across, lever: 0 };
  }
  const mass = event.kind === "remove-weight" ? -share : share;
  return { event, mass, height: mass * event.height_m, across: mass * across, lever: 0 };
}

class Timeline {
  constructor(file) {
    const { gravity, displacement_t: displacement } = file.ship;
    const changes = file.events.filter((event) => event.kind !== "change");
    this.base = {
      kg: gravity.kg_m,
      offCentre: gravity.off_centre_m ?? 0,
      freeSurface: gravity.free_surface_m ?? 0,
      wind: file.wind ? file.wind.speed_mps : 0,
      waves: 1,
    };
    this.changes = changes.map((event) => changeOf(event, displacement));
    this.settings = file.events
      .filter((event) => event.kind === "change")
      .map((event) => ({
        event,
        what: SETTINGS[event.key],
        to: event.key === "sea.height_m" ? event.to / file.sea.height_m : event.to,
      }))
      .sort((one, other) => one.event.at_s - other.event.at_s);
    this.gusts = (file.wind && file.wind.gust) || [];
    this.corners = this.cornersOf(file);
  }

  cornersOf(file) {
    const spans = file.events.flatMap((event) => [event.at_s, event.at_s + overOf(event)]);
    const gusts = this.gusts.flatMap(({ at_s: at, rise_s: rise, hold_s: hold }) => [
      at, at + rise, at + rise + hold, at + 2 * rise + hold,
    ]);
    const all = [...spans, ...gusts, file.run.settle_s ?? 0, file.sea.ramp_s ?? 0];
    return [...new Set(all)].sort((a, b) => a - b);
  }

  // The first corner after `time` [s]: a step may end there but never go over it.
  nextCorner(time) {
    return this.corners.find((corner) => corner > time + SAME_TIME) ?? Infinity;
  }

  // Mass over that at t = 0, G [m], lever [m], mean wind and wind with gusts [m/s], the factor on
  // the waves and its rate [1/s].
  inForce(time, from = time) {
    const now = { ...this.base, growth: 0 };
    for (const { event, what, to } of this.settings) {
      const share = shareOf(event, time, from);
      if (what === "waves" && share < 1 && from >= event.at_s - SAME_TIME) {
        now.growth = (to - now.waves) / overOf(event);
      }
      now[what] += share * (to - now[what]);
    }
    let [mass, height, across, lever] = [1, now.kg, now.offCentre, 0];
    for (const change of this.changes) {
      const share = shareOf(change.event, time, from);
      mass += share * change.mass;
      height += share * change.height;
      across += share * change.across;
      lever += share * change.lever;
    }
    let gusty = now.wind;
    for (const gust of this.gusts) {
      gusty *= gustFactor(gust, time, from);
    }
    const { freeSurface, waves, growth, wind } = now;
    return {
      mass, kg: height / mass, offCentre: across / mass, lever, freeSurface, waves, growth, wind, gusty,
      set: now,
    };
  }
}
