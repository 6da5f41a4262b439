// The words and numbers of a moment: clock, readout, causes, caption.

function updateWords(moment) {
  element("time").value = moment.time;
  element("time").setAttribute("aria-valuetext", `${moment.time.toFixed(1)} s`);
  element("clock").textContent = `${moment.time.toFixed(1)} s`;
  const parts = [`roll ${sided(moment.roll)}`, `GM ${metres(moment.gm)}`];
  if (Math.abs(moment.slope) > 0) {
    parts.splice(1, 0, `to the water ${sided(moment.heel)}`);
  }
  if (Number.isFinite(moment.gz)) {
    parts.push(`GZ ${metres(moment.gz)}`);
  }
  element("readout").textContent = parts.join(" · ");
  element("causes").textContent = causesOf(state.entry, moment);
  const caption = quiz.stage === "ask" ? "" : captionOf(state.entry, state.run, moment);
  if (element("caption").textContent !== caption) {
    element("caption").textContent = caption;
  }
}

// What heels her, as numbers: the lever of wind or push, and how far G has moved.
function causesOf(entry, moment) {
  const parts = [];
  if (Math.abs(moment.lever) >= 1e-4) {
    parts.push(`${entry.push} ${metres(Math.abs(moment.lever))} to ${moment.lever > 0 ? "starboard" : "port"}`);
  }
  const [[y0, z0], [y, z]] = [moment.way[0], moment.way[moment.way.length - 1]];
  const moves = [
    [y - y0, "to starboard", "to port"],
    [z - z0, "up", "down"],
  ].filter(([length]) => Math.abs(length) >= 5e-4);
  if (moves.length) {
    const words = moves.map(([length, more, less]) => `${metres(Math.abs(length))} ${length > 0 ? more : less}`);
    parts.push(`G moved ${words.join(", ")}`);
  }
  return parts.join(" · ");
}

// What is seen and why: words that came with the run, each from one of its points on.
function captionOf(entry, run, moment) {
  if (moment.ended) {
    return run.ended;
  }
  const point = moment.time / entry.step + 1e-6;
  const past = run.captions.filter(([from]) => from <= point);
  const [, what, why] = past[past.length - 1];
  return why ? `${what}; ${why}` : what;
}
