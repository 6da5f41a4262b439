// KN of a hull over heel [rad], the same pieces as the program's own curve: a cubic spline, powers,
// a sine and the wall-sided term. Nothing is fitted here, nothing is extrapolated.

const GRID_STEP = 0.1 / RADIAN;

class Levers {
  // `heel_min`, `heel_max` [rad]; of arrays of the page `knots` [rad] and `coefficients`, four rows over
  // the pieces, highest power first; `powers` of φ from the first on; `sine` and `wall` [m].
  constructor(data) {
    const coefficients = data.coefficients.map((index) => arrays[index]);
    Object.assign(this, data, { knots: arrays[data.knots], coefficients });
    this.wholes = [0];
    for (let i = 0; i + 1 < this.knots.length; i += 1) {
      this.wholes.push(this.wholes[i] + this.area(i, this.knots[i + 1] - this.knots[i]));
    }
    this.atUpright = this.knots.length ? this.splineIntegral(0) : 0;
  }

  get grid() {
    this.gridMade = this.gridMade || this.makeGrid();
    return this.gridMade;
  }

  inside(heel) {
    return Math.min(Math.max(heel, this.heel_min), this.heel_max);
  }

  piece(heel) {
    let [low, high] = [0, this.knots.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (this.knots[middle] <= heel) {
        low = middle;
      } else {
        high = middle;
      }
    }
    return low;
  }

  area(i, x) {
    const [a, b, c, d] = this.coefficients;
    return x * (d[i] + x * (c[i] / 2 + x * (b[i] / 3 + (x * a[i]) / 4)));
  }

  splineIntegral(heel) {
    const i = this.piece(heel);
    return this.wholes[i] + this.area(i, heel - this.knots[i]);
  }

  // KN [m].
  kn(at) {
    const heel = this.inside(at);
    const sine = Math.sin(heel);
    let value = this.sine * sine;
    if (this.wall) {
      value += this.wall * Math.tan(heel) ** 2 * sine;
    }
    for (let i = this.powers.length - 1, power = 0; i >= 0; i -= 1) {
      power = (power + this.powers[i]) * heel;
      value += i === 0 ? power : 0;
    }
    if (this.knots.length) {
      const i = this.piece(heel);
      const x = heel - this.knots[i];
      const [a, b, c, d] = this.coefficients;
      value += d[i] + x * (c[i] + x * (b[i] + x * a[i]));
    }
    return value;
  }

  // Its slope [m/rad]: upright, the height of M.
  slope(at) {
    const heel = this.inside(at);
    const c = Math.cos(heel);
    let value = this.sine * c;
    if (this.wall) {
      value += this.wall * c * Math.tan(heel) ** 2 * (2 / c ** 2 + 1);
    }
    this.powers.forEach((factor, i) => {
      value += factor * (i + 1) * heel ** i;
    });
    if (this.knots.length) {
      const i = this.piece(heel);
      const x = heel - this.knots[i];
      const [a, b, linear] = this.coefficients;
      value += linear[i] + x * (2 * b[i] + 3 * x * a[i]);
    }
    return value;
  }

  // Its integral from upright [m rad].
  integral(at) {
    const heel = this.inside(at);
    const c = Math.cos(heel);
    let value = this.sine * (1 - c) + (this.wall * (1 - c) ** 2) / c;
    this.powers.forEach((factor, i) => {
      value += (factor * heel ** (i + 2)) / (i + 2);
    });
    return this.knots.length ? value + this.splineIntegral(heel) - this.atUpright : value;
  }

  // The metacentre [y, z] in ship axes.
  metacentre(heel) {
    return inShipAxes(heel, this.kn(heel), this.slope(heel));
  }

  // The centre of buoyancy [y, z], from its upright height `kb`; none where that is not known.
  buoyancy(heel, kb) {
    return kb === null ? null : inShipAxes(heel, this.kn(heel), kb - this.integral(heel));
  }

  // Even heels, knots and upright, with all that a righting curve over them needs.
  makeGrid() {
    const steps = Math.max(2, Math.ceil((this.heel_max - this.heel_min) / GRID_STEP));
    const width = (this.heel_max - this.heel_min) / steps;
    const even = Array.from({ length: steps + 1 }, (_, i) => this.heel_min + i * width);
    even[steps] = this.heel_max;
    const upright = this.heel_min < 0 && this.heel_max > 0 ? [0] : [];
    const heel = [...new Set([...even, ...this.knots, ...upright])].sort((a, b) => a - b);
    return {
      heel: Float64Array.from(heel),
      kn: Float64Array.from(heel, (phi) => this.kn(phi)),
      slope: Float64Array.from(heel, (phi) => this.slope(phi)),
      sine: Float64Array.from(heel, Math.sin),
      cosine: Float64Array.from(heel, Math.cos),
    };
  }
}

function inShipAxes(heel, along, normal) {
  const [c, s] = [Math.cos(heel), Math.sin(heel)];
  return [along * c - normal * s, along * s + normal * c];
}

// KN over heel at even elevations [m]: at each of the `knots` [rad] value and slope, which fix the same
// cubic pieces; one side stands for both where the levers are `odd`.
class WaveLevers {
  constructor({ first, step, levels, odd, knots, value, slope }) {
    Object.assign(this, { first, step, levels, odd });
    [this.knots, this.value, this.slope] = [knots, value, slope].map((index) => arrays[index]);
  }

  // Straight between two levels; the first and the last hold beyond them.
  kn(heel, elevation) {
    const level = Math.min(Math.max((elevation - this.first) / this.step, 0), this.levels - 1);
    const j = Math.min(Math.floor(level), this.levels - 2);
    const side = this.odd && heel < 0 ? -1 : 1;
    const [i, x] = this.place(side * heel);
    const [below, above] = [this.between(j, i, x), this.between(j + 1, i, x)];
    return side * (below + (level - j) * (above - below));
  }

  // The piece of a heel, and where in it.
  place(heel) {
    const { knots } = this;
    let [low, high] = [0, knots.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      [low, high] = knots[middle] <= heel ? [middle, high] : [low, middle];
    }
    return [low, (heel - knots[low]) / (knots[high] - knots[low])];
  }

  between(level, i, x) {
    const k = level * this.knots.length + i;
    const width = this.knots[i + 1] - this.knots[i];
    const rise = this.value[k + 1] - this.value[k];
    const [a, b] = [this.slope[k] * width - rise, rise - this.slope[k + 1] * width];
    return this.value[k] + x * rise + x * (1 - x) * (a * (1 - x) + b * x);
  }
}
