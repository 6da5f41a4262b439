// The loll map beside the ship: every heel of rest over the height of G, and where she is. She rests at
// a heel where G stands at the height whose lever makes up for all the others there: no search.

const MAP_STEP = 0.5; // heel [degree] between points
const MAP_SPANS = [0.2, 0.5, 1, 2, 5, 10]; // heights [m] to either side of M
const BALANCED = 1e-9; // lever upright [m] below which she may rest upright at every height

class LollMap {
  // The rests of a moment up to heels of `reach` [degree], and the chart for them.
  trace(at, reach) {
    const middle = Math.round(at.km * 10) / 10;
    const away = 1.1 * Math.abs(at.net.kg - middle);
    const span = MAP_SPANS.find((each) => each >= away) || MAP_SPANS.at(-1);
    const key = [middle, span, reach].join();
    if (key !== this.key) {
      Object.assign(this, { key, low: middle - span, high: middle + span, reach });
      this.make();
    }
    const paths = this.paths(at.net);
    set(this.stable, { d: paths.stable });
    set(this.unstable, { d: paths.unstable });
  }

  make() {
    const words = { y: "heels of rest [°]", x: "height of G, with free surfaces [m]", key: "dotted: not stable" };
    const range = [[this.low, this.high], [-this.reach, this.reach]];
    this.chart = makeChart(element("hill"), ...range, words);
    this.unstable = draw("path", this.chart.inside, { class: "steady" });
    this.stable = draw("path", this.chart.inside, { class: "curve" });
    this.point = draw("circle", this.chart.inside, { class: "point", r: 7 });
  }

  // The rests as [height of G, heel in degrees, slope of the net lever there], in order of heel.
  rests(net) {
    const side = Math.floor(this.reach / MAP_STEP);
    return Array.from({ length: 2 * side + 1 }, (_, i) => {
      const heel = MAP_STEP * (i - side);
      const phi = heel / RADIAN;
      const [value, slope] = [net.value(phi), net.slope(phi)];
      // Upright the limit, if she is balanced: M with all that acts.
      const rise = heel === 0 ? (Math.abs(value) < BALANCED ? slope : NaN) : value / Math.sin(phi);
      return [net.kg + rise, heel, slope - rise * Math.cos(phi)];
    });
  }

  paths(net) {
    const { chart, low, high } = this;
    const paths = { stable: "", unstable: "" };
    const rests = this.rests(net);
    const near = ([height]) => height > 2 * low - high && height < 2 * high - low;
    const place = ([height, heel]) => `${chart.x(height).toFixed(1)} ${chart.y(heel).toFixed(1)}`;
    for (let i = 1; i < rests.length; i += 1) {
      const [a, b] = [rests[i - 1], rests[i]];
      if (near(a) && near(b)) {
        paths[a[2] + b[2] > 0 ? "stable" : "unstable"] += `M${place(a)}L${place(b)}`;
      }
    }
    const [top] = rests[(rests.length - 1) / 2];
    if (Number.isFinite(top)) {
      paths.stable += `M${place([low, 0])}L${place([top, 0])}`;
      paths.unstable += `M${place([top, 0])}L${place([high, 0])}`;
    }
    return paths;
  }

  move(at) {
    const [x, y] = [this.chart.x(at.net.kg), this.chart.y(at.heel * RADIAN)];
    set(this.point, { cx: x.toFixed(1), cy: y.toFixed(1) });
  }
}
