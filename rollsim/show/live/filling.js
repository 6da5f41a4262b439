// What liquid that moves adds to the levers while tanks fill, by moments, exact for boxes: a lever for
// each of a row of states, and where in that row the tanks are in time. Radians, metres.

// Liquid in a rectangle filled by a share, at a heel: its centroid from the rectangle's middle and the
// breadth of its surface. A part below half full is a trapezium across the box, one up it, or a
// triangle, seen from its lowest corner; above half full the air has these forms.
function settled(b, h, part, heel) {
  if (part <= 0 || part >= 1) {
    return { y: 0, z: part >= 1 ? 0 : -0.5 * h, surface: 0 };
  }
  const [sine, cosine] = [Math.sin(heel), Math.cos(heel)];
  const [u, v] = [Math.abs(sine), Math.abs(cosine)];
  const less = Math.min(part, 1 - part);
  const { x, z, surface } = lowestPart(b, h, less, u / v, v / u, u, v);
  const scale = part > 0.5 ? less / part : 1;
  return {
    y: Math.sign(sine) * scale * (0.5 * b - x),
    z: (cosine < 0 ? -1 : 1) * scale * (z - 0.5 * h),
    surface,
  };
}

function lowestPart(b, h, part, up, across, u, v) {
  if (part * h >= 0.5 * up * b) {
    const [depth, lift] = [part * h, up * b];
    const [x, z] = [0.5 * b - (up * b * b) / (12 * depth), 0.5 * depth + lift ** 2 / (24 * depth)];
    return { x, z, surface: b / v };
  }
  if (part * b >= 0.5 * across * h) {
    const [wide, lean] = [part * b, across * h];
    const [x, z] = [0.5 * wide + lean ** 2 / (24 * wide), 0.5 * h - (across * h * h) / (12 * wide)];
    return { x, z, surface: h / u };
  }
  const [leg, rise] = [Math.sqrt(2 * part * b * h * across), Math.sqrt(2 * part * b * h * up)];
  return { x: leg / 3, z: rise / 3, surface: Math.hypot(leg, rise) };
}

// The lever of liquids beyond what the rise of G makes of them: [value, slope, integral].
function liquidLever({ share, breadth, height, filling, rises }, heel) {
  const [sine, cosine] = [Math.sin(heel), Math.cos(heel)];
  const sums = [0, 0, 0];
  breadth.forEach((b, i) => {
    const { y, z, surface } = settled(b, height[i], filling[i], heel);
    const moved = z - 0.5 * height[i] * (filling[i] - 1);
    const turning = -y * sine + moved * cosine;
    const area = filling[i] > 0 ? filling[i] * b * height[i] : 1;
    sums[0] += -share[i] * (y * cosine + moved * sine) + rises[i] * sine;
    sums[1] += -share[i] * (turning + surface ** 3 / (12 * area)) + rises[i] * cosine;
    sums[2] += share[i] * turning + rises[i] * (1 - cosine);
  });
  return sums;
}

const VALUE = 0;
const SLOPE = 1;
const INTEGRAL = 2;

class Filling {
  // `times` of pieces [s], in which the coordinate goes straight between `at`; arrays of the page hold
  // the liquid of the states; `start` is that of t = 0, which the levers hold.
  constructor({ times, at, breadth, height, share, filling, rises, start }) {
    Object.assign(this, { times, at, start, rows: new Map() });
    const count = breadth.length;
    const cut = (index, state) => arrays[index].slice(state * count, (state + 1) * count);
    const states = arrays[share].length / count;
    this.states = Array.from({ length: states }, (_, state) => ({
      breadth, height, share: cut(share, state), filling: cut(filling, state), rises: cut(rises, state),
    }));
  }

  // The coordinate at `time` [s] in the piece in which the present step began, at `from`: between two
  // pieces it jumps.
  coordinate(time, from) {
    let i = this.times.length - 1;
    while (i > 0 && this.times[i][0] > from + SAME_TIME) {
      i -= 1;
    }
    const [[start, end], [first, last]] = [this.times[i], this.at[i]];
    return first + Math.min(Math.max((time - start) / (end - start), 0), 1) * (last - first);
  }

  // VALUE, SLOPE or INTEGRAL at a heel and coordinate: straight between two states.
  between(what, heel, coordinate) {
    const low = Math.min(Math.max(Math.floor(coordinate), 0), this.states.length - 2);
    const part = coordinate - low;
    const one = (state) => liquidLever(this.states[state], heel)[what];
    const before = this.start ? liquidLever(this.start, heel)[what] : 0;
    return (1 - part) * one(low) + (part === 0 ? 0 : part * one(low + 1)) - before;
  }

  // Values and slopes over a grid of heels; those of a state are worked out once.
  onGrid(heels, coordinate) {
    const low = Math.min(Math.max(Math.floor(coordinate), 0), this.states.length - 2);
    const part = coordinate - low;
    const [one, other] = [this.rowsOf(low, heels), this.rowsOf(low + 1, heels)];
    return [VALUE, SLOPE].map((k) => one[k].map((each, i) => (1 - part) * each + part * other[k][i]));
  }

  rowsOf(state, heels) {
    if (!this.rows.has(state)) {
      const then = (heel) => (this.start ? liquidLever(this.start, heel) : [0, 0]);
      const each = Array.from(heels, (heel) => [liquidLever(this.states[state], heel), then(heel)]);
      const row = (k) => Float64Array.from(each, ([one, other]) => one[k] - other[k]);
      this.rows.set(state, [VALUE, SLOPE].map(row));
    }
    return this.rows.get(state);
  }
}
