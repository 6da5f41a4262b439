// What is chosen and shown, the clock, the controls, the keys.

const SPEEDS = [0.25, 0.5, 1, 2, 4, 8, 16, 32, 64];
const SPANS = [60, 180, 600];
const KEYS = [
  ["Space or K", "play, pause"],
  ["← →", "step back, on, by one point; with Shift ten"],
  ["Home, End", "to the start, to the end"],
  ["− +", "slower, faster"],
  ["[ ]", "less, more GM"],
  ["Page Up, Page Down", "case before, case after"],
  ["M, B, L", "show or hide M with its path, B, levers"],
  ["Q", "quiz on or off; 1 to 9 answer"],
  ["P", "presenter mode: large type for the back of the room"],
];
const state = { entry: null, run: null, time: 0, playing: false, speed: 1, span: 0 };
const show = { m: true, b: true, levers: true };
const drawn = {};

// Go to a case, in the storm with a number where the page holds it there.
function choose(entry, storm) {
  const same = state.entry && sameFamily(state.entry, entry);
  state.entry = entry;
  state.run = entry.runs.find((run) => run.number === storm) || entry.runs[0];
  state.playing = state.playing && same && !quiz.on;
  state.time = same && !quiz.on ? Math.min(state.time, state.run.end) : 0;
  ask(state.run);
  fill();
  redraw();
}

// Everything that depends on the choice and not on the time.
function fill() {
  const { entry, run } = state;
  element("case").replaceChildren();
  page.studies.forEach((title, study) => {
    const group = document.createElement("optgroup");
    group.label = title;
    element("case").append(group);
    page.cases.forEach((each, i) => {
      if (each.study === study) {
        option(group, i, hidesOutcome() ? `case ${each.number}` : each.label);
      }
    });
  });
  element("case").value = page.cases.indexOf(entry);
  element("storm").replaceChildren();
  entry.runs.forEach((each) => option(element("storm"), each.number, each.number));
  element("storm").value = run.number;
  element("storm-field").hidden = entry.runs.length < 2;
  document.title = page.studies[entry.study];
  element("title").textContent = document.title;
  const parts = [entry.ship, hidesOutcome() ? "" : entry.label];
  element("about").textContent = parts.filter((text) => text).join(" · ");
  element("time").max = entry.duration;
  element("time").step = "any";
  fillStability();
  fillSpans();
  fillFigures();
  fillQuestion(run, reply);
  fillLegend(element("legend"), entry, run);
}

function fillSpans() {
  const { entry } = state;
  const fitting = SPANS.filter((span) => span < entry.duration);
  element("span").replaceChildren();
  option(element("span"), 0, "whole run");
  fitting.forEach((span) => option(element("span"), span, `${span} s`));
  if (!fitting.includes(state.span)) {
    state.span = entry.duration > 400 ? 180 : 0;
  }
  element("span").value = state.span;
  element("span-field").hidden = fitting.length === 0;
}

const byStability = () =>
  page.cases
    .filter((other) => sameFamily(other, state.entry))
    .sort((one, other) => one.gm - other.gm);

function fillStability() {
  const steps = byStability();
  const several = steps[steps.length - 1].gm - steps[0].gm > 1e-6;
  element("stability-field").hidden = !several;
  element("stability").max = steps.length - 1;
  element("stability").value = steps.indexOf(state.entry);
  const kg = arrays[state.entry.g_z][0];
  const text = `${metres(state.entry.gm)} (KG ${metres(kg)})`;
  element("stability-text").textContent = text;
  element("stability").setAttribute("aria-valuetext", `GM ${text}`);
}

function fillFigures() {
  element("figures").replaceChildren();
  for (const [name, value, spoils] of [...state.entry.figures, ...state.run.figures]) {
    const row = element("figures").insertRow();
    const head = document.createElement("th");
    head.scope = "row";
    head.textContent = name;
    row.append(head);
    const hides = spoils && hidesOutcome();
    row.classList.toggle("hides", hides);
    row.insertCell().textContent = hides ? "hidden by the quiz" : value;
  }
}

function redraw() {
  const { entry, run } = state;
  const larger = presents() ? (PRESENTED * window.innerHeight) / 14 : 1;
  for (const [name, width] of Object.entries(NARROW)) {
    EDGE[name] = width * larger;
  }
  const reach = reachOf(entry);
  fillPanels(run);
  drawn.section = makeSection(element("section"), entry, show);
  drawn.curve = makeCurve(element("curve"), entry, reach);
  redrawRun(reach);
  update();
}

// The history and the phase portrait, of the part of the run that is shown.
function redrawRun(reach) {
  const { entry, run } = state;
  drawn.span = windowOf(entry, state.span, state.time);
  drawn.history = makeHistory(element("history"), entry, run, reach, drawn.span);
  drawn.phase = makePhase(element("phase"), entry, run, reach, drawn.span);
  for (const part of [drawn.history, drawn.phase]) {
    visible(part.whole, !hidesOutcome());
  }
}

// Warning, question and verdict: they take room, so they come before the pictures.
function fillPanels(run) {
  const loll = run.loll && quiz.stage !== "ask";
  element("warning").hidden = !loll;
  element("warning").textContent = loll ? page.loll_warning : "";
  element("question").hidden = quiz.stage !== "ask";
  const verdict = verdictOf(run);
  element("verdict").hidden = !verdict;
  element("verdict").textContent = verdict;
  element("quiz").setAttribute("aria-pressed", String(quiz.on));
  element("quiz").textContent = quiz.on ? "End the quiz" : "Quiz";
  for (const name of ["play", "back", "step", "time"]) {
    element(name).disabled = quiz.stage === "ask" || run.last < 0;
  }
}

// Everything that depends on the time.
function update() {
  const { entry, run } = state;
  const moment = momentOf(entry, run, state.time);
  element("play").textContent = state.playing ? "Pause" : "Play";
  if (!moment) {
    element("caption").textContent = `nothing to play: ${run.outcome}`;
    return;
  }
  if (quiz.stage === "play" && moment.ended) {
    tell(run);
    fill();
    redraw();
    return;
  }
  if (windowOf(entry, state.span, state.time)[0] !== drawn.span[0]) {
    redrawRun(reachOf(entry));
  }
  moveSection(drawn.section, moment, show);
  moveCurve(drawn.curve, entry, moment);
  moveHistory(drawn.history, moment);
  movePhase(drawn.phase, entry, moment);
  updateWords(moment);
}

function seek(time) {
  state.time = Math.min(Math.max(time, 0), state.run.end);
  update();
}

let before = null;

function tick(now) {
  if (!state.playing) {
    before = null;
    return;
  }
  const passed = before === null ? 0 : Math.min((now - before) / 1000, 0.25);
  before = now;
  if (state.time >= state.run.end) {
    state.playing = false;
  }
  seek(state.time + passed * state.speed);
  requestAnimationFrame(tick);
}

function play(on) {
  if (state.run.last < 0 || quiz.stage === "ask") {
    return;
  }
  if (on && state.time >= state.run.end) {
    state.time = 0;
  }
  if (on && !state.playing) {
    requestAnimationFrame(tick);
  }
  state.playing = on;
  update();
}

function stepBy(points) {
  if (quiz.stage !== "ask") {
    state.playing = false;
    const step = state.entry.step;
    seek((Math.round(state.time / step) + points) * step);
  }
}

function toggle(name) {
  show[name] = !show[name];
  element(`show-${name}`).checked = show[name];
  showParts(drawn.section, show);
  update();
}

function otherSpeed(by) {
  const position = SPEEDS.indexOf(state.speed) + by;
  state.speed = SPEEDS[Math.min(Math.max(position, 0), SPEEDS.length - 1)];
  element("speed").value = state.speed;
}

function otherCase(list, by) {
  const position = list.indexOf(state.entry) + by;
  if (position >= 0 && position < list.length) {
    choose(list[position], state.run.number);
  }
}

// Large type for the back of the room; the key figures come up beside the ship.
function present(on) {
  document.documentElement.classList.toggle("presenter", on);
  element("present").setAttribute("aria-pressed", String(on));
  const figures = document.querySelector(".figures");
  const [charts, notes] = [document.querySelector(".charts"), document.querySelector(".notes")];
  if (on) {
    charts.append(figures);
  } else {
    notes.before(figures);
  }
  window.scrollTo(0, 0);
  redraw();
}


function setQuiz(on) {
  Object.assign(quiz, { on, right: 0, asked: 0 });
  state.time = 0;
  state.playing = false;
  ask(state.run);
  fill();
  redraw();
}

function reply(answer) {
  say(answer);
  fill();
  redraw();
  play(true);
}
