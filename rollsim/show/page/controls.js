// Wiring: controls and keys to what they do; the start of the page.

const ACTIONS = {
  " ": () => play(!state.playing),
  k: () => play(!state.playing),
  ArrowLeft: (event) => stepBy(event.shiftKey ? -10 : -1),
  ArrowRight: (event) => stepBy(event.shiftKey ? 10 : 1),
  Home: () => stepBy(-Infinity),
  End: () => stepBy(Infinity),
  "-": () => otherSpeed(-1),
  "+": () => otherSpeed(1),
  "=": () => otherSpeed(1),
  "[": () => otherCase(byStability(), -1),
  "]": () => otherCase(byStability(), 1),
  PageUp: () => otherCase(page.cases, -1),
  PageDown: () => otherCase(page.cases, 1),
  m: () => toggle("m"),
  b: () => toggle("b"),
  l: () => toggle("levers"),
  q: () => setQuiz(!quiz.on),
  p: () => present(!presents()),
};

// The button that began the quiz keeps the focus: Space, meant for play, must not end it.
const endsQuiz = (target) => quiz.on && target === element("quiz");

function onKeyUp(event) {
  if (event.key === " " && endsQuiz(event.target)) {
    event.preventDefault();
  }
}

function onKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) {
    return;
  }
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const target = event.target;
  const own = target.matches("select, input[type=range]");
  // A control that has the focus keeps the keys that it knows itself.
  const moves = key.startsWith("Arrow") || key.startsWith("Page") || key === "Home" || key === "End";
  const pressed = key === " " && target.matches("button, input") && !endsQuiz(target);
  if ((own && moves) || target.matches("select") || pressed) {
    return;
  }
  const answer = state.run.answers[Number(key) - 1];
  if (quiz.stage === "ask" && answer) {
    event.preventDefault();
    reply(answer);
  } else if (ACTIONS[key]) {
    event.preventDefault();
    ACTIONS[key](event);
  }
}

function wire() {
  const on = (name, event, act) => element(name).addEventListener(event, act);
  on("play", "click", () => play(!state.playing));
  on("back", "click", () => stepBy(-1));
  on("step", "click", () => stepBy(1));
  on("time", "input", () => seek(Number(element("time").value)));
  on("case", "change", () => choose(page.cases[Number(element("case").value)], state.run.number));
  on("storm", "change", () => choose(state.entry, Number(element("storm").value)));
  on("speed", "change", () => otherSpeed(Number(element("speed").selectedIndex) - SPEEDS.indexOf(state.speed)));
  on("span", "change", () => {
    state.span = Number(element("span").value);
    redraw();
  });
  on("stability", "input", () => {
    const steps = byStability();
    otherCase(steps, Number(element("stability").value) - steps.indexOf(state.entry));
  });
  on("quiz", "click", () => setQuiz(!quiz.on));
  on("present", "click", () => present(!presents()));
  for (const name of Object.keys(show)) {
    on(`show-${name}`, "change", () => toggle(name));
  }
  document.addEventListener("keydown", onKey);
  document.addEventListener("keyup", onKeyUp);
  window.addEventListener("resize", redraw);
}

function start() {
  element("caution").textContent = page.caution;
  SPEEDS.forEach((speed) => option(element("speed"), speed, speed === 1 ? "true time" : `× ${speed}`));
  element("speed").value = state.speed;
  listTo("keys", KEYS.map(([keys, what]) => `${keys}: ${what}`));
  listTo("notes", [
    "On a wave weight and buoyancy stand square to the water: gravity as the ship feels it.",
    "M is where the line of buoyancy meets its neighbours; it moves as she heels.",
    "Point and square in the curve: righting and heeling lever of the moment.",
    "From outside the escape line she goes over, if nothing damps or drives her.",
    "Levers are drawn to the scale of the section, and larger in the close-up.",
    `Quiz: ${page.rule}`,
    ...page.notes,
  ]);
  wire();
  choose(page.cases[0]);
}

start();
