// The ladder of heights beside the ship: M upright, G and the virtual G, with GM between them in
// centimetres. G is taken here by finger or mouse, or moved by the arrow keys.

const SPANS = [0.2, 0.5, 1, 2, 5, 10, 20]; // heights [m] that a ladder shows
const REACH = 0.4; // [m] by which the ladder follows M up or down at least
const FINE = 0.001; // [m] a step of an arrow key
const BEHIND = 5; // heel [degree] to the other side to which the path of M is drawn
const COARSE = 0.05; // [m] a step of Page Up, Page Down

class Ladder {
  constructor(stage) {
    Object.assign(this, { stage, ship: stage.ship, span: 0, wordsAt: 0 });
    this.group = draw("g", stage.svg, { class: "ladder" });
    this.foot = stage.height - 1.2 * stage.type;
    this.head = 2.2 * stage.type;
    this.x = 0.55 * stage.ladderWidth;
    this.build();
  }

  build() {
    const { group, stage } = this;
    group.replaceChildren();
    const [width, height] = [stage.ladderWidth, stage.height];
    draw("rect", group, { class: "paper", x: 0, y: 0, width, height });
    const words = width > 15 * stage.type ? "round M and G, above the keel [m]" : "M and G [m]";
    draw("text", group, { class: "small", x: 6, y: 1.1 * stage.type }, words);
    draw("path", group, { class: "centreline", d: `M${this.x} ${this.head}V${this.foot}` });
    draw("path", group, { class: "frame", d: `M${width} 0V${height}` });
    this.scale = draw("g", group, { class: "g-part" });
    const name = `ladder-${stage.number}`;
    const clip = draw("clipPath", draw("defs", group), { id: name });
    draw("rect", clip, { x: 0, y: this.head - 12, width, height: this.foot - this.head + 24 });
    this.window = draw("g", group, { "clip-path": `url(#${name})`, class: "m-part" });
    this.path = drawStroke(this.window, "m-path", "polyline");
    this.degrees = draw("g", this.window);
    this.gap = draw("path", group, { class: "gap m-part g-part" });
    this.text = draw("text", group, { class: "gm-text m-part g-part" });
    this.ghost = draw("g", this.window, { class: "mark ghost" });
    drawMark(this.ghost, "m");
    this.grip = draw("g", group, {
      class: "grip g-part", tabindex: 0, role: "slider",
      "aria-label": "Height of G", "aria-orientation": "vertical",
    });
    draw("rect", this.grip, { class: "handle", x: -24, y: -24, width: 48, height: 48 });
    this.marks = {};
    for (const each of ["m", "virtual", "g"]) {
      const parent = { g: this.grip, m: this.window, virtual: group }[each];
      const mark = draw("g", parent, { class: `mark ${each === "m" ? "m-part" : "g-part"}` });
      drawMark(mark, each);
      this.marks[each] = { mark, text: draw("text", mark, {}, MARKS[each].letter) };
    }
  }

  y(height) {
    return this.foot - ((height - this.low) / this.span) * (this.foot - this.head);
  }

  height(y) {
    return this.low + ((this.foot - y) / (this.foot - this.head)) * this.span;
  }

  // A span that holds G and M, upright and now, with room to move; it changes only where it must.
  fit(at) {
    const seen = Math.min(at.m[1], at.km + Math.max(REACH, 5 * Math.abs(at.gm)));
    const [low, high] = [Math.min(at.km, at.g[1], seen), Math.max(at.km, at.virtual[1], seen)];
    const fits = this.span && low >= this.low + 0.02 * this.span && high <= this.low + 0.98 * this.span;
    if (fits && (this.dragged || this.span <= 8 * Math.max(high - low, 0.1))) {
      return;
    }
    this.span = SPANS.find((span) => span >= 1.7 * Math.max(high - low, 0.2)) || 2 * (high - low);
    this.low = at.km - (at.km - low > high - at.km ? 0.68 : 0.5) * this.span;
    this.low = Math.min(Math.max(this.low, high - 0.95 * this.span), low - 0.05 * this.span);
    this.scale.replaceChildren();
    this.steps = [];
    for (const [value, text] of ticks([this.low, this.low + this.span], 8)) {
      draw("path", this.scale, { class: "ruler", d: `M0 ${this.y(value)}h6` });
      const y = this.y(value) + 5;
      this.steps.push({ y, label: draw("text", this.scale, { class: "small", x: 10, y }, text) });
    }
    this.reach = 0;
  }

  // The path of M in ship axes at the ladder's own scale, a little past where she is, with its heels.
  drawPath() {
    const { form: levers } = this.ship.hull;
    const reach = Math.min(Math.abs(this.reach), Math.floor(levers.heel_max * RADIAN));
    const way = Math.sign(this.reach);
    const heels = Array.from({ length: reach + BEHIND + 1 }, (_, i) => way * (i - BEHIND));
    const points = heels.map((heel) => this.place(levers.metacentre(heel / RADIAN)));
    set(this.path, { points: points.map((point) => point.map((each) => each.toFixed(1)).join()).join(" ") });
    this.degrees.replaceChildren();
    this.heels = [];
    for (let heel = 5; heel <= reach; heel += 5) {
      const [x, y] = points[heel + BEHIND];
      const { type } = this.stage;
      const left = x >= this.x;
      const text = { x: left ? x - 9 : x + 9, y: y + 0.35 * type, "text-anchor": left ? "end" : "start" };
      const box = [left ? x - 9 - 2 * type : x + 9, y];
      const apart = (other) => Math.abs(other[0] - box[0]) > 2.2 * type || Math.abs(other[1] - y) > 1.1 * type;
      const clear = this.heels.every((other) => apart(other.box));
      if (clear && Math.abs(y - this.y(levers.slope(0))) > type) {
        const group = draw("g", this.degrees);
        draw("path", group, { class: "ruler", d: `M${x - 4} ${y}h8` });
        draw("text", group, { class: "small", ...text }, `${heel}°`);
        this.heels.push({ group, x, y, box });
      }
    }
  }

  // Heels are written clear of M, G and GM.
  showHeels(at, [mx, my]) {
    const g = this.y(at.g[1]);
    const { type } = this.stage;
    for (const { group, x, y } of this.heels) {
      const near = Math.hypot(x - mx, y - my) < 1.4 * type || Math.abs(y - g) < 1.2 * type
        || Math.abs(y - this.y(at.virtual[1])) < 1.2 * type || Math.abs(y - this.wordsAt) < 1.2 * type;
      visible(group, !near);
    }
  }

  place([y, z]) {
    return [this.x + (y * (this.foot - this.head)) / this.span, this.y(z)];
  }

  move(at) {
    this.fit(at);
    const reach = (at.heel < 0 ? -10 : 10) * Math.ceil((Math.abs(at.heel) * RADIAN + 4) / 10);
    if (reach !== this.reach) {
      this.reach = reach;
      this.drawPath();
    }
    const { type } = this.stage;
    const heights = { m: at.km, virtual: at.virtual[1], g: at.g[1] };
    const { x } = this;
    const raised = at.now.freeSurface > 0;
    visible(this.marks.virtual.mark, raised);
    const [mx, my] = this.place(at.m);
    set(this.ghost, { transform: `translate(${x} ${this.y(at.km).toFixed(1)})` });
    set(this.marks.m.mark, { transform: `translate(${mx.toFixed(1)} ${my.toFixed(1)})` });
    this.showHeels(at, [mx, my]);
    const names = ["m", "virtual", "g"].filter((name) => raised || name !== "virtual");
    names.sort((one, other) => heights[other] - heights[one] || (one === "m" ? -1 : 1));
    const levels = spread(names.map((name) => this.y(heights[name])), 1.05 * type);
    names.forEach((name, i) => {
      const y = this.y(heights[name]);
      const { mark, text } = this.marks[name];
      if (name === "m") {
        const near = Math.hypot(mx - x, my - y) < 2 * type;
        const left = mx < x - 1 || mx > this.stage.ladderWidth - 2.2 * type;
        const level = (near ? levels[i] - my : 0) + 0.35 * type;
        set(text, { x: left ? -13 : 13, y: level.toFixed(1), "text-anchor": left ? "end" : "start" });
        return;
      }
      set(name === "g" ? this.grip : mark, { transform: `translate(${x} ${y.toFixed(1)})` });
      set(text, { x: 14, y: (levels[i] - y + 0.35 * type).toFixed(1) });
    });
    this.moveGap(at, levels);
    set(this.grip, {
      "aria-valuenow": at.g[1].toFixed(3), "aria-valuemin": -5, "aria-valuemax": 60,
      "aria-valuetext": `${metres(at.g[1])} above the keel, GM ${metres(at.gm)}`,
    });
  }

  // GM as a bracket left of the centreline, its length in words clear of the letters and the path.
  moveGap(at, levels) {
    const { type } = this.stage;
    const [m, g] = [this.y(at.km), this.y(at.virtual[1])];
    const left = this.x - 1.5 * type;
    const kind = `m-part g-part gap${at.gm < 0 ? " negative" : ""}`;
    set(this.gap, { d: `M${left + 8} ${m}h-8V${g}h8`, class: kind });
    const size = Math.abs(100 * at.gm).toFixed(1);
    const text = `GM ${Number(size) === 0 ? "" : at.gm < 0 ? "−" : "+"}${size} cm`;
    if (this.text.textContent !== text) {
      this.text.textContent = text;
    }
    const below = Math.max(...levels, m, g) + 1.6 * type;
    const y = Math.min(below, this.foot + 0.8 * type);
    this.wordsAt = y - 0.35 * type;
    set(this.text, { x: this.x, y: y.toFixed(1), "text-anchor": "middle" });
    for (const { y: height, label } of this.steps) {
      visible(label, Math.abs(height - y) > 1.1 * type); // the scale's own height gives way
    }
  }
}
