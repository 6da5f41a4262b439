// The ships of the page: which are shown, the clock that drives them, and what is drawn when.

const SPEEDS = [0.25, 0.5, 1, 2, 4];
const LONGEST_FRAME = 0.1; // [s] of the wall that one frame makes up for

const hullsMade = new Map();
const stormsMade = new Map();
const ships = [];
const stages = [];
const clock = { playing: false, speed: 1, last: 0, wanted: false, watch: null, again: null };

// A hull of the data with its curve, made once.
function hullOf(index) {
  if (!hullsMade.has(index)) {
    const { curve, form, waves, filling, ...rest } = page.hulls[index];
    const levers = new Levers(curve);
    const made = { levers, form: form ? new Levers(form) : levers };
    made.waves = waves && new WaveLevers(waves);
    made.filling = filling && new Filling(filling);
    hullsMade.set(index, { ...rest, ...made, index });
  }
  return hullsMade.get(index);
}

// The channels of a storm, made once.
function stormOf(channels) {
  const { step, spare } = page.sampling;
  const made = Object.entries(channels).map(([name, blob]) => {
    if (!stormsMade.has(blob)) {
      stormsMade.set(blob, new Channel(arrays[blob], step, spare));
    }
    return [name, stormsMade.get(blob)];
  });
  return Object.fromEntries(made);
}

// The ship of a case, in one of its hulls, as its file has her.
function shipOf(entry, hull = 0) {
  const made = hullOf(entry.hulls[hull]);
  const file = { ...entry.file, ship: { ...entry.file.ship, levers: made.table } };
  const tanks = hull === 0 && entry.tanks.length ? entry.tanks.map(tankOf) : tanksOf(file.ship, made.outline);
  const ship = new LiveShip(file, made, stormOf(entry.storm), tanks);
  ship.entry = entry;
  return ship;
}

// Show these ships, from their starts; all actions are theirs together.
function show(made) {
  ships.splice(0, ships.length, ...made);
  element("stages").replaceChildren();
  stages.splice(0, stages.length, ...ships.map((ship, i) => new Stage(element("stages"), ship, i)));
  stages.forEach((stage) => stage.build());
  curves.build(ships[0]);
  fillControls();
  play(false);
  refresh();
}

// Draw everything anew at the size that it has.
function rebuild() {
  stages.forEach((stage) => stage.build());
  curves.build(ships[0]);
  refresh();
}

// Draw what has changed, with the next frame.
function refresh() {
  if (!clock.wanted) {
    clock.wanted = true;
    requestAnimationFrame(frame);
  }
}

function play(on) {
  clock.playing = on && !ships[0].held;
  clock.last = 0;
  say("play", clock.playing ? "Pause" : "Go on");
  refresh();
}

function frame(now) {
  clock.wanted = false;
  if (clock.playing) {
    const passed = clock.last ? Math.min((now - clock.last) / 1000, LONGEST_FRAME) : 0;
    clock.last = now;
    if (clock.again) {
      againAt(clock.again.time + passed * clock.speed);
    } else {
      ships.forEach((ship) => ship.advance(passed * clock.speed));
    }
    if (!clock.again && ships.every((ship) => ship.record.outcome === 3)) {
      play(false);
    }
  }
  update();
  if (clock.playing) {
    refresh();
  }
}

function update() {
  for (const stage of stages) {
    if (stage.hull !== stage.ship.hull) {
      stage.build();
    }
    stage.move();
  }
  curves.move();
  updateWords();
  updateControls();
  lookAtStep();
}

// One action on every ship.
function all(act) {
  ships.forEach(act);
  refresh();
}

// Values by their names in the contract; G of a ship beside moves by as much as that of the first.
function setAll(values) {
  const from = ships[0].moment().now.set.kg;
  all((ship, i) => {
    const kg = ship.moment().now.set.kg + values.kg_m - from;
    ship.set(i > 0 && "kg_m" in values ? { ...values, kg_m: kg } : values);
  });
}

function release(start) {
  ships.forEach((ship) => ship.release(start));
  note("let go");
  play(true);
}

function remarks() {
  const lines = page.caution.match(/.{1,96}(?:\s|$)/g).map((line) => line.trim());
  return [`What was done to ${ships[0].entry.ship} in the live model.`, ...lines];
}
