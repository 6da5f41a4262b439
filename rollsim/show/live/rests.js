// Where she rests and what she does: equilibria, the lowest well and its barriers, and the verdict by
// the one table that comes with the data. Angles in radians, levers in metres.

const ZERO_LEVER = 1e-12;
const SAME_ANGLE = 1e-9;

// The net lever of a moment: what rights her less what heels her, on still water.
class NetLever {
  // `now` is what is in force, `wind` the wind's lever upright [m].
  constructor(physics, now, wind) {
    Object.assign(this, { levers: physics.levers, power: physics.power, wind, lever: now.lever });
    [this.kg, this.offCentre] = [now.kg + now.freeSurface, now.offCentre];
    this.liquid = (what, heel) => physics.liquid(what, heel, now.filled);
    [this.filling, this.filled] = [physics.hull.filling, now.filled];
  }

  value(heel) {
    const phi = this.levers.inside(heel);
    const [c, s] = [Math.cos(phi), Math.sin(phi)];
    const weight = this.kg * s + this.offCentre * c;
    const kn = this.levers.kn(phi) + this.liquid(VALUE, phi);
    return kn - weight - this.wind * c ** this.power - this.lever;
  }

  slope(heel) {
    const phi = this.levers.inside(heel);
    const [c, s] = [Math.cos(phi), Math.sin(phi)];
    const fall = this.power === 0 ? 0 : this.wind * this.power * c ** (this.power - 1) * s;
    const slope = this.levers.slope(phi) + this.liquid(SLOPE, phi);
    return slope - this.kg * c + this.offCentre * s + fall;
  }

  // Its integral from upright [m rad].
  potential(heel) {
    const phi = this.levers.inside(heel);
    const [c, s] = [Math.cos(phi), Math.sin(phi)];
    const wind = [phi, s, 0.5 * phi + 0.25 * Math.sin(2 * phi)][this.power];
    const weight = this.kg * (1 - c) + this.offCentre * s;
    const kn = this.levers.integral(phi) + this.liquid(INTEGRAL, phi);
    return kn - weight - this.wind * wind - this.lever * phi;
  }

  onGrid() {
    const { heel, kn, slope, sine, cosine } = this.levers.grid;
    const value = new Float64Array(heel.length);
    const steep = new Float64Array(heel.length);
    const liquid = this.filling && this.filling.onGrid(heel, this.filled);
    for (let i = 0; i < heel.length; i += 1) {
      const fall = this.power === 0 ? 1 : cosine[i] ** this.power;
      value[i] = kn[i] - this.kg * sine[i] - this.offCentre * cosine[i] - this.wind * fall - this.lever;
      steep[i] = slope[i] - this.kg * cosine[i] + this.offCentre * sine[i];
      if (liquid) {
        value[i] += liquid[VALUE][i];
        steep[i] += liquid[SLOPE][i];
      }
      if (this.power) {
        steep[i] += this.wind * this.power * cosine[i] ** (this.power - 1) * sine[i];
      }
    }
    return [heel, value, steep];
  }

  // Every heel at which nothing turns her, in order: `kind` 1 stable, −1 unstable, 0 neutral.
  rests() {
    const [heel, value] = this.nodes();
    const sign = value.map((each) => (Math.abs(each) <= ZERO_LEVER ? 0 : Math.sign(each)));
    const rests = [];
    for (let first = 0, last = 0, before = 0; first < sign.length; first = last + 1) {
      for (last = first; last + 1 < sign.length && sign[last + 1] === sign[first]; ) {
        last += 1;
      }
      if (sign[first] === 0) {
        rests.push({ heel: 0.5 * (heel[first] + heel[last]), kind: kindOf(before, sign[last + 1] ?? 0) });
      } else if (before * sign[first] < 0) {
        const root = rootOf((phi) => this.value(phi), heel[first - 1], heel[first]);
        rests.push({ heel: root, kind: kindOf(before, sign[first]) });
      }
      before = sign[first];
    }
    return rests;
  }

  // The grid with every extreme of the lever put in, so that no pair of roots hides.
  nodes() {
    const [heel, value, steep] = this.onGrid();
    const [heels, values] = [[], []];
    for (let i = 0; i < heel.length; i += 1) {
      heels.push(heel[i]);
      values.push(value[i]);
      if (i + 1 < heel.length && steep[i] * steep[i + 1] < 0) {
        const turn = rootOf((phi) => this.slope(phi), heel[i], heel[i + 1]);
        heels.push(turn);
        values.push(this.value(turn));
      }
    }
    return [heels, values];
  }
}

function kindOf(before, after) {
  const [left, right] = [before || -after, after || -before];
  if (left < 0 && right > 0) {
    return 1;
  }
  return left > 0 && right < 0 ? -1 : 0;
}

// A root between two heels at which the function has different signs: the secant, whose end that
// stays is halved (Illinois), so that both ends close in.
function rootOf(f, low, high) {
  let [a, b, fa, fb] = [low, high, f(low), f(high)];
  for (let i = 0; i < 80 && Math.abs(b - a) > 1e-15 && fb !== 0; i += 1) {
    const middle = b - (fb * (b - a)) / (fb - fa);
    const fm = f(middle);
    if (fm * fb < 0) {
      [a, fa] = [b, fb];
    } else {
      fa *= 0.5;
    }
    if (middle === b) {
      break;
    }
    [b, fb] = [middle, fm];
  }
  return b;
}

// The lowest well within ±`limit`, and the heels of the barriers beside it; null without a well.
function lowestWell(net, rests, limit) {
  const inside = rests.filter(({ heel }) => Math.abs(heel) < limit);
  const points = [{ heel: -limit, kind: -2 }, ...inside, { heel: limit, kind: -2 }];
  const heights = points.map(({ heel }) => net.potential(heel));
  let low = -1;
  points.forEach(({ kind }, i) => {
    low = kind === 1 && (low < 0 || heights[i] < heights[low] - ZERO_LEVER) ? i : low;
  });
  if (low < 0) {
    return null;
  }
  let [port, starboard] = [low - 1, low + 1];
  for (let i = low - 1; i >= 0; i -= 1) {
    port = heights[i] > heights[port] ? i : port;
  }
  for (let i = low + 1; i < points.length; i += 1) {
    starboard = heights[i] > heights[starboard] ? i : starboard;
  }
  return { port: points[port].heel, starboard: points[starboard].heel };
}

// The stable heel downhill from `start`, to starboard from a crest; NaN where there is none.
function staticHeel(net, rests, at) {
  const start = net.levers.inside(at);
  const near = rests.filter(({ heel }) => Math.abs(heel - start) <= SAME_ANGLE);
  const rest = near.find(({ kind }) => kind !== -1);
  if (rest) {
    return rest.heel;
  }
  const stable = rests.filter(({ kind }) => kind === 1).map(({ heel }) => heel);
  if (near.length || net.value(start) < 0) {
    return stable.find((heel) => heel > start + SAME_ANGLE) ?? NaN;
  }
  return stable.filter((heel) => heel < start - SAME_ANGLE).pop() ?? NaN;
}

// What she does: the first verdict of the table that holds. `about`: net lever, rests, well, gm,
// offCentre, lever, inertia, static heel; heel [rad] and its rate [rad/s].
function verdictOf(about, heel, rate, capsized) {
  const holds = conditionsOf(about, heel, rate, capsized);
  return page.verdicts.find(({ name }) => name === "rolls" || holds[name]()).name;
}

function conditionsOf(about, heel, rate, capsized) {
  const border = page.borders;
  const { net, rests, well, gm, offCentre, lever } = about;
  const near = ({ heel: at, kind }) => kind === 1 && Math.abs(heel - at) <= border.upright + SAME_ANGLE;
  const atRest = Math.abs(rate) < border.slow && rests.some(near);
  const upright = Math.abs(heel) < border.upright - SAME_ANGLE;
  const safe = gm >= -border.zero_gm;
  const pushed = Math.abs(lever) >= border.none;
  return {
    capsized: () => capsized,
    "going-over": () => goesOver(net, well, heel, rate),
    neutral: () => safe && !pushed && withoutArm(net, heel),
    flopping: () => !safe && flops(about, heel, rate),
    loll: () => atRest && !upright && !safe,
    "held-over": () => atRest && !upright && pushed,
    list: () => atRest && !upright && Math.abs(offCentre) >= border.none,
    upright: () => atRest && upright && safe,
    rights: () => safe && Math.abs(about.staticHeel) <= border.upright + SAME_ANGLE,
  };
}

function goesOver(net, well, heel, rate) {
  const lever = net.value(heel);
  const toStarboard = well ? heel > well.starboard : lever < -ZERO_LEVER;
  const toPort = well ? heel < well.port : lever > ZERO_LEVER;
  return (toStarboard && rate >= 0) || (toPort && rate <= 0);
}

function withoutArm(net, heel) {
  const { no_arm: most, around, steps } = page.borders;
  for (let i = 0; i < steps; i += 1) {
    if (Math.abs(net.value(heel + around * ((2 * i) / (steps - 1) - 1))) >= most) {
      return false;
    }
  }
  return Math.abs(net.value(heel)) < most;
}

function flops({ net, rests, inertia }, heel, rate) {
  const stable = rests.filter(({ kind }) => kind === 1).map((rest) => rest.heel);
  const after = stable.findIndex((at) => at >= heel);
  if (after <= 0) {
    return false;
  }
  const between = rests.filter(
    (rest) => rest.kind === -1 && rest.heel > stable[after - 1] && rest.heel <= stable[after],
  );
  const crest = Math.max(-Infinity, ...between.map((rest) => net.potential(rest.heel)));
  const energy = 0.5 * inertia * rate * rate + net.potential(heel);
  return Number.isFinite(crest) && energy > crest + ZERO_LEVER;
}
