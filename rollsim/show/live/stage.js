// One ship in the water: her section, cargo and tanks, the forces on her, the ladder of G and M.

const COUPLE = { most: 4.7 }; // angle of the couple's arrow [rad] under the greatest lever
const COUPLE_LEVER = 0.25; // GZ [m] at which that arrow is half grown
const PATH_STEP = 2; // heel [degree] between points of the path of M
const PATH_REACH = 40; // heel [degree] to which it is drawn
const PATH_MARK = 10; // heel [degree] between its marks
const FORCE = 0.24; // length of the forces' arrows over the height of the stage

const TYPE = 15; // [px] of the letters in a drawing

// Size of the letters: in presenter mode a share of the window's height.
const typeSize = () => (presents() ? Math.max(TYPE, PRESENTED * window.innerHeight) : TYPE);

class Stage {
  constructor(parent, ship, number) {
    this.svg = draw("svg", parent, { class: "stage", role: "group", "aria-label": "The ship in the water" });
    Object.assign(this, { ship, number });
    wireStage(this);
  }

  // Everything that stands still; `move` moves the rest.
  build() {
    const { svg, ship } = this;
    svg.replaceChildren();
    [this.width, this.height] = [Math.max(svg.clientWidth, 300), Math.max(svg.clientHeight, 220)];
    set(svg, { viewBox: `0 0 ${this.width} ${this.height}` });
    this.type = typeSize();
    svg.style.setProperty("--type", `${this.type}px`);
    const { hull } = ship;
    [this.hull, this.file, this.shape] = [hull, null, hull.outline];
    this.ladderWidth = Math.min(Math.max(11 * this.type, 0.25 * this.width), 0.36 * this.width);
    const [ys, zs] = hull.outline;
    const reach = Math.max(...ys.map((y, i) => Math.hypot(y, zs[i] - hull.draught)));
    const room = this.width - this.ladderWidth;
    this.scale = Math.min(0.47 * room, 0.53 * this.height) / reach;
    this.scale = Math.min(this.scale, (0.47 * this.height) / (Math.max(...zs) - hull.draught));
    [this.x, this.y] = [this.ladderWidth + 0.5 * room, 0.5 * this.height];
    [this.beam, this.top] = [Math.max(...ys), Math.max(...zs)];
    this.sea = draw("path", svg, { class: "sea" });
    this.body = draw("g", svg, { class: "ship" });
    this.buildShip();
    this.front = draw("path", svg, { class: "sea front" });
    this.surface = draw("path", svg, { class: "surface" });
    this.buildForces();
    this.ladder = new Ladder(this);
    const foot = { class: "small", y: this.height - 8, "text-anchor": "middle" };
    draw("text", svg, { ...foot, x: this.x - 0.25 * room }, "port");
    draw("text", svg, { ...foot, x: this.x + 0.25 * room }, "starboard");
    const words = `${ship.entry.label}${hull.kind === "own" ? "" : `, ${hull.words}`}`;
    const drawn = ship.entry.depth_assumed ? "schematic section, depth assumed" : "schematic section";
    draw("text", svg, { class: "small", x: this.width - 8, y: 1.1 * this.type, "text-anchor": "end" },
      ships.length > 1 ? words : this.width > 34 * this.type ? `${drawn}, seen from astern` : "from astern");
  }

  buildShip() {
    const [ys, zs] = this.hull.outline;
    const points = ys.map((y, i) => `${y},${zs[i]}`).join(" ");
    draw("polygon", this.body, { class: "hull", points });
    for (const weight of this.ship.hull.kind === "own" ? this.ship.entry.stowed : []) {
      const size = 0.06 * this.beam * Math.cbrt(Math.max(weight.mass, 1)) ** 0.5;
      const [width, height] = [weight.breadth || size, weight.tall || size];
      const box = { x: weight.y - 0.5 * width, y: weight.z - 0.5 * height, width, height };
      draw("title", draw("rect", this.body, { ...box, class: "stowed" }), {}, weight.name);
    }
    this.tanks = this.ship.aboard.tanks.map((tank) => {
      const liquid = draw("polygon", this.body, { class: "liquid" });
      draw("polygon", this.body, { class: "tank", points: cornersOf(tank).join(" ") });
      const middle = 0.5 * (tank.port + tank.starboard);
      const wall = draw("path", this.body, { class: "tank", d: `M${middle} ${tank.bottom}V${tank.top}` });
      return { liquid, wall };
    });
    this.weights = draw("g", this.body);
    draw("path", this.body, { class: "centreline", d: `M0 0V${1.06 * this.top}` });
    this.path = draw("g", this.body, { class: "m-part" });
    this.buildPath();
  }

  // The path of M with its marks, and the ghost of M upright.
  buildPath() {
    const { form: levers } = this.hull;
    const reach = Math.min(PATH_REACH, levers.heel_max * RADIAN);
    const heels = Array.from({ length: 2 * Math.floor(reach / PATH_STEP) + 1 }, (_, i) =>
      PATH_STEP * (i - Math.floor(reach / PATH_STEP)));
    const points = heels.map((heel) => levers.metacentre(heel / RADIAN).join(","));
    set(drawStroke(this.path, "m-path", "polyline"), { points: points.join(" ") });
    this.marksOfPath = heels.filter((heel) => heel % PATH_MARK === 0 && heel !== 0).map((heel) => {
      const place = levers.metacentre(heel / RADIAN);
      const style = { class: "small m-part", "text-anchor": "middle" };
      const text = draw("text", this.svg, style, `${Math.abs(heel)}°`);
      return { place, text, heel };
    });
    this.ghost = draw("g", this.svg, { class: "ghost m-part" });
    drawMark(this.ghost, "m");
  }

  buildForces() {
    const { svg } = this;
    for (const name of ["buoyancy", "weight", "bar", "push"]) {
      this[name] = drawStroke(svg, name);
    }
    this.couple = draw("path", svg, { class: "couple" });
    this.cause = draw("text", svg, { class: "small" });
    this.handLine = draw("path", svg, { class: "hand" });
    this.handText = draw("text", svg, { class: "hand-text", "text-anchor": "middle" });
    this.marks = {};
    for (const name of ["b", "virtual", "z", "g", "m"]) {
      const mark = draw("g", svg, { class: `mark ${name}-part` });
      drawMark(mark, name);
      draw("text", mark, {}, MARKS[name].letter);
      this.marks[name] = mark;
    }
  }

  // A point of the ship on the screen.
  place(point, moment) {
    const [x, z] = toEarth(point, moment);
    return [this.x + this.scale * x, this.y - this.scale * z];
  }

  move() {
    const { ship, hull } = this;
    const at = ship.moment();
    const heel = at.heel * RADIAN;
    const level = this.levelAt(heel);
    const rise = (hull.draught * Math.cos(at.heel) - level) / Math.cos(at.slope);
    const moment = { ...at, roll: at.roll * RADIAN, draught: hull.draught, rise };
    this.moveBody(moment);
    this.moveWater(at.slope);
    this.moveInside(at);
    this.moveForces(at, moment);
    this.ladder.move(at);
  }

  // Distance of the water from the keel along its normal, at a heel [degree] on either side.
  levelAt(heel) {
    const levels = arrays[this.hull.level];
    const point = Math.min(Math.max(heel + 90, 0), levels.length - 1.001);
    const i = Math.floor(point);
    return levels[i] + (point - i) * (levels[i + 1] - levels[i]);
  }

  moveBody({ roll, draught, rise }) {
    const k = this.scale;
    const [c, s] = [Math.cos(roll / RADIAN), Math.sin(roll / RADIAN)];
    const [across, down] = [this.x - k * s * draught, this.y - k * (rise - c * draught)];
    const turn = [k * c, k * s, k * s, -k * c, across, down].map((each) => each.toFixed(3));
    set(this.body, { transform: `matrix(${turn.join(" ")})` });
  }

  moveWater(slope) {
    const far = this.width + this.height;
    const [c, s] = [Math.cos(slope), Math.sin(slope)];
    const edge = [-far, far].map((x) => `${(this.x + x * c).toFixed(1)} ${(this.y + x * s).toFixed(1)}`);
    const deep = [far, -far].map((x) => `${this.x + x} ${this.y + far}`);
    const water = `M${[...edge, ...deep].join("L")}Z`;
    set(this.sea, { d: water });
    set(this.front, { d: water });
    set(this.surface, { d: `M${edge.join("L")}` });
  }

  // Liquid level in the tanks, and the weights.
  moveInside({ heel }) {
    const { aboard, time } = this.ship;
    aboard.tanks.forEach((tank, i) => {
      const share = massIn(tank, time) / tank.full;
      set(this.tanks[i].liquid, { points: liquidIn(tank, share, heel).join(" ") });
      visible(this.tanks[i].wall, tank.divided > 1);
    });
    while (this.weights.childNodes.length > aboard.weights.length) {
      this.weights.lastChild.remove();
    }
    aboard.weights.forEach((weight, i) => {
      const size = 0.06 * this.beam * Math.cbrt(Math.max(weight.mass, 1));
      const [y, z] = placeOf(weight, time);
      const box = this.weights.childNodes[i] || draw("rect", this.weights, { class: "cargo" });
      set(box, { x: y - 0.5 * size, y: z - 0.5 * size, width: size, height: size });
    });
  }

  moveForces(at, moment) {
    const [c, s] = [Math.cos(at.heel), Math.sin(at.heel)];
    const z = [at.virtual[0] + at.gz * c, at.virtual[1] + at.gz * s];
    const places = { g: at.g, virtual: at.virtual, b: at.b, m: at.m, z };
    for (const [name, mark] of Object.entries(this.marks)) {
      const [x, y] = places[name] ? this.place(places[name], moment) : [-9999, -9999];
      this.marks[name].at = [x, y];
      set(mark, { transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})` });
    }
    const [gx, gy] = this.place([0, at.km], moment);
    set(this.ghost, { transform: `translate(${gx.toFixed(1)} ${gy.toFixed(1)})` });
    visible(this.ghost, Math.abs(at.heel) > 0.5 / RADIAN);
    this.marksOfPath.forEach(({ place, text, heel }) => {
      const [x, y] = this.place(place, moment);
      set(text, { x: x.toFixed(1), y: (y - 6).toFixed(1) });
      const off = ([mx, my]) => Math.hypot(x - mx, y - my) > 1.5 * this.type;
      const clear = ["m", "g", "z"].every((name) => off(this.marks[name].at));
      visible(text, clear && heel * at.heel > 0 && Math.abs(heel) <= Math.abs(at.heel) * RADIAN + PATH_MARK);
    });
    visible(this.marks.virtual, at.now.freeSurface > 0);
    this.moveArrows(at, moment);
    this.moveCouple(at);
    this.moveCause(at, moment);
    this.placeLetters(at);
  }

  moveArrows(at, moment) {
    const length = FORCE * this.height;
    const up = [Math.sin(at.slope), -Math.cos(at.slope)]; // on the screen
    const on = ([x, y], size) => [x + size * up[0], y + size * up[1]];
    const [g, z] = [this.marks.virtual.at, this.marks.z.at];
    set(this.weight, { d: arrow(g, on(g, -length)) });
    const height = ([x, y]) => (x - z[0]) * up[0] + (y - z[1]) * up[1];
    const low = at.b ? height(this.place(at.b, moment)) : -length;
    set(this.buoyancy, { d: arrow(on(z, low), on(z, Math.max(0.5 * length, low + length))) });
    const rights = at.gz * at.heel >= 0;
    set(this.bar, { d: `M${g.join(" ")}L${z.join(" ")}`, class: rights ? "bar" : "bar over" });
  }

  // The couple of weight and buoyancy as a turning arrow about G that grows with GZ.
  moveCouple(at) {
    const grown = Math.abs(at.gz) / (Math.abs(at.gz) + COUPLE_LEVER);
    const [x, y] = this.marks.g.at;
    const [radius, turn] = [(0.2 + 0.06 * grown) * this.height, COUPLE.most * grown];
    visible(this.couple, turn > 0.05);
    const way = at.gz > 0 ? -1 : 1; // a positive GZ turns her to port
    const on = (angle) => [x + radius * Math.sin(angle), y - radius * Math.cos(angle)];
    const [from, to] = [on(-0.5 * way * turn), on(0.5 * way * turn)];
    const back = on(0.5 * way * turn - way * 0.12);
    const head = arrow(back, to).slice(arrowStart(back).length);
    const sweep = way > 0 ? 1 : 0;
    const large = turn > Math.PI ? 1 : 0;
    set(this.couple, {
      d: `M${from.join(" ")}A${radius} ${radius} 0 ${large} ${sweep} ${to.join(" ")}${head}`,
      class: at.gz * at.heel >= 0 ? "couple" : "couple over",
    });
  }

  // The arrow of wind or push, and the moment that acts.
  moveCause(at, moment) {
    const acts = Math.abs(at.heeling) >= 1e-4;
    visible(this.push, acts);
    visible(this.cause, acts);
    if (!acts) {
      return;
    }
    const from = at.heeling > 0 ? -1 : 1;
    const [x, y] = this.place([from * this.beam, this.top], moment);
    const grown = Math.abs(at.heeling) / (Math.abs(at.heeling) + 0.1);
    const length = (0.04 + 0.14 * grown) * this.width;
    const tip = Math.max(x + from * 8, this.ladderWidth + 30);
    const tail = Math.min(Math.max(tip + from * length, this.ladderWidth + 4), this.width - 4);
    set(this.push, { d: arrow([tail, y - 14], [tip, y - 14]) });
    set(this.cause, { x: tail, y: y - 14 - 0.6 * this.type, "text-anchor": from < 0 ? "start" : "end" });
    const speed = Math.abs(this.ship.physics.windSpeed(this.ship.time, at.now));
    const text = at.wind ? `wind ${speed.toFixed(0)} m/s` : "heeling lever";
    if (this.cause.textContent !== text) {
      this.cause.textContent = text;
    }
  }

  // Letters keep clear of each other, in the true order of height of their points.
  placeLetters(at) {
    const names = ["g", "m", "b", "z", "virtual"].filter((name) => this.marks[name].at[0] > -999
      && !(name === "virtual" && !(at.now.freeSurface > 0)));
    for (const right of [true, false]) {
      const side = names
        .filter((name) => this.isRight(name, at) === right)
        .sort((one, other) => this.marks[one].at[1] - this.marks[other].at[1]);
      const levels = spread(side.map((name) => this.marks[name].at[1]), 0.95 * this.type);
      side.forEach((name, i) => {
        const y = levels[i] - this.marks[name].at[1] + 0.35 * this.type;
        const anchor = { x: right ? 13 : -13, "text-anchor": right ? "start" : "end" };
        set(this.marks[name].lastChild, { ...anchor, y: y.toFixed(1) });
      });
    }
  }

  // G stands to the side away from its lever, Z, M and B to the lever's.
  isRight(name, at) {
    const towards = at.gz >= 0;
    return name === "g" || name === "virtual" ? !towards : towards;
  }

  // What is held, and with what moment.
  showHand(from, to, text) {
    set(this.handLine, { d: from ? `M${from.join(" ")}L${to.join(" ")}` : "" });
    set(this.handText, { x: to ? to[0] : -99, y: to ? to[1] - 0.8 * this.type : -99 });
    this.handText.textContent = text;
  }
}

const arrowStart = (from) => `M${from.join(" ")}`;
