// One ship under way: her file, what has been done to her, where she is. Files are never changed in
// place, so that any earlier one can be gone back to. Angles at the border in degrees.

const OUTCOMES = ["survived", "roll_limit", "flooded", "capsized"];
const WAVE_OVER = 5; // [s] over which the height of the waves follows what is set
const LEAST_WAVE = 1e-4; // [m] height of the regular sea of a calm in which waves are raised later
const WAVE_PERIOD = 10; // [s] of the waves where none was given
const FLOPPED = 3; // heel [degree] to the other side from which she has flopped, where GM is negative
const REMEMBERED = 1; // [s] between the moments that can be gone back to
const KEYS_SET = {
  kg_m: "ship.gravity.kg_m",
  off_centre_m: "ship.gravity.off_centre_m",
  free_surface_m: "ship.gravity.free_surface_m",
  wind_mps: "wind.speed_mps",
  wave_height_m: "sea.height_m",
};
const BOUNDS = { // least and greatest of what may be set, in the order of their working
  wave_period_s: [0.5, 59], kg_m: [-19, 59], off_centre_m: [-59, 59], free_surface_m: [0, 19],
  wind_mps: [0, 99], wave_height_m: [0, 39], heeling_lever_m: [-9, 9],
};

class LiveShip {
  constructor(file, hull, storm, tanks) {
    this.looked = () => {}; // called every second that she lives through
    this.tanks = tanks;
    this.begin(file, hull, storm, null);
  }

  // A new base file: the clock stands at 0 s and she at its start; `aboard` is what stays on board.
  begin(file, hull, storm, aboard) {
    const { roll_deg: roll, roll_rate_deg_per_s: rate } = file.start;
    this.aboard = aboard || new Aboard(this, [], this.tanks);
    Object.assign(this, { hull, storm, time: 0, begun: false, held: false, nextPeriod: null });
    this.use(file);
    this.aboard.rise = riseBy(this.aboard.tanks, 0, file.ship.displacement_t);
    this.state = this.physics.stateOf(0, roll / RADIAN, rate / RADIAN);
    this.record = { outcome: 0, most: 0, flops: 0, side: 0, turned: roll, way: 0 };
    this.past = [];
    this.trace = [];
    this.remember();
    this.watch(this.physics.motion(0, this.state));
  }

  use(file) {
    this.file = file;
    this.physics = new Physics(file, this.hull, this.storm);
    this.known = null;
  }

  remember() {
    const { time, state, file, record, begun } = this;
    const aboard = this.aboard.kept();
    this.past.push({ time, state, file, record: { ...record }, begun, aboard });
    this.known = null;
  }

  // Set values by their names in the contract; what is set while she rolls is kept as an event.
  set(values) {
    checkBounds(values, this.file.sea);
    for (const name of Object.keys(BOUNDS).filter((each) => each in values)) {
      const value = values[name];
      if (name === "wave_period_s") {
        this.setPeriod(value);
      } else if (name === "heeling_lever_m") {
        this.push(value - this.physics.timeline.inForce(this.time).lever);
      } else {
        this.setKey(KEYS_SET[name], value);
      }
    }
    this.remember();
  }

  setPeriod(period) {
    this.nextPeriod = period;
    if (!this.begun && this.file.sea.kind === "regular") {
      this.rebase({ ...this.file, sea: { ...this.file.sea, period_s: period } });
    }
  }

  // A heeling lever [m] more, from now on.
  push(lever, over = 0) {
    if (lever !== 0) {
      this.act({ kind: "heeling-lever", lever_m: lever, over_s: over });
    }
  }

  // An event from now on; weights and levers in the words of the scenario file.
  act(event) {
    const { kind, ...rest } = event;
    this.use({ ...this.file, events: [...this.file.events, { kind, at_s: this.time, ...rest }] });
    this.remember();
  }

  setKey(key, value) {
    if (key === "wind.speed_mps" && !this.file.wind) {
      this.use({ ...this.file, wind: { speed_mps: 0, from: "port" } });
    }
    if (key === "sea.height_m") {
      this.setWaves(value);
    } else if (this.begun || this.hull.filling) {
      this.change(key, value, 0); // where tanks fill G follows from the loading, and a base has none
    } else {
      this.rebase(withValue(this.file, key, value));
    }
  }

  setWaves(height) {
    const { sea } = this.file;
    const period = this.nextPeriod ?? sea.period_s ?? WAVE_PERIOD;
    if (this.begun) {
      if (sea.kind === "calm" && height > 0) {
        const small = { ...sea, kind: "regular", height_m: LEAST_WAVE, period_s: period };
        this.use({ ...this.file, sea: small });
      }
      if (this.file.sea.kind === "regular") {
        this.change("sea.height_m", height, WAVE_OVER);
      }
    } else {
      this.rebase({ ...this.file, sea: seaOf(sea, height, period) });
    }
  }

  // G to a height [m], whatever is on board besides.
  raiseG(height) {
    const now = this.physics.timeline.inForce(this.time);
    this.setKey("ship.gravity.kg_m", now.set.kg + (height - now.kg) * now.mass);
    this.remember();
  }

  // The value of a key goes to another from now on; what of an earlier change is left, is dropped.
  change(key, to, over) {
    const [now, what] = [this.time, SETTINGS[key]];
    const height = what === "waves" ? this.file.sea.height_m : 1;
    const inForce = this.physics.timeline.inForce(now).set[what] * height;
    const events = this.file.events.flatMap((event) => {
      const ends = event.at_s + overOf(event);
      if (event.key !== key || ends <= now || event.at_s > now + over) {
        return event.key === key && event.at_s === now ? [] : [event];
      }
      return event.at_s < now ? [{ ...event, to: inForce, over_s: now - event.at_s }] : [];
    });
    this.use({ ...this.file, events: [...events, { kind: "change", key, at_s: now, over_s: over, to }] });
  }

  // Another base while the clock has not begun: she lies as she did.
  rebase(file) {
    const { roll, rollRate } = this.physics.motion(this.time, this.state);
    this.use(file);
    this.state = this.physics.stateOf(this.time, roll, rollRate);
  }

  gust(factor, rise, hold) {
    const { wind } = this.file;
    const blows = (gust) => gust.at_s + 2 * gust.rise_s + gust.hold_s > this.time
      && gust.at_s < this.time + 2 * rise + hold;
    if (!wind || (wind.gust || []).some(blows)) {
      return false;
    }
    const gust = { at_s: this.time, rise_s: rise, hold_s: hold, speed_factor: factor, by_hand: true };
    this.use({ ...this.file, wind: { ...wind, gust: [...(wind.gust || []), gust] } });
    this.remember();
    return true;
  }

  // Let go: the clock starts anew, all that was set so far is the base file, its values the start.
  release({ roll_deg: roll, roll_rate_deg_per_s: rate = 0 } = {}) {
    const start = { roll_deg: roll ?? this.motion().roll * RADIAN, roll_rate_deg_per_s: rate };
    checkStart(start, this.physics.limits.capsize * RADIAN);
    this.begin({ ...folded(this), start }, this.hull, this.storm, this.aboard.settled(this));
  }

  // Hold her at a roll [degree]: the clock stands while she is held.
  hold(roll) {
    this.held = true;
    this.state = this.physics.stateOf(this.time, roll / RADIAN, 0);
    this.known = null;
  }

  motion() {
    return this.physics.motion(this.time, this.state);
  }

  // Step on by so many seconds, or until she has capsized.
  advance(seconds) {
    const until = this.time + seconds;
    while (this.time < until && this.record.outcome < 3 && !this.held) {
      this.aboard.tend();
      const corner = this.physics.timeline.nextCorner(this.time);
      const last = this.past[this.past.length - 1].time + REMEMBERED;
      const end = Math.min(until, corner, last > this.time + SAME_TIME ? last : until);
      const steps = Math.max(Math.ceil((end - this.time) / this.physics.step - 1e-9), 1);
      const [start, length] = [this.time, (end - this.time) / steps];
      for (let i = 1; i <= steps && this.record.outcome < 3; i += 1) {
        this.stepTo(i === steps ? end : start + i * length);
      }
      if (this.time >= last - SAME_TIME) {
        this.remember();
        this.looked();
      }
    }
    this.known = null;
  }

  stepTo(time) {
    const { physics } = this;
    const next = physics.stepped(this.time, this.state, time - this.time);
    const motion = physics.motion(time, next);
    const excess = (each) => Math.max(Math.abs(each.roll), Math.abs(each.heel)) - physics.limits.capsize;
    this.begun = true;
    if (excess(motion) >= 0) {
      const before = excess(this.motion());
      const share = Math.min(before / (before - excess(motion)), 1);
      const at = this.time + share * (time - this.time);
      this.state = physics.stepped(this.time, this.state, at - this.time);
      [this.time, this.record.outcome] = [at, 3];
      this.watch(physics.motion(at, this.state));
      return;
    }
    [this.time, this.state] = [time, next];
    this.watch(motion);
  }

  // Limits passed, the greatest heel, how often she went over to another side; the trace.
  watch({ roll, heel, heelRate, slope, now }) {
    const { limits, settle, levers } = this.physics;
    const { record } = this;
    if (this.time >= settle) {
      const floods = heel >= limits.starboard || -heel >= limits.port;
      const passed = floods ? 2 : Math.abs(roll) >= limits.roll ? 1 : 0;
      record.outcome = Math.max(record.outcome, passed);
    }
    record.most = Math.max(record.most, Math.abs(heel) * RADIAN);
    const side = Math.abs(heel) * RADIAN >= FLOPPED ? Math.sign(heel) : record.side;
    const unstable = now.kg + now.freeSurface > levers.slope(0);
    record.flops += unstable && record.side && side !== record.side ? 1 : 0;
    record.side = side;
    if (Math.sign(heelRate) !== record.way) {
      [record.way, record.turned] = [Math.sign(heelRate), heel * RADIAN];
    }
    const last = this.trace[this.trace.length - 1];
    if (!last || this.time >= last[0] + 0.1 - SAME_TIME) {
      this.trace.push([this.time, roll * RADIAN, slope * RADIAN]);
    }
  }

  // Go back by so many seconds: what was done since then is undone.
  rewind(seconds) {
    const target = Math.max(this.time - seconds, 0);
    const { past } = this;
    // Of several moments of that time the first is from before what was done then.
    const again = (i) => past[i].begun && past[i].time === target && past[i - 1].time === target;
    const undone = (i) => past[i].time > target || again(i);
    while (past.length > 1 && undone(past.length - 1)) {
      past.pop();
    }
    this.restore(past);
    this.trace = this.trace.filter(([at]) => at <= this.time);
    this.advance(target - this.time);
  }

  // Be where the last of these moments was.
  restore(past) {
    const { time, state, file, record, begun, aboard } = past[past.length - 1];
    this.use(file);
    Object.assign(this.aboard, aboard);
    Object.assign(this, { past, time, state, begun, record: { ...record }, held: false });
  }

  // All of this moment, in radians and metres; worked out once.
  moment() {
    this.known = this.known || momentOf(this);
    return this.known;
  }

  report() {
    return reportOf(this.time, this.moment());
  }
}
