// Mouse, finger and pen: G on its ladder, and the ship by a hand that shows its moment.

const GRIP = 40; // [px] round G within which it is taken where it is
const LEAN = 1; // roll [degree] that a push of the keyboard adds

// The moment [t·m] with which a hand holds her where she is: what the net lever would turn her with.
function handMoment(ship) {
  const at = ship.moment();
  const tonnes = ship.file.ship.displacement_t * at.now.mass;
  return tonnes * at.net.value(at.heel);
}

function handWords(ship) {
  const moment = handMoment(ship);
  return `${Math.abs(moment).toFixed(0)} t·m to ${side(moment)}`;
}

// Hold all ships at a roll [degree] short of the capsize angle; the clock stands.
function holdAt(roll) {
  if (!ships[0].held) {
    note("takes her in hand");
  }
  const most = Math.min(...ships.map((ship) => ship.physics.limits.capsize * RADIAN)) - 1;
  const held = Math.min(Math.max(roll, -most), most);
  ships.forEach((ship) => ship.hold(held));
  play(false);
  say("hand-text", `held at ${sided(held)} with ${handWords(ships[0])}`);
}

function letGo() {
  if (ships[0].held) {
    stages.forEach((stage) => stage.showHand(null, null, ""));
    say("hand-text", "");
    release();
  }
}

function pointOf(stage, event) {
  const box = stage.svg.getBoundingClientRect();
  return [
    ((event.clientX - box.left) / box.width) * stage.width,
    ((event.clientY - box.top) / box.height) * stage.height,
  ];
}

// Wire a stage: what begins on the ladder moves G, what begins on the ship takes her.
function wireStage(stage) {
  const { svg } = stage;
  let drag = null;
  svg.addEventListener("pointerdown", (event) => {
    const point = pointOf(stage, event);
    drag = point[0] < stage.ladderWidth ? dragOfG(stage, point) : dragOfShip(stage, point);
    if (drag) {
      svg.setPointerCapture(event.pointerId);
      event.preventDefault();
      drag.follow(point);
    }
  });
  svg.addEventListener("pointermove", (event) => drag && drag.follow(pointOf(stage, event)));
  const end = () => {
    if (drag) {
      drag.end();
    }
    drag = null;
  };
  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", end);
  svg.addEventListener("keydown", ladderKey);
}

// G taken on its ladder, where it was touched or else at once to there.
function dragOfG(stage, [, y]) {
  if (locked("g")) {
    return null;
  }
  const { ladder } = stage;
  const distance = ladder.height(y) - stage.ship.moment().g[1];
  const near = Math.abs(distance) * (ladder.foot - ladder.head) < GRIP * ladder.span;
  const offset = near ? distance : 0;
  ladder.dragged = true;
  return {
    follow: ([, at]) => moveG(ladder.height(at) - offset),
    end: () => {
      ladder.dragged = false;
      note(`G to ${metres(ships[0].moment().g[1])} above the keel`);
    },
  };
}

// The ship taken by hand: she turns with it about where the centreline meets the water.
function dragOfShip(stage, point) {
  if (locked("hand") || stage.ship.record.outcome === 3) {
    return null;
  }
  const angleOf = ([x, y]) => Math.atan2(x - stage.x, stage.y - y) * RADIAN;
  const [angle, roll] = [angleOf(point), stage.ship.moment().roll * RADIAN];
  return {
    follow: (at) => {
      holdAt(roll + ((angleOf(at) - angle + 540) % 360) - 180);
      const held = stage.ship.moment().roll * RADIAN;
      const edge = [held >= 0 ? stage.beam : -stage.beam, stage.top];
      const place = stage.place(edge, { roll: held, draught: stage.hull.draught, rise: 0 });
      stage.showHand(place, at, handWords(stage.ship));
    },
    end: letGo,
  };
}

// G of the first ship to a height [m], of those beside her by as much.
function moveG(height) {
  const change = height - ships[0].moment().g[1];
  all((ship) => ship.raiseG(ship.moment().g[1] + change));
}

function ladderKey(event) {
  const steps = { ArrowUp: FINE, ArrowDown: -FINE, PageUp: COARSE, PageDown: -COARSE };
  if (event.target.getAttribute("role") === "slider" && event.key in steps && !locked("g")) {
    event.preventDefault();
    event.stopPropagation();
    moveG(ships[0].moment().g[1] + steps[event.key]);
  }
}

// G exactly to the virtual height of M plus or minus a metacentric height [m].
function setGm(gm) {
  all((ship) => {
    const { km, now } = ship.moment();
    ship.raiseG(km - now.freeSurface - gm);
  });
  note(`GM ${metres(gm)}`);
}
