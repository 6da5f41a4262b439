// Exercises: what is hidden and locked, what must be reached; the log; the instructor's drawer.

const exercise = { step: null, hide: new Set(), lock: new Set(), watch: () => {} };
const hidden = (what) => exercise.hide.has(what);
const locked = (what) => exercise.lock.has(what);

function note(text) {
  const item = document.createElement("li");
  item.textContent = `${ships[0].time.toFixed(1)} s: ${text}`;
  element("log").append(item);
}

function toggleDrawer() {
  element("drawer").hidden = !element("drawer").hidden;
}

function wireLesson() {
  on("save", "click", () => saveAs("live-model.toml", window.rollsim.scenario()));
  for (const part of ["m", "g", "b", "levers", "curves"]) {
    on(`show-${part}`, "change", () => {
      document.documentElement.classList.toggle(`no-${part}`, !element(`show-${part}`).checked);
    });
  }
}

// A text as a file of the reader's own.
function saveAs(name, text) {
  const link = document.createElement("a");
  link.href = `data:text/plain;charset=utf-8,${encodeURIComponent(text)}`;
  link.download = name;
  link.click();
}
