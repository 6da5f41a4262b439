// Her state in words, by the one table, and the numbers of a moment.

const side = (angle) => (angle > 0 ? "starboard" : "port");

function verdictWords(at) {
  const { words } = page.verdicts.find(({ name }) => name === at.verdict);
  const heel = at.heel * RADIAN;
  if (at.verdict === "rolls") {
    return rollingWords(at, words);
  }
  const to = at.heelRate || at.heeling - at.gz;
  const towards = { "going-over": to, flopping: at.heelRate, capsized: heel }[at.verdict] ?? heel;
  return words.replace("{side}", side(towards)).replace("{angle}", `${Math.abs(heel).toFixed(0)}°`);
}

// What she rolls about; with GM below zero it has a name of its own.
function rollingWords(at, words) {
  const { no_well: none, crest, near_upright: nearUpright, fast } = page.rolling;
  if (!Number.isFinite(at.staticHeel)) {
    return none;
  }
  const [well, heel] = [at.staticHeel * RADIAN, at.heel * RADIAN];
  let angle = `${Math.abs(well).toFixed(0)}°`;
  if (at.gm < -page.borders.zero_gm) {
    angle = `her loll of ${angle}`;
    const near = Math.abs(heel) < nearUpright * Math.abs(well);
    if (heel * well < 0 || (near && Math.abs(at.heelRate * RADIAN) > fast)) {
      return `swinging across to ${angle} to ${side(well)}`;
    }
    if (near) {
      return crest;
    }
  }
  return words.replace("{angle}", angle).replace("{side}", side(well));
}

// What acts besides the height of G, and what GM says of upright.
function causeWords(at) {
  const { none, zero_gm: zero } = page.borders;
  const parts = [];
  if (Math.abs(at.heeling) >= none) {
    parts.push(`heeling lever ${metres(Math.abs(at.heeling))} to ${side(at.heeling)}`);
  }
  if (Math.abs(at.offCentre) >= none && !hidden("g")) {
    parts.push(`G ${metres(Math.abs(at.offCentre))} to ${side(at.offCentre)}`);
  }
  const sign = at.gm < -zero ? "unstable" : at.gm > zero ? "stable" : "neutral";
  return hidden("gm") ? parts : [...parts, `GM ${metres(at.gm)}: upright is ${sign}`];
}

function numberWords(ship) {
  const at = ship.moment();
  const parts = [`roll ${sided(at.roll * RADIAN)}`];
  if (at.slope !== 0) {
    parts.push(`to the water ${sided(at.heel * RADIAN)}`);
  }
  if (!hidden("g")) {
    parts.push(`KG ${metres(at.g[1])}`);
  }
  if (!hidden("curve")) {
    parts.push(`GZ ${metres(at.gz)}`);
  }
  return [...parts, ...causeWords(at)].join(" · ");
}

// What passed a limit, before what she does.
function limitWords({ physics, record }, at) {
  if (record.outcome === 3) {
    return "";
  }
  const { roll, port, starboard } = physics.limits;
  const flooding = at.heel > 0 ? starboard : port;
  const angle = (limit) => `${Number((limit * RADIAN).toFixed(1))}°`;
  if (Math.abs(at.heel) > flooding) {
    return `past the flooding angle of ${angle(flooding)}: `;
  }
  return Math.abs(at.roll) > roll ? `past the roll limit of ${angle(roll)}: ` : "";
}

function say(name, text) {
  if (element(name).textContent !== text) {
    element(name).textContent = text;
  }
}

function updateWords() {
  const each = ships.map((ship) => {
    const at = ship.moment();
    const told = limitWords(ship, at) + verdictWords(at);
    const words = hidden("verdict") ? `lies ${sided(at.heel * RADIAN, 0)}` : told;
    return ships.length > 1 ? `${ship.entry.label}: ${words}` : words;
  });
  say("verdict", each.join(" | "));
  say("readout", numberWords(ships[0]));
  say("clock", `${ships[0].time.toFixed(1)} s`);
  element("warning").classList.toggle("acts", !hidden("gm") && ships.some((ship) => ship.moment().gm < 0));
}
