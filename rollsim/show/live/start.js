// The start of the page: choices of ship and sea, the clock's controls, keys, looks.

const KEYS = [
  ["Space", "go on, pause"],
  ["Backspace", "back 60 s"],
  ["− +", "slower, faster"],
  ["↑ ↓", "G up, down by 1 mm; Page Up, Page Down by 5 cm"],
  ["0", "G exactly at M"],
  ["← →", "push her to port, to starboard; Enter lets go"],
  ["G", "gust"],
  ["S", "stop-watch"],
  ["P, D", "presenter mode, dark"],
  ["I", "drawer of the instructor"],
];
const ACTIONS = {
  " ": () => play(!clock.playing),
  Backspace: () => rewind(),
  "+": () => otherSpeed(1),
  "=": () => otherSpeed(1),
  "-": () => otherSpeed(-1),
  ArrowUp: () => locked("g") || moveG(ships[0].moment().g[1] + FINE),
  ArrowDown: () => locked("g") || moveG(ships[0].moment().g[1] - FINE),
  PageUp: () => locked("g") || moveG(ships[0].moment().g[1] + COARSE),
  PageDown: () => locked("g") || moveG(ships[0].moment().g[1] - COARSE),
  0: () => locked("g") || setGm(0),
  ArrowLeft: () => lean(-LEAN),
  ArrowRight: () => lean(LEAN),
  Enter: () => letGo(),
  g: () => element("gust").click(),
  s: () => stopWatch(),
  p: () => element("present").click(),
  d: () => element("dark").click(),
  i: () => toggleDrawer(),
};

function lean(by) {
  if (!locked("hand") && ships[0].record.outcome < 3) {
    holdAt(ships[0].moment().roll * RADIAN + by);
  }
}

function rewind() {
  all((ship) => ship.rewind(60));
  note("goes back 60 s");
}

function otherSpeed(step) {
  const i = Math.min(Math.max(SPEEDS.indexOf(clock.speed) + step, 0), SPEEDS.length - 1);
  clock.speed = SPEEDS[i];
  element("speed").value = clock.speed;
}

// Start, stop and clear in turn.
function stopWatch() {
  if (clock.watch === null) {
    Object.assign(clock, { watch: ships[0].time, stopped: null });
  } else if (clock.stopped === null) {
    clock.stopped = ships[0].time - clock.watch;
  } else {
    clock.watch = null;
    say("period", "");
  }
  refresh();
}

function onKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) {
    return;
  }
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const own = event.target.matches("select, input[type=range], [role=tab]");
  const moves = key.startsWith("Arrow") || key.startsWith("Page");
  const pressed = (key === " " || key === "Enter") && event.target.matches("button, input");
  if (!(own && moves) && !event.target.matches("select") && !pressed && ACTIONS[key]) {
    event.preventDefault();
    ACTIONS[key](event);
  }
}

// The ships that the choices name: her loading and hull, and the loading of another beside her.
function chosenShips() {
  const second = Number(element("second").value);
  const hull = Math.max(Number(element("hull").value), 0);
  const made = [shipOf(page.cases[Number(element("case").value)], hull)];
  return second >= 0 ? [...made, shipOf(page.cases[second], hull)] : made;
}

function toggled(name, type) {
  on(name, "click", () => {
    const isOn = document.documentElement.classList.toggle(type);
    element(name).setAttribute("aria-pressed", isOn);
    rebuild();
  });
}

// The sea of a seed, or her file's own, from the next start on.
function chooseSea() {
  const train = page.trains[Number(element("sea").value)];
  all((ship) => {
    const { file } = ship.entry;
    const { hull } = ship;
    const sea = train ? train.sea : file.sea;
    const own = train && { duration_s: train.duration_s, seed: train.seed, realisations: 1 };
    const run = { ...file.run, ...own };
    const storm = train ? stormOf(train.channels) : stormOf(ship.entry.storm);
    const { roll, rollRate } = ship.motion();
    const start = { roll_deg: roll * RADIAN, roll_rate_deg_per_s: rollRate * RADIAN };
    ship.train = train ? page.trains.indexOf(train) : -1;
    ship.begin({ ...folded(ship), sea, run, start }, hull, storm, ship.aboard.settled(ship));
  });
  note(train ? `wave train, seed ${train.seed}` : "the sea of her file");
  fillControls();
  play(false);
}

function wireChoices() {
  page.cases.forEach(({ label }, i) => option(element("case"), i, label));
  option(element("second"), -1, "no other");
  page.cases.forEach(({ label }, i) => option(element("second"), i, label));
  SPEEDS.forEach((speed) => option(element("speed"), speed, speed === 1 ? "true time" : `× ${speed}`));
  element("speed").value = 1;
  for (const height of Object.keys(PLACES)) {
    for (const where of Object.keys(SIDES)) {
      const name = { high: "high", deck: "on deck", low: "low" }[height];
      option(element("weight-place"), `${height} ${where}`, `${name}, ${where}`);
    }
  }
  element("weight-place").value = "deck starboard";
  RATES.forEach((rate) => option(element("tank-rate"), rate, `${rate} t/min`));
  element("tank-rate").value = 60;
  for (const name of ["case", "hull", "second"]) {
    on(name, "change", () => {
      leaveExercise();
      show(chosenShips());
    });
  }
  on("sea", "change", chooseSea);
}

function wireClock() {
  on("play", "click", () => play(!clock.playing));
  on("rewind", "click", rewind);
  on("speed", "change", () => {
    clock.speed = Number(element("speed").value);
  });
  on("watch", "click", stopWatch);
  on("kg", "input", () => moveG(Number(element("kg").value)));
  on("kg", "change", () => note(`G to ${element("kg").value} m above the keel`));
  on("kg-down", "click", () => moveG(ships[0].moment().g[1] - FINE));
  on("kg-up", "click", () => moveG(ships[0].moment().g[1] + FINE));
  on("gm-zero", "click", () => setGm(0));
  for (const [name, share] of Object.entries(GM_STEPS)) {
    on(name, "click", () => setGm(share * ships[0].file.ship.beam_m));
  }
  on("lean-port", "click", () => lean(-LEAN));
  on("lean-starboard", "click", () => lean(LEAN));
  on("let-go", "click", letGo);
}

function start() {
  document.title = page.title;
  say("title", page.title);
  say("caution", page.caution);
  say("warning", page.loll_warning);
  listTo("keys", KEYS.map(([keys, what]) => `${keys}: ${what}`));
  listTo("notes", page.notes);
  const marks = Object.values(MARKS).map(({ letter, words }) => `${letter}: ${words}`);
  listTo("legend", [...marks, ...Object.values(STROKES).map(({ words }) => words)]);
  makeTabs();
  wireChoices();
  wireClock();
  wireWeights();
  wireTanks();
  wireWeather();
  wireLesson();
  wireDrawer();
  toggled("present", "presenter");
  toggled("dark", "dark");
  document.addEventListener("keydown", onKey);
  show(chosenShips());
  new ResizeObserver(rebuild).observe(element("stages"));
  if (page.steps.length) {
    showTab("lesson");
    beginStep(0);
  }
}

start();
