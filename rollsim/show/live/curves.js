// The righting lever with the heeling lever and the areas used up; the energy hill with a marble; the
// strip of the last minutes.

const CURVE_STEP = 1; // heel [degree] between points of a curve
const STRIP = 120; // [s] that the strip shows
const STRIP_POINTS = 400;
const HILL_NAME = "Energy over heel, with a marble where she is";
const MAP_NAME = "Heels of rest over the height of G, with a point where she is";

class Curves {
  build(ship) {
    Object.assign(this, { key: "", ship, strip: null, reach: 0, ranges: {}, map: new LollMap() });
    for (const [name, width] of Object.entries(NARROW)) {
      EDGE[name] = width * Math.max(1, typeSize() / 16);
    }
    this.move();
  }

  // Charts are made anew where their axes no longer serve; else only what has changed is moved.
  move() {
    const at = this.ship.moment();
    const { now } = at;
    const loading = [this.ship.hull.index, now.kg, now.freeSurface, now.offCentre, now.mass, now.filled];
    const key = [...loading, at.wind, now.lever].map((each) => each.toFixed(5)).join();
    if (key !== this.key) {
      this.key = key;
      this.trace(at);
    }
    this.moveCurve(at);
    if (this.mapped()) {
      this.map.move(at);
    } else {
      this.moveHill(at);
    }
    this.moveStrip(at);
  }

  reachOf(at) {
    const end = Math.min(-at.net.levers.heel_min, at.net.levers.heel_max) * RADIAN;
    const most = Math.max(this.ship.record.most, 30);
    const reach = [30, 45, 60, 75, 90].find((each) => each >= 1.15 * most) || 90;
    return Math.min(reach, end);
  }

  // The curves of a loading and of what heels her.
  trace(at) {
    const reach = this.reachOf(at);
    if (reach !== this.reach) {
      this.reach = reach;
      const side = Math.floor(reach / CURVE_STEP);
      this.heels = Array.from({ length: 2 * side + 1 }, (_, i) => CURVE_STEP * (i - side));
    }
    this.heelingAt = (phi) => at.wind * Math.cos(phi) ** at.net.power + at.net.lever;
    this.gzAt = (phi) => at.net.value(phi) + this.heelingAt(phi);
    const pairs = this.heels.map((heel) => [heel, this.gzAt(heel / RADIAN)]);
    const heeling = this.heels.map((heel) => [heel, this.heelingAt(heel / RADIAN)]);
    const hill = this.heels.map((heel) => [heel, at.net.potential(heel / RADIAN)]);
    if (this.outgrown("curve", [...pairs, ...heeling], 0.02)) {
      this.makeCurve();
    }
    if (this.mapped()) {
      this.map.trace(at, reach);
    } else if (this.outgrown("hill", hill, 0.002)) {
      this.makeHill();
    }
    const acts = Math.abs(at.wind) + Math.abs(at.net.lever) > 1e-6;
    set(this.heeling, { points: acts ? pointsOf(this.curve, heeling) : "" });
    set(this.gz, { points: pointsOf(this.curve, pairs) });
    if (!this.mapped()) {
      set(this.slope, { points: pointsOf(this.hill, hill) });
    }
  }

  // Whether the loll map stands in the place of the energy hill.
  mapped() {
    return element("show-map").checked;
  }

  // Draw the one or the other anew.
  swap() {
    set(element("hill"), { "aria-label": this.mapped() ? MAP_NAME : HILL_NAME });
    this.build(this.ship);
  }

  makeCurve() {
    this.curve = this.chart("curve", "GZ and heeling lever [m]");
    const { inside } = this.curve;
    this.areas = ["gain", "spend"].map((name) => draw("polygon", inside, { class: name }));
    this.heeling = draw("polyline", inside, { class: "steady" });
    this.gz = draw("polyline", inside, { class: "curve" });
    this.stem = drawStroke(inside, "bar");
    this.point = draw("circle", inside, { class: "point", r: 7 });
  }

  makeHill() {
    this.hill = this.chart("hill", "energy over heel [m·rad]");
    this.slope = draw("polyline", this.hill.inside, { class: "curve" });
    this.level = draw("path", this.hill.inside, { class: "steady" });
    this.marble = draw("circle", this.hill.inside, { class: "point", r: 9 });
  }

  // Whether the range of a chart no longer serves for some pairs; then it gets another.
  outgrown(name, pairs, least) {
    const values = pairs.map(([, value]) => value);
    const [low, high] = [Math.min(...values, 0), Math.max(...values, 0)];
    const { [name]: held } = this.ranges;
    const fits = held && held.reach === this.reach && low >= held.low && high <= held.high
      && high - low > 0.4 * (held.high - held.low);
    if (!fits) {
      const spare = 0.15 * Math.max(high - low, least);
      this.ranges[name] = { low: low - spare, high: high + spare, reach: this.reach };
    }
    return !fits;
  }

  // An empty chart over heel in its range.
  chart(name, words) {
    const { low, high } = this.ranges[name];
    return makeChart(element(name), [-this.reach, this.reach], [low, high], {
      y: words, x: "heel, + to starboard [°]", key: "",
    });
  }

  moveCurve(at) {
    const heel = at.heel * RADIAN;
    const [x, y] = [this.curve.x(heel), this.curve.y(at.gz)];
    set(this.point, { cx: x.toFixed(1), cy: y.toFixed(1) });
    set(this.stem, { d: `M${x} ${this.curve.y(0)}V${y}` });
    const [gain, spend] = this.usedUp(this.ship.record.turned, heel);
    set(this.areas[0], { points: gain });
    set(this.areas[1], { points: spend });
  }

  // The areas between both levers from where she last turned: what drives her, and what brakes her.
  usedUp(from, to) {
    const steps = 24;
    const way = Math.sign(to - from);
    const rows = Array.from({ length: steps + 1 }, (_, i) => {
      const heel = from + ((to - from) * i) / steps;
      const [gz, lever] = [this.gzAt(heel / RADIAN), this.heelingAt(heel / RADIAN)];
      return [heel, gz, lever];
    });
    return [1, -1].map((drives) => {
      const has = ([, gz, lever]) => drives * way * (lever - gz) > 0;
      const kept = rows.map((row) => (has(row) ? row : [row[0], row[2], row[2]]));
      const upper = kept.map(([heel, gz]) => this.corner(heel, gz));
      const lower = kept.map(([heel, , lever]) => this.corner(heel, lever)).reverse();
      return [...upper, ...lower].join(" ");
    });
  }

  corner(heel, lever) {
    return `${this.curve.x(heel).toFixed(1)},${this.curve.y(lever).toFixed(1)}`;
  }

  moveHill(at) {
    const height = at.net.potential(at.heel);
    const energy = height + 0.5 * at.inertia * at.heelRate ** 2;
    const [x, y] = [this.hill.x(at.heel * RADIAN), this.hill.y(height)];
    set(this.marble, { cx: x.toFixed(1), cy: (y - 9).toFixed(1) });
    const level = this.hill.y(energy).toFixed(1);
    set(this.level, { d: `M${this.hill.x(-this.reach)} ${level}H${this.hill.x(this.reach)}` });
  }

  // The roll of the last minutes; the axes move on by half the strip.
  moveStrip() {
    const { trace, time } = this.ship;
    const beside = ships[1] ? ships[1].trace : [];
    const start = Math.max(0, Math.ceil((time - STRIP) / (STRIP / 4)) * (STRIP / 4));
    const most = Math.max(...trace.slice(-STRIP * 10).map(([, roll]) => Math.abs(roll)), 4);
    const reach = [5, 10, 20, 30, 45, 60, 90].find((each) => each >= most) || 90;
    if (!this.strip || this.strip.start !== start || this.strip.reach !== reach) {
      const key = beside.length ? "thin: the ship beside" : "dashed: wave slope";
      const words = { y: "roll, + to starboard [°]", x: "time [s]", key };
      const [x, y] = [[start, start + 1.03 * STRIP], [-1.3 * reach, 1.3 * reach]];
      this.strip = makeChart(element("strip"), x, y, words);
      Object.assign(this.strip, { start, reach });
      this.strip.slope = draw("polyline", this.strip.inside, { class: "slope" });
      this.strip.beside = draw("polyline", this.strip.inside, { class: "other" });
      this.strip.roll = draw("polyline", this.strip.inside, { class: "roll" });
    }
    set(this.strip.roll, { points: this.points(trace, 1) });
    set(this.strip.beside, { points: this.points(beside, 1) });
    set(this.strip.slope, { points: this.points(trace, 2) });
  }

  // A trace from the start of the strip on, thinned; `k` 1 the roll, 2 the wave slope.
  points(trace, k) {
    const first = trace.findIndex(([at]) => at >= this.strip.start);
    const seen = first < 0 ? [] : trace.slice(first);
    const every = Math.ceil(seen.length / STRIP_POINTS);
    const kept = seen.filter((_, i) => i % every === 0 || i === seen.length - 1);
    const place = (p) => `${this.strip.x(p[0]).toFixed(1)},${this.strip.y(p[k]).toFixed(1)}`;
    return kept.some((p) => p[k] !== 0) ? kept.map(place).join(" ") : "";
  }
}

// Pairs as the points of a line in a chart.
function pointsOf(chart, pairs) {
  return pairs.map(([a, b]) => `${chart.x(a).toFixed(1)},${chart.y(b).toFixed(1)}`).join(" ");
}

const curves = new Curves();
