// The instructor: the log, files to keep, the drawer with what is hidden and with surprises, and the
// run played again as it was done.

const SURPRISES = {
  "A gust": (ship) => ship.gust(1.5, 1, 15) || ship.push(0.08, 1),
  "Cargo shifts": (ship) => {
    const { displacement_t: displacement, beam_m: beam } = ship.file.ship;
    const low = ship.moment().heel >= 0 ? 1 : -1;
    const shift = { mass_t: 0.01 * displacement, across_m: 0.3 * low * beam, up_m: 0 };
    ship.act({ kind: "move-weight", over_s: 3, ...shift });
  },
  "A slack tank": (ship) => {
    ship.setKey("ship.gravity.free_surface_m", ship.moment().now.freeSurface + 0.08);
    ship.remember();
  },
  "Ice on deck": (ship) => {
    const { displacement_t: displacement, draught_m: draught, depth_m: depth = 1.5 * draught } = ship.file.ship;
    const ice = { mass_t: 0.02 * displacement, height_m: 1.4 * depth, across_m: 0 };
    ship.act({ kind: "add-weight", over_s: 120, ...ice });
  },
};
const HIDEABLE = { g: "G", m: "M", gm: "GM", b: "B", curve: "the curves", verdict: "the state" };

function note(text) {
  const item = document.createElement("li");
  item.textContent = `${ships[0].time.toFixed(1)} s: ${text}`;
  element("log").append(item);
}

// A text as a file of the reader's own.
function saveAs(name, text) {
  const link = document.createElement("a");
  link.href = `data:text/plain;charset=utf-8,${encodeURIComponent(text)}`;
  link.download = name;
  link.click();
}

function logText() {
  const lines = Array.from(element("log").children, (item) => item.textContent);
  return [page.title, page.caution, "", ...lines, ""].join("\n");
}

function toggleDrawer() {
  element("drawer").hidden = !element("drawer").hidden;
}

function hideOrShow(what, hides) {
  exercise.shown.delete(what);
  exercise.hide[hides ? "add" : "delete"](what);
  showHidden();
  refresh();
}

function drawerButton(words, act) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", textContent: words });
  button.addEventListener("click", act);
  element("drawer-actions").append(button);
  return button;
}

function wireDrawer() {
  drawerButton("Freeze", () => play(false));
  drawerButton("Reveal all", () => Object.keys(HIDEABLE).forEach((what) => hideOrShow(what, false)));
  for (const [what, words] of Object.entries(HIDEABLE)) {
    drawerButton(`Hide ${words}`, () => hideOrShow(what, true));
  }
  for (const [words, act] of Object.entries(SURPRISES)) {
    drawerButton(words, () => {
      all(act);
      note(`surprise: ${words}`);
    });
  }
  drawerButton("Play it again", playAgain);
  drawerButton("Close", toggleDrawer);
  on("save", "click", () => saveAs("live-model.toml", window.rollsim.scenario()));
  on("log-save", "click", () => saveAs("log.txt", logText()));
  on("show-map", "change", () => curves.swap());
  for (const part of ["m", "g", "b", "levers", "curves"]) {
    on(`show-${part}`, "change", () => {
      document.documentElement.classList.toggle(`no-${part}`, !element(`show-${part}`).checked);
    });
  }
}

// Everything since she was let go, as it was done, to its end.
function playAgain() {
  clock.again = { time: 0, pasts: ships.map((ship) => ship.past), ends: ships.map((ship) => ship.time) };
  note("plays it again");
  play(true);
}

// One frame of that: every ship at a time [s], from the moment before.
function againAt(time) {
  const { pasts, ends } = clock.again;
  ships.forEach((ship, i) => {
    const until = Math.min(time, ends[i]);
    const known = pasts[i].filter((each) => each.time <= until);
    ship.restore(known);
    ship.trace = ship.trace.filter(([at]) => at <= ship.time);
    ship.advance(until - ship.time);
    ship.past = pasts[i].filter((each) => each.time <= until);
  });
  clock.again.time = time;
  if (time >= Math.max(...ends)) {
    ships.forEach((ship, i) => {
      ship.restore(pasts[i]);
      ship.advance(ends[i] - ship.time);
    });
    clock.again = null;
    play(false);
  }
}
