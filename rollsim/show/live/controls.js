// The controls of the dock: their choices, what they do, and what they show.

const TABS = [
  ["g", "G"], ["hand", "Push"], ["weights", "Weights"], ["tanks", "Tanks"], ["wind", "Wind"], ["sea", "Waves"],
  ["ship", "Ship"], ["lesson", "Exercise"],
];
const LOCKS = [["g", "g"], ["hand", "hand"], ["tanks", "tanks"], ["wind", "wind"], ["sea", "waves"]]; // panels
const PLACES = { high: 1.5, deck: 1.02, low: 0.15 }; // heights of weights over the depth
const SIDES = { port: -0.85, centre: 0, starboard: 0.85 }; // over half the beam
const SHARES = [0.001, 0.0025, 0.005, 0.01, 0.02]; // masses of weights over the displacement
const RATES = [5, 20, 60, 240]; // [t/min] of a pump
const SHIFT_OVER = 10; // [s] that a weight is under way
const LAND_OVER = 20;
const SLIDE_OVER = 2;
const GUST = { factor: 1.4, rise: 2, hold: 20 };
const TURN_OVER = 8; // [s] in which a turn comes about
const TURN_LEVER = 0.06; // heeling lever [m] of a turn
const GM_STEPS = { "gm-plus": 0.03, "gm-minus": -0.007 }; // of the beam

const on = (name, kind, act) => element(name).addEventListener(kind, act);

function showTab(name) {
  for (const [each] of TABS) {
    element(`panel-${each}`).hidden = each !== name;
    const tab = element(`tab-${each}`);
    tab.setAttribute("aria-selected", each === name);
    tab.tabIndex = each === name ? 0 : -1;
  }
}

function makeTabs() {
  for (const [name, words] of TABS) {
    const tab = document.createElement("button");
    Object.assign(tab, { type: "button", id: `tab-${name}`, textContent: words });
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", `panel-${name}`);
    tab.addEventListener("click", () => showTab(name));
    tab.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (step) {
        const names = TABS.map(([each]) => each);
        const next = names[(names.indexOf(name) + step + names.length) % names.length];
        showTab(next);
        element(`tab-${next}`).focus();
        event.stopPropagation();
      }
    });
    element("tabs").append(tab);
  }
  showTab("g");
}

// The choices that depend on the ship.
function fillControls() {
  const [ship] = ships;
  const { ship: table, sea, wind } = ship.file;
  const { hulls } = ship.entry;
  refill("hull", hulls.map((index, i) => [i, hullOf(index).words]), hulls.indexOf(ship.hull.index));
  const tonnes = SHARES.map((share) => Number((share * table.displacement_t).toPrecision(1)));
  refill("weight-mass", [...new Set(tonnes)].map((each) => [each, `${each} t`]), tonnes[2]);
  const tanks = ship.aboard.tanks.map((tank, i) => [i, `${tank.name}, ${tank.full.toFixed(0)} t`]);
  refill("tank", tanks, 0);
  const own = sea.kind === "irregular" ? "her own storm" : "as in her file";
  const trains = page.trains.map((train, i) => [i, `wave train, seed ${train.seed}`]);
  refill("sea", [[-1, own], ...trains], ship.train ?? -1);
  element("wind").value = wind ? wind.speed_mps : 0;
  element("wave").value = sea.height_m ?? 0;
  element("period-set").value = sea.period_s ?? WAVE_PERIOD;
}

function refill(name, pairs, value) {
  element(name).replaceChildren();
  pairs.forEach(([key, words]) => option(element(name), key, words));
  element(name).value = value;
}

// What the dock shows of the moment.
function updateControls() {
  const [ship] = ships;
  const at = ship.moment();
  const { kg, wind } = at.now.set;
  const range = element("kg");
  if (document.activeElement !== range || clock.lastKg !== at.g[1]) {
    const [low, high] = [Math.min(at.km - 1.5, at.g[1] - 0.2), Math.max(at.km + 0.7, at.g[1] + 0.2)];
    Object.assign(range, { min: low.toFixed(3), max: high.toFixed(3) });
    range.value = at.g[1].toFixed(3);
    clock.lastKg = at.g[1];
  }
  say("kg-text", hidden("g") ? "hidden" : `KG ${metres(at.g[1])}`);
  say("wind-text", `${wind.toFixed(1)} m/s`);
  say("wave-text", `${Number(element("wave").value).toFixed(1)} m`);
  say("period-text", `${Number(element("period-set").value).toFixed(1)} s, from the next letting go`);
  const tank = ship.aboard.tanks[Number(element("tank").value)] || ship.aboard.tanks[0];
  const share = (100 * massIn(tank, ship.time)) / tank.full;
  const flow = { 1: ", filling", "-1": ", emptying", 0: "" }[tank.valve];
  const known = tank.fixed ? "; not pumped here: by its form, its lever or events" : "";
  say("tank-text", `${share.toFixed(0)} % full${flow}; free surfaces ${metres(at.now.freeSurface)}${known}`);
  element("tank-divided").checked = tank.divided > tank.parts;
  const names = ship.aboard.weights.map((weight, i) => `${i + 1}: ${weight.mass} t`);
  if (names.join() !== clock.weights) {
    clock.weights = names.join();
    refill("weight-which", names.map((words, i) => [i, words]), Math.max(names.length - 1, 0));
  }
  for (const name of ["weight-which", "weight-shift", "weight-land", "weight-jettison", "weight-slide"]) {
    element(name).disabled = names.length === 0 || locked("weights");
  }
  lockPanels();
  element("let-go").disabled = !ship.held;
  element("play").disabled = ship.held || ship.record.outcome === 3;
  if (clock.watch !== null) {
    say("period", `${(clock.stopped ?? ship.time - clock.watch).toFixed(1)} s`);
  }
}

// The controls that a step of an exercise locks.
function lockPanels() {
  const irregular = ships[0].file.sea.kind === "irregular";
  for (const [panel, what] of LOCKS) {
    for (const control of element(`panel-${panel}`).querySelectorAll("button, input, select")) {
      const idle = what === "waves" && control.id !== "sea" && irregular;
      control.disabled = locked(what) || idle;
    }
  }
  const { fixed } = ships[0].aboard.tanks[Number(element("tank").value)] || { fixed: true };
  for (const name of ["tank-fill", "tank-empty", "tank-shut", "tank-divided"]) {
    element(name).disabled = locked("tanks") || fixed;
  }
  element("weight-hang").disabled = locked("weights");
}

// The place [y, z] that is chosen for a weight.
function chosenPlace(ship) {
  const [height, where] = element("weight-place").value.split(" ");
  const { beam_m: beam, draught_m: draught, depth_m: depth = 1.5 * draught } = ship.file.ship;
  return [0.5 * beam * SIDES[where], depth * PLACES[height]];
}

// Act on the chosen weight of every ship, of a ship with fewer on her last one.
function onWeight(act) {
  all((ship) => {
    const i = Math.min(Number(element("weight-which").value), ship.aboard.weights.length - 1);
    if (i >= 0) {
      act(ship, i);
    }
  });
}

function wireWeights() {
  const words = () => `${element("weight-place").selectedOptions[0].textContent}`;
  on("weight-hang", "click", () => {
    const mass = Number(element("weight-mass").value);
    all((ship) => ship.aboard.hang(mass, chosenPlace(ship)));
    note(`hangs ${mass} t ${words()}`);
  });
  on("weight-shift", "click", () => {
    onWeight((ship, i) => ship.aboard.shift(i, chosenPlace(ship), SHIFT_OVER));
    note(`shifts a weight to ${words()}`);
  });
  for (const [name, over] of [["weight-land", LAND_OVER], ["weight-jettison", 0]]) {
    on(name, "click", () => {
      onWeight((ship, i) => ship.aboard.land(i, over));
      note(over ? "lands a weight" : "jettisons a weight");
    });
  }
  on("weight-slide", "click", () => {
    onWeight((ship, i) => {
      const [, height] = placeOf(ship.aboard.weights[i], ship.time);
      const low = ship.moment().heel >= 0 ? SIDES.starboard : SIDES.port;
      ship.aboard.shift(i, [0.5 * ship.file.ship.beam_m * low, height], SLIDE_OVER);
    });
    note("a weight slides to the low side");
  });
}

function wireTanks() {
  const tank = () => Number(element("tank").value);
  for (const [name, way] of [["tank-fill", 1], ["tank-empty", -1], ["tank-shut", 0]]) {
    on(name, "click", () => {
      const rate = Number(element("tank-rate").value) / 60;
      all((ship) => ship.aboard.valve(tank(), way, rate));
      note(`${{ 1: "fills", "-1": "empties", 0: "shuts" }[way]} tank ${ships[0].aboard.tanks[tank()].name}`);
    });
  }
  on("tank", "change", refresh);
  on("tank-divided", "change", () => {
    all((ship) => {
      const { parts } = ship.aboard.tanks[tank()];
      ship.aboard.divide(tank(), element("tank-divided").checked ? 2 * parts : parts);
    });
    note(element("tank-divided").checked ? "divides a tank" : "opens a tank's division");
  });
}

function wireWeather() {
  on("wind", "input", () => setAll({ wind_mps: Number(element("wind").value) }));
  on("wind", "change", () => note(`wind ${element("wind").value} m/s`));
  on("wave", "input", () => setAll({ wave_height_m: Number(element("wave").value) }));
  on("wave", "change", () => note(`waves of ${element("wave").value} m`));
  on("period-set", "input", () => setAll({ wave_period_s: Number(element("period-set").value) }));
  on("gust", "click", () => {
    all((ship) => ship.gust(GUST.factor, GUST.rise, GUST.hold));
    note("gust");
  });
  for (const [name, way] of [["turn-port", 1], ["turn-starboard", -1], ["turn-end", 0]]) {
    on(name, "click", () => {
      all((ship) => {
        ship.push(way * TURN_LEVER - (ship.turning ?? 0), TURN_OVER);
        ship.turning = way * TURN_LEVER;
      });
      note(way ? `turns to ${way > 0 ? "port" : "starboard"}: heels outward` : "ends the turn");
    });
  }
}
