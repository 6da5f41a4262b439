// What forces her: a regular wave in constants, storms in samples, gusts, and the laws of heel.

const GRAVITY = 9.80665; // [m/s²]
const AIR_DENSITY = 1.222; // [kg/m³]
const ALIGNED = 1e-9 / RADIAN;
const LAW_POWERS = { constant: 0, cos: 1, cos2: 2 };
const FADE = 20; // [s] over which a storm dies down after its last sample

const snapped = (value) => (Math.abs(value) < ALIGNED ? 0 : value);
const sineOver = (x) => (x > 0 ? Math.sin(x) / x : 1);

// Effective over wave slope of the equivalent section, for a wave of frequency ω [rad/s].
function sectionCoefficient(omega, ship, heading) {
  const number = (omega * omega) / GRAVITY;
  const u = 0.5 * number * Math.abs(Math.sin(heading)) * ship.beam_m;
  const v = 0.5 * number * Math.abs(Math.cos(heading)) * ship.length_m;
  const depth = number * ship.draught_m;
  return sineOver(u) * sineOver(v) * (depth > 0 ? -Math.expm1(-depth) / depth : 1);
}

// Effective over wave elevation amidships: 2 v sin v / (π² − v²).
function effectiveElevation(omega, length, heading) {
  const along = Math.abs(snapped(Math.cos(heading)));
  const v = ((0.5 * omega * omega) / GRAVITY) * along * length;
  const rest = Math.PI - v;
  if (Math.abs(rest) < 1e-4) {
    return ((2 * v) / (Math.PI + v)) * (1 - (rest * rest) / 6);
  }
  return (2 * v * Math.sin(v)) / (rest * (Math.PI + v));
}

// A regular wave as she meets it: frequency [rad/s], phase, slope [rad] and elevation [m].
function regularWave(sea, ship) {
  const omega = (2 * Math.PI) / sea.period_s;
  const heading = (sea.heading_deg ?? 90) / RADIAN;
  const amplitude = 0.5 * sea.height_m;
  const along = (sea.ship_speed_mps ?? 0) * snapped(Math.cos(heading));
  const given = sea.slope_coefficient ?? "section";
  const share = given === "section" ? sectionCoefficient(omega, ship, heading) : given;
  return {
    frequency: omega - (omega * omega * along) / GRAVITY,
    phase: (sea.phase_deg ?? 0) / RADIAN,
    slope: (share * omega * omega * snapped(Math.sin(heading)) * amplitude) / GRAVITY,
    elevation: effectiveElevation(omega, ship.length_m, heading) * amplitude,
  };
}

// A sampled channel: rows of value, rate and curvature, by central differences of eighth order.
class Channel {
  constructor(samples, step, spare) {
    [this.samples, this.step, this.spare] = [samples, step, spare];
    this.end = (samples.length - 1 - 2 * spare) * step;
    this.rates = this.differences([4 / 5, -1 / 5, 4 / 105, -1 / 280], 0, -1, step);
    const second = [8 / 5, -1 / 5, 8 / 315, -1 / 560];
    this.bends = this.differences(second, -205 / 72, 1, step * step);
  }

  differences(weights, middle, mirror, scale) {
    const values = this.samples;
    return Float64Array.from({ length: values.length - 2 * this.spare }, (_, row) => {
      const i = row + this.spare;
      let sum = middle * values[i];
      weights.forEach((weight, k) => {
        sum += weight * (values[i + k + 1] + mirror * values[i - k - 1]);
      });
      return sum / scale;
    });
  }

  // Value and rate at `time` [s]: the quintic between two rows. After its end it dies down.
  at(time) {
    const left = (time - this.end) / FADE;
    const inside = Math.min(Math.max(time, 0), this.end);
    const i = Math.min(Math.floor(inside / this.step), this.rates.length - 2);
    const [value, rate] = this.between(i, inside / this.step - i);
    return left <= 0 ? [value, rate] : [value * Math.max(1 - left, 0), 0];
  }

  between(i, x) {
    const [h, j] = [this.step, i + this.spare];
    const [f0, d0, s0] = [this.samples[j], this.rates[i] * h, 0.5 * this.bends[i] * h * h];
    const [f1, d1, s1] = [this.samples[j + 1], this.rates[i + 1] * h, 0.5 * this.bends[i + 1] * h * h];
    const [g, e, k] = [f1 - f0 - d0 - s0, d1 - d0 - 2 * s0, s1 - s0];
    const [c3, c4, c5] = [10 * g - 4 * e + k, -15 * g + 7 * e - 2 * k, 6 * g - 3 * e + k];
    return [
      f0 + x * (d0 + x * (s0 + x * (c3 + x * (c4 + x * c5)))),
      (d0 + x * (2 * s0 + x * (3 * c3 + x * (4 * c4 + x * 5 * c5)))) / h,
    ];
  }
}

// Factor on the sea while it grows over `length` [s], and the factor's rate [1/s].
function rampOf(time, length) {
  if (time >= length) {
    return [1, 0];
  }
  const turn = Math.PI / length;
  return [0.5 * (1 - Math.cos(turn * time)), 0.5 * turn * Math.sin(turn * time)];
}

// Factor of a gust on the mean wind; `from` is where the present step began, which decides at corners.
function gustFactor(gust, time, from) {
  const [start, rise] = [gust.at_s, gust.rise_s];
  const [top, release, end] = [start + rise, start + rise + gust.hold_s, start + 2 * rise + gust.hold_s];
  const began = (corner) => from >= corner - SAME_TIME;
  if (!began(start) || began(end)) {
    return 1;
  }
  if (began(top) && !began(release)) {
    return gust.speed_factor;
  }
  const passed = began(top) ? end - time : time - start;
  return 1 + ((gust.speed_factor - 1) * passed) / rise;
}
