// Weights hung on board by hand and box tanks: where they are, and the events that they make. What is
// aboard is never changed in place, so that an earlier moment can be gone back to. Tonnes, metres.

const WATER = 1.025; // [t/m³] sea water in the tanks
const PIECE = 10; // [s] of pumping that make one event, whose liquid lies in one layer
const LEAST_RISE = 2e-4; // [m] by which free surfaces must change to make an event
const FULL = 1e-6; // share of a tank's mass within which it is full, or empty
const BOXES = [
  // Name, then port, starboard [beams], bottom, top [draughts].
  ["double bottom port", -0.4, -0.14, 0.02, 0.22],
  ["double bottom centre", -0.14, 0.14, 0.02, 0.22],
  ["double bottom starboard", 0.14, 0.4, 0.02, 0.22],
  ["wing port", -0.47, -0.36, 0.35, 1.1],
  ["wing starboard", 0.36, 0.47, 0.35, 1.1],
  ["deep", -0.2, 0.2, 0.3, 0.85],
];
const LEAST_BREADTH = 0.6; // of what a tank is meant to have, below which it is left out
const TANK_LENGTH = 0.15; // of the ship's

// The boxes of a ship's tanks, drawn in until they lie within her outline; all are empty.
function tanksOf(ship, outline) {
  return BOXES.flatMap(([name, ...box]) => {
    const [port, starboard] = [box[0] * ship.beam_m, box[1] * ship.beam_m];
    const [bottom, top] = [box[2] * ship.draught_m, box[3] * ship.draught_m];
    const tank = fitted({ port, starboard, bottom, top }, outline);
    const breadth = tank.starboard - tank.port;
    if (breadth < LEAST_BREADTH * (starboard - port)) {
      return []; // there is no room for it in this hull
    }
    const length = TANK_LENGTH * ship.length_m;
    const full = WATER * length * breadth * (tank.top - tank.bottom);
    const empty = { mass: 0, divided: 1, fixed: false, levels: [] };
    return [tankOf({ ...tank, ...empty, name, length, density: WATER, full })];
  });
}

// A tank of the data with its valve shut. `length` [m] has its permeability in it; `parts` are its own
// divisions; `levels` times and masses of one that events fill, which the page does not pump.
function tankOf(tank) {
  return { ...tank, parts: tank.divided, valve: 0, rate: 0, piece: null };
}

function fitted(box, outline) {
  let tank = box;
  for (let i = 0; i < 40 && !cornersOf(tank).every((corner) => isInside(corner, outline)); i += 1) {
    const [y, z] = [0.5 * (tank.port + tank.starboard), 0.5 * (tank.bottom + tank.top)];
    const drawn = (edge, middle) => middle + 0.97 * (edge - middle);
    tank = {
      port: drawn(tank.port, 0.97 * y), starboard: drawn(tank.starboard, 0.97 * y),
      bottom: drawn(tank.bottom, z), top: drawn(tank.top, z),
    };
  }
  return tank;
}

const cornersOf = ({ outline, port, starboard, bottom, top }) =>
  outline || [[port, bottom], [starboard, bottom], [starboard, top], [port, top]];

function isInside([y, z], [ys, zs]) {
  let inside = false;
  for (let i = 0, j = ys.length - 1; i < ys.length; j = i, i += 1) {
    const crosses = zs[i] > z !== zs[j] > z;
    inside = crosses && y < ys[i] + ((z - zs[i]) / (zs[j] - zs[i])) * (ys[j] - ys[i]) ? !inside : inside;
  }
  return inside;
}

// Share of a gradual thing that has come at `time` [s].
const cameOf = ({ at, over }, time) => (over > 0 ? Math.min(Math.max((time - at) / over, 0), 1) : 1);

// Mass [t] in a tank at `time` [s].
function massIn(tank, time) {
  if (tank.levels.length) {
    return massOfLevels(tank, time);
  }
  return tank.piece ? tank.mass + tank.piece.mass * cameOf(tank.piece, time) : tank.mass;
}

function massOfLevels({ levels, mass }, time) {
  const after = levels.findIndex(([at]) => at > time);
  const [before, next] = [levels[(after < 0 ? levels.length : after) - 1], levels[after]];
  if (!before || !next) {
    return before ? before[1] : mass;
  }
  return before[1] + ((time - before[0]) / (next[0] - before[0])) * (next[1] - before[1]);
}

const isSlack = (tank, mass) => mass > FULL * tank.full && mass < (1 - FULL) * tank.full;

// Virtual rise of G [m] by the slack tanks of a ship of `displacement` [t]: Σ ρ l b³/12 over it.
function riseBy(tanks, time, displacement) {
  const moments = tanks.filter((tank) => !tank.fixed).map((tank) => {
    const breadth = (tank.starboard - tank.port) / tank.divided;
    const inertia = (tank.divided * tank.length * breadth ** 3) / 12;
    return isSlack(tank, massIn(tank, time)) ? tank.density * inertia : 0;
  });
  return moments.reduce((sum, each) => sum + each, 0) / displacement;
}

// The place [y, z] of a weight at `time` [s], on its way where it is being moved.
function placeOf(weight, time) {
  const came = weight.move ? cameOf(weight.move, time) : 1;
  const from = weight.move ? weight.move.from : weight.place;
  return weight.place.map((to, i) => from[i] + came * (to - from[i]));
}

class Aboard {
  constructor(ship, weights, tanks) {
    [this.ship, this.weights, this.tanks, this.rise] = [ship, weights, tanks, 0];
  }

  get displacement() {
    return this.ship.file.ship.displacement_t * this.ship.physics.timeline.inForce(this.ship.time).mass;
  }

  // The same at rest, for a clock that starts anew: what was under way stays where it is.
  settled(ship) {
    const { time } = this.ship;
    const weights = this.weights.map((each) => ({ ...each, place: placeOf(each, time), move: null }));
    const tanks = this.tanks.map((each) => ({ ...each, mass: massIn(each, time), valve: 0, piece: null }));
    return new Aboard(ship, weights, tanks);
  }

  kept() {
    return { weights: this.weights, tanks: this.tanks, rise: this.rise };
  }

  // A weight comes on board at a place [y, z].
  hang(mass, place) {
    this.ship.act({ kind: "add-weight", mass_t: mass, height_m: place[1], across_m: place[0] });
    this.weights = [...this.weights, { mass, place, move: null }];
    this.ship.remember();
  }

  // The i-th weight goes to another place over so many seconds.
  shift(i, place, over) {
    const weight = this.weights[i];
    const from = placeOf(weight, this.ship.time);
    const [across, up] = [place[0] - from[0], place[1] - from[1]];
    this.stop(weight);
    this.ship.act({ kind: "move-weight", over_s: over, mass_t: weight.mass, across_m: across, up_m: up });
    const event = this.ship.file.events[this.ship.file.events.length - 1];
    const move = { at: this.ship.time, over, from, event };
    this.weights = this.weights.map((each, k) => (k === i ? { ...each, place, move } : each));
    this.ship.remember();
  }

  // The i-th weight leaves the ship, at once or over so many seconds.
  land(i, over) {
    const weight = this.weights[i];
    const [across, height] = placeOf(weight, this.ship.time);
    this.stop(weight);
    const place = { height_m: height, across_m: across };
    this.ship.act({ kind: "remove-weight", over_s: over, mass_t: weight.mass, ...place });
    this.weights = this.weights.filter((_, k) => k !== i);
    this.ship.remember();
  }

  // What of a movement is left does not come about.
  stop({ move }) {
    if (move && this.ship.time < move.at + move.over) {
      this.cut(move.event, cameOf(move, this.ship.time));
    }
  }

  // An event under way ends now: it keeps the share that has come.
  cut(event, share) {
    const { file } = this.ship;
    const scaled = ["mass_t", "across_m", "up_m"].filter((key) => key in event);
    const moved = event.kind === "move-weight" ? scaled.filter((key) => key !== "mass_t") : ["mass_t"];
    const changed = { ...event, over_s: this.ship.time - event.at_s };
    moved.forEach((key) => {
      changed[key] = share * event[key];
    });
    const events = file.events.flatMap((each) => (each === event ? (share > 0 ? [changed] : []) : [each]));
    this.ship.use({ ...file, events });
  }

  // Valve of the i-th tank: 1 fills, −1 empties, 0 shut; `rate` [t/s].
  valve(i, direction, rate) {
    const tank = this.tanks[i];
    let { mass } = tank;
    if (tank.piece) {
      mass = massIn(tank, this.ship.time);
      if (this.ship.time < tank.piece.at + tank.piece.over) {
        this.cut(tank.piece.event, cameOf(tank.piece, this.ship.time));
      }
    }
    this.put(i, { mass, valve: direction, rate, piece: null });
    this.ship.remember();
  }

  divide(i, divisions) {
    this.put(i, { divided: divisions });
    this.raise();
    this.ship.remember();
  }

  put(i, values) {
    this.tanks = this.tanks.map((tank, k) => (k === i ? { ...tank, ...values } : tank));
  }

  // Go on pumping: where a piece has come about and the valve is open, the next one begins.
  tend() {
    const { time } = this.ship;
    this.tanks.forEach((tank, i) => {
      const done = !tank.piece || time >= tank.piece.at + tank.piece.over - SAME_TIME;
      if (done && tank.piece) {
        this.put(i, { mass: tank.mass + tank.piece.mass, piece: null });
      }
      if (done && tank.valve) {
        this.pump(i);
      }
    });
    this.raise();
  }

  pump(i) {
    const tank = this.tanks[i];
    const left = tank.valve > 0 ? tank.full - tank.mass : tank.mass;
    if (left <= FULL * tank.full) {
      this.put(i, { valve: 0 });
      return;
    }
    const amount = Math.min(left, tank.rate * PIECE);
    const over = amount / tank.rate;
    const middle = tank.mass + 0.5 * tank.valve * amount;
    const place = {
      height_m: tank.bottom + (middle / tank.full) * (tank.top - tank.bottom),
      across_m: 0.5 * (tank.port + tank.starboard),
    };
    const kind = tank.valve > 0 ? "add-weight" : "remove-weight";
    const event = { kind, at_s: this.ship.time, over_s: over, mass_t: amount, ...place };
    this.ship.use({ ...this.ship.file, events: [...this.ship.file.events, event] });
    this.put(i, { piece: { at: this.ship.time, over, mass: tank.valve * amount, event } });
  }

  // The free surfaces of the tanks as they are now, on top of those that are not the tanks'.
  raise() {
    const { ship } = this;
    // A tank that is being filled from empty is slack from its first moment on.
    const tanks = this.tanks.map((tank) =>
      tank.piece && !isSlack(tank, massIn(tank, ship.time))
        ? { ...tank, mass: massIn(tank, ship.time) + 0.5 * tank.piece.mass, piece: null }
        : tank,
    );
    const rise = riseBy(tanks, ship.time, this.displacement);
    if (Math.abs(rise - this.rise) > LEAST_RISE || (rise === 0 && this.rise !== 0)) {
      const others = ship.physics.timeline.inForce(ship.time).freeSurface - this.rise;
      this.rise = rise;
      ship.setKey("ship.gravity.free_surface_m", Math.max(others + rise, 0));
    }
  }
}
