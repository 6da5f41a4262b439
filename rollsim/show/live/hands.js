// Mouse, finger and pen: G on its ladder, and the ship by a hand that shows its moment.

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
  const angleOf = ([x, y]) => Math.atan2(x - stage.x, stage.y - y) * RADIAN;
  svg.addEventListener("pointerdown", (event) => {
    const [x, y] = pointOf(stage, event);
    if (x < stage.ladderWidth) {
      if (locked("g")) {
        return;
      }
      const offset = stage.ladder.height(y) - stage.ship.moment().g[1];
      const near = Math.abs(offset) * (stage.ladder.foot - stage.ladder.head) < 40 * stage.ladder.span;
      drag = { kind: "g", offset: near ? offset : 0 };
      stage.ladder.dragged = true;
    } else if (!locked("hand") && stage.ship.record.outcome < 3) {
      drag = { kind: "hand", angle: angleOf([x, y]), roll: stage.ship.moment().roll * RADIAN };
      holdAt(drag.roll);
    }
    if (drag) {
      svg.setPointerCapture(event.pointerId);
      event.preventDefault();
      follow(event);
    }
  });
  const follow = (event) => {
    const [x, y] = pointOf(stage, event);
    if (drag.kind === "g") {
      moveG(stage.ladder.height(y) - drag.offset);
    } else {
      const turned = angleOf([x, y]) - drag.angle;
      holdAt(drag.roll + ((turned + 540) % 360) - 180);
      const moment = { ...stage.ship.moment(), draught: stage.hull.draught, rise: 0 };
      const edge = stage.place([moment.roll >= 0 ? stage.beam : -stage.beam, stage.top], {
        ...moment, roll: moment.roll * RADIAN,
      });
      stage.showHand(edge, [x, y], handWords(stage.ship));
    }
  };
  svg.addEventListener("pointermove", (event) => drag && follow(event));
  const end = () => {
    if (drag && drag.kind === "hand") {
      letGo();
    } else if (drag) {
      stage.ladder.dragged = false;
      note(`G to ${metres(ships[0].moment().g[1])} above the keel`);
    }
    drag = null;
  };
  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", end);
  svg.addEventListener("keydown", (event) => ladderKey(event));
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
