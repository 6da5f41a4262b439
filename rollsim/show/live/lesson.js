// Exercises: what a step hides and locks, what must be reached, and how it ended. A wrong action is
// allowed, and marked after its consequence.

const exercise = {
  index: -1, state: "off", hide: new Set(), lock: new Set(), shown: new Set(),
  since: null, lived: 0, last: 0, most: 0, flops: 0, before: 0, hints: 0,
};
const stepNow = () => page.steps[exercise.index];
const hidden = (what) => exercise.hide.has(what) && !exercise.shown.has(what);
const locked = (what) => exercise.lock.has(what);

// Begin a step: she starts in its condition, or goes on as she is if not to start `anew`.
function beginStep(index, anew = false) {
  const step = page.steps[index];
  const fresh = { since: null, lived: 0, last: 0, most: 0, flops: 0, before: 0, hints: 0 };
  Object.assign(exercise, fresh, { index, state: "open" });
  Object.assign(exercise, { hide: new Set(step.hide), lock: new Set(step.lock), shown: new Set() });
  if (anew || step.condition >= 0 || step.hull !== "own" || ships.length > 1 !== step.beside >= 0) {
    const kind = ["own", "box", "barrel", "wall-sided"].indexOf(step.hull);
    const own = step.condition >= 0 ? step.condition : page.cases.indexOf(ships[0].entry);
    const numbers = [own, step.beside].filter((number) => number >= 0);
    show(numbers.map((number) => shipOf(page.cases[number], kind)));
  }
  ships[0].looked = lookAtStep;
  [exercise.last, exercise.before] = [ships[0].time, ships[0].record.flops];
  note(`step ${index + 1}: ${step.text}`);
  showHidden();
  showStep("");
  refresh();
}

function leaveExercise() {
  Object.assign(exercise, { index: -1, state: "off", hide: new Set(), lock: new Set() });
  element("exercise").value = -1;
  element("task").hidden = true;
  showHidden();
  refresh();
}

// Once a second of her time, and with every frame: has she reached it, has it failed?
function lookAtStep() {
  const [step, ship] = [stepNow(), ships[0]];
  if (exercise.state !== "open" || !step) {
    return;
  }
  const at = ship.moment();
  follow(ship, at);
  const failed = failureOf(step, at);
  if (failed) {
    endStep("failed", `Not reached: ${failed}. ${step.wrong}`);
    return;
  }
  if (!asksGoal(step)) {
    exercise.since = ship.time;
  } else if (!holds(step, at)) {
    exercise.since = null;
    return;
  } else if (exercise.since === null || exercise.since > ship.time) {
    exercise.since = ship.time;
  }
  if (ship.time - exercise.since >= step.hold_s) {
    reachStep(step);
  }
}

// What she has lived through since the step began; letting go starts her clock anew.
function follow(ship, at) {
  if (ship.time < exercise.last) {
    exercise.flops += exercise.counted ?? 0;
    [exercise.last, exercise.before] = [0, 0];
  }
  exercise.lived += ship.time - exercise.last;
  exercise.last = ship.time;
  exercise.counted = ship.record.flops - exercise.before;
  exercise.most = Math.max(exercise.most, Math.abs(at.heel) * RADIAN);
}

const flopsSeen = () => exercise.flops + (exercise.counted ?? 0);
const asksGoal = (step) => Boolean(step.verdict || step.gm_m || step.heel_deg);
const within = ([low, high], value) => value >= low && value <= high;

function holds(step, at) {
  return (
    (!step.verdict || at.verdict === step.verdict) &&
    (!step.gm_m || within(step.gm_m, at.gm)) &&
    (!step.heel_deg || within(step.heel_deg, at.heel * RADIAN))
  );
}

function failureOf(step, at) {
  const wanted = step.verdict === at.verdict;
  const verdict = page.verdicts.find(({ name }) => name === at.verdict);
  const checks = [
    [!wanted && step.fails.includes(at.verdict), verdictWords(at) || verdict.name],
    [exercise.most > (step.most_heel_deg ?? Infinity), `she heeled beyond ${step.most_heel_deg}°`],
    [flopsSeen() > (step.most_flops ?? Infinity), "she went over to her other side"],
    [exercise.lived > (step.within_s ?? Infinity), `${step.within_s} s have passed`],
  ];
  const failed = checks.find(([fails]) => fails);
  return failed ? failed[1] : "";
}

function reachStep(step) {
  if (step.question && exercise.state === "open") {
    exercise.state = "asked";
    showStep(step.question);
  } else if (asksGoal(step)) {
    endStep("reached", `Reached: ${scoreWords()}. ${step.solution}`);
  } else {
    endStep("reached", step.solution);
  }
}

function scoreWords() {
  const flops = flopsSeen();
  const times = flops === 1 ? "once" : `${flops} times`;
  const over = flops ? `over to the other side ${times}` : "never over to the other side";
  return `after ${exercise.lived.toFixed(0)} s, greatest heel ${exercise.most.toFixed(0)}°, ${over}`;
}

function endStep(state, words) {
  exercise.state = state;
  exercise.shown = new Set(exercise.hide);
  note(`${state}: ${words}`);
  showHidden();
  showStep(words);
  refresh();
}

// The answer that was chosen; the first one counts.
function answerStep(answer) {
  const step = stepNow();
  note(`answers: ${answer}`);
  if (answer === step.answer) {
    endStep("reached", `Right. ${step.solution}`);
  } else {
    endStep("failed", `Not so: ${step.answer}. ${step.wrong || step.solution}`);
  }
}

// The task as it stands: words, answers, and which buttons serve.
function showStep(reply) {
  const step = stepNow();
  element("task").hidden = false;
  element("exercise").value = exercise.index;
  element("task").dataset.state = exercise.state;
  say("task-title", `Exercise, step ${exercise.index + 1} of ${page.steps.length}`);
  say("task-text", step.text);
  say("task-reply", reply);
  say("drawer-notes", step.note);
  element("task-choices").replaceChildren();
  if (exercise.state === "asked") {
    for (const answer of step.answers) {
      const button = document.createElement("button");
      Object.assign(button, { type: "button", textContent: answer });
      button.addEventListener("click", () => answerStep(answer));
      element("task-choices").append(button);
    }
  }
  element("task-hint").disabled = exercise.hints >= step.hints.length || exercise.state !== "open";
  element("task-next").disabled = exercise.state === "open" || exercise.index + 1 >= page.steps.length;
}

function giveHint() {
  const step = stepNow();
  const hint = step.hints[exercise.hints];
  exercise.hints += 1;
  note(`hint: ${hint}`);
  showStep(`Hint: ${hint}`);
}

function tellSolution() {
  const step = stepNow();
  const asked = exercise.state === "asked" || exercise.state === "open";
  const words = [step.answer, step.solution].filter((text) => text).join(". ");
  if (asked) {
    endStep("told", `Answer: ${words}`);
  }
}

// What is hidden, as classes of the page that the style knows.
function showHidden() {
  for (const what of ["g", "m", "gm", "b", "curve", "verdict"]) {
    document.documentElement.classList.toggle(`hide-${what}`, hidden(what));
  }
}

function wireLesson() {
  option(element("exercise"), -1, page.steps.length ? "none" : "none in this file");
  page.steps.forEach((step, i) => option(element("exercise"), i, `step ${i + 1}`));
  on("exercise", "change", () => {
    const index = Number(element("exercise").value);
    if (index < 0) {
      leaveExercise();
    } else {
      beginStep(index);
    }
  });
  on("task-hint", "click", giveHint);
  on("task-answer", "click", tellSolution);
  on("task-again", "click", () => beginStep(againFrom(exercise.index), true));
  on("task-next", "click", () => beginStep(exercise.index + 1));
  on("task-end", "click", leaveExercise);
}

// Again from the last step that puts her into a condition: what was done since then is undone.
function againFrom(index) {
  let first = index;
  while (first > 0 && page.steps[first].condition < 0) {
    first -= 1;
  }
  return first;
}
