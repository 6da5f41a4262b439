// The equation of roll, per unit weight, with y = φ − s α and ψ = φ − α (relative excitation):
//   (k²/g) (φ″ − s α″) = −(k²/g) (b1 p + b2 |p| p + b3 p³)
//                        − [KN(ψ, ζ) − KG sin ψ − YG cos ψ] + M,
// p = ψ′, M the wind's lever and others; ψ = φ and + GM α on the right with absolute excitation.
// Angles in radians, levers in metres, seconds. Stepped in true time by the classical method of
// Runge and Kutta, never over a corner of the timeline.

const LONGEST_STEP = 0.05; // [s]
const STEP_OF_STIFFEST = 0.08; // greatest step times the greatest frequency of a small roll

class Physics {
  // `file`: the keys of a scenario; `hull`: its Levers and KB; `storm`: sampled channels by name.
  constructor(file, hull, storm) {
    const { ship, sea, wind } = file;
    Object.assign(this, { file, hull, levers: hull.levers, storm });
    this.weight = ship.displacement_t * GRAVITY; // [kN]
    this.inertia = ship.inertia.gyradius_m ** 2 / GRAVITY; // k²/g [m s²]
    this.damping = [ship.damping.linear_per_s, ship.damping.quadratic, ship.damping.cubic_s];
    this.timeline = new Timeline(file);
    this.relative = (sea.excitation ?? "relative") === "relative";
    this.added = this.relative ? (ship.inertia.added_share ?? 0) : 0;
    this.share = (this.relative ? 1 : 0) - this.added;
    this.gmPerM = (ship.levers_in_waves && ship.levers_in_waves.gm_per_m) || 0;
    this.ramp = sea.ramp_s ?? 0;
    this.wave = sea.kind === "regular" ? regularWave(sea, ship) : null;
    this.power = LAW_POWERS[(wind && wind.heel_law) || "constant"];
    this.windage = wind ? this.windagePerSpeedSquared(wind) : 0;
    const { kg, freeSurface } = this.timeline.base;
    this.absoluteGm = this.relative ? 0 : this.levers.slope(0) - kg - freeSurface;
    this.limits = this.limitsOf(file.limits || {});
    this.settle = file.run.settle_s ?? 0;
    this.step = this.stepOf(kg);
  }

  windagePerSpeedSquared(wind) {
    const { area_m2: area, lever_m: lever } = this.file.ship.windage;
    const force = 0.5 * AIR_DENSITY * (wind.drag_coefficient ?? 1.22) * area; // [N per (m/s)²]
    return ((wind.from === "port" ? 1 : -1) * force * lever) / (this.weight * 1000);
  }

  limitsOf(limits) {
    const end = Math.min(-this.levers.heel_min, this.levers.heel_max);
    const radians = (angle) => (angle === undefined ? Infinity : angle / RADIAN);
    const [port, starboard] = this.hull.flooding || [limits.flooding_deg, limits.flooding_deg];
    return {
      roll: radians(limits.roll_deg),
      port: radians(port),
      starboard: radians(starboard),
      capsize: Math.min(radians(limits.capsize_deg), end),
    };
  }

  stepOf(kg) {
    const { slope, cosine } = this.levers.grid;
    const stiffest = slope.reduce((most, each, i) => Math.max(most, Math.abs(each - kg * cosine[i])), 0.1);
    return Math.min(LONGEST_STEP, STEP_OF_STIFFEST * Math.sqrt(this.inertia / stiffest));
  }

  // Slope α [rad], its rate [rad/s] and the effective elevation ζ [m].
  water(time, now) {
    let [slope, rate, elevation] = [0, 0, 0];
    if (this.wave) {
      const { frequency, phase, slope: a, elevation: z } = this.wave;
      const [s, c] = [Math.sin(frequency * time + phase), Math.cos(frequency * time + phase)];
      [slope, rate, elevation] = [-a * s, -a * frequency * c, z * c];
    }
    if (this.storm.slope) {
      [slope, rate] = this.storm.slope.at(time);
    }
    if (this.storm.elevation) {
      [elevation] = this.storm.elevation.at(time);
    }
    const [ramp, rise] = rampOf(time, this.ramp);
    const factor = ramp * now.waves;
    return [factor * slope, factor * rate + (rise * now.waves + ramp * now.growth) * slope, factor * elevation];
  }

  windSpeed(time, now) {
    return now.gusty + (this.storm.wind ? this.storm.wind.at(time)[0] : 0);
  }

  // The wind's heeling lever [m] upright, by the weight of the moment.
  windLever(time, now) {
    const speed = this.windSpeed(time, now);
    return (this.windage * speed * Math.abs(speed)) / now.mass;
  }

  // What is in force, and how far the tanks are along their filling; `filled` of a file holds that.
  inForce(time, from = time) {
    const now = this.timeline.inForce(time, from);
    const { filling } = this.hull;
    now.filled = filling ? (this.file.filled ?? filling.coordinate(time, from)) : 0;
    return now;
  }

  // What moving liquid adds: value, slope or integral of its lever.
  liquid(what, heel, filled) {
    const { filling } = this.hull;
    return filling ? filling.between(what, this.levers.inside(heel), filled) : 0;
  }

  // KN [m] on a wave.
  kn(heel, elevation) {
    const { waves } = this.hull;
    if (waves) {
      return waves.kn(this.levers.inside(heel), elevation);
    }
    return this.levers.kn(heel) + this.gmPerM * elevation * Math.sin(this.levers.inside(heel));
  }

  // GZ [m] with the G in force, free surfaces included.
  gz(heel, elevation, now) {
    const weight = (now.kg + now.freeSurface) * Math.sin(heel) + now.offCentre * Math.cos(heel);
    return this.kn(heel, elevation) + this.liquid(VALUE, heel, now.filled) - weight;
  }

  acceleration(time, y, rate, from) {
    const now = this.inForce(time, from);
    const [slope, slopeRate, elevation] = this.water(time, now);
    const fall = Math.cos(y + this.added * slope) ** this.power;
    let lever = now.lever + this.windLever(time, now) * fall + this.absoluteGm * slope;
    lever -= this.gz(y - this.share * slope, elevation, now);
    const p = rate - this.share * slopeRate;
    const [b1, b2, b3] = this.damping;
    return lever / this.inertia - p * (b1 + b2 * Math.abs(p) + b3 * p * p);
  }

  // The state [y, y′] after a step of `h` [s].
  stepped(time, [y, rate], h) {
    const f = (t, a, b) => this.acceleration(t, a, b, time);
    const half = 0.5 * h;
    const a1 = f(time, y, rate);
    const a2 = f(time + half, y + half * rate, rate + half * a1);
    const a3 = f(time + half, y + half * (rate + half * a1), rate + half * a2);
    const a4 = f(time + h, y + h * (rate + half * a2), rate + h * a3);
    return [y + h * rate + ((h * h) / 6) * (a1 + a2 + a3), rate + (h / 6) * (a1 + 2 * a2 + 2 * a3 + a4)];
  }

  // Roll, its rate, heel and its rate of a state, with slope, elevation and what is in force.
  motion(time, [y, rate]) {
    const now = this.inForce(time);
    const [slope, slopeRate, elevation] = this.water(time, now);
    return {
      now, slope, elevation,
      roll: y + this.added * slope,
      rollRate: rate + this.added * slopeRate,
      heel: y - this.share * slope,
      heelRate: rate - this.share * slopeRate,
    };
  }

  // The state of a roll [rad] and its rate [rad/s].
  stateOf(time, roll, rollRate) {
    const [slope, slopeRate] = this.water(time, this.timeline.inForce(time));
    return [roll - this.added * slope, rollRate - this.added * slopeRate];
  }
}
