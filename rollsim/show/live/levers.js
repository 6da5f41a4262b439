// KN of a hull over heel [rad], the same pieces as the program's own curve: a cubic spline, powers,
// a sine and the wall-sided term. Nothing is fitted here, nothing is extrapolated.

const GRID_STEP = 0.1 / RADIAN;

class Levers {
  // `heel_min`, `heel_max` and `knots` [rad]; `coefficients` four rows over the pieces, highest
  // power first; `powers` of φ from the first on; `sine` and `wall` [m].
  constructor(data) {
    Object.assign(this, data);
    this.wholes = [0];
    for (let i = 0; i + 1 < this.knots.length; i += 1) {
      this.wholes.push(this.wholes[i] + this.area(i, this.knots[i + 1] - this.knots[i]));
    }
    this.atUpright = this.knots.length ? this.splineIntegral(0) : 0;
    this.grid = this.makeGrid();
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
