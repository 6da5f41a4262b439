// The ships of the page: which are shown, the clock, and what is drawn after an action.

const hullsMade = new Map();
const stormsMade = new Map();

// A hull of the data with its curve, made once.
function hullOf(index) {
  if (!hullsMade.has(index)) {
    const { curve, ...rest } = page.hulls[index];
    hullsMade.set(index, { ...rest, index, levers: new Levers(curve) });
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

function shipOf(entry) {
  const ship = new LiveShip(entry.file, hullOf(entry.hulls[0]), stormOf(entry.storm));
  ship.entry = entry;
  return ship;
}

const ships = [shipOf(page.cases[0])];

function remarks() {
  return [`What was done to ${ships[0].entry.ship} in the live model.`, ...page.caution.match(/.{1,96}(\s|$)/g)];
}

let playing = false;

function play(on) {
  playing = on;
}

function afterwards(act) {
  act();
}
