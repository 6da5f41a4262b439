// All of a moment: where she is, what acts, where she would rest, what she does.

function momentOf(ship) {
  const { physics, hull, record } = ship;
  const motion = ship.motion();
  const { now, heel, roll } = motion;
  const wind = physics.windLever(ship.time, now);
  const net = new NetLever(physics, now, wind);
  const rests = net.rests();
  const km = physics.levers.slope(0);
  const about = {
    net, rests, wind, inertia: physics.inertia, offCentre: now.offCentre, lever: wind + now.lever,
    well: lowestWell(net, rests, physics.limits.capsize),
    gm: zeroed(km - now.kg - now.freeSurface, km),
    staticHeel: staticHeel(net, rests, heel),
  };
  return {
    ...motion, ...about,
    verdict: verdictOf(about, heel, motion.heelRate, record.outcome === 3),
    outcome: OUTCOMES[record.outcome],
    gz: physics.gz(physics.levers.inside(heel), motion.elevation, now),
    g: [now.offCentre, now.kg],
    virtual: [now.offCentre, now.kg + now.freeSurface],
    b: hull.form.buoyancy(heel, hull.kb),
    m: hull.form.metacentre(heel),
    km,
    heeling: now.lever + wind * Math.cos(roll) ** physics.power,
  };
}

// What is only rounding noise is exactly 0.
const zeroed = (gm, km) => (Math.abs(gm) < 1e-12 * Math.max(1, Math.abs(km)) ? 0 : gm);

// A moment by the names and in the units of the contract: metres in ship axes, degrees.
function reportOf(time, at) {
  const known = (angle) => (Number.isFinite(angle) ? angle * RADIAN : null);
  return {
    time_s: time,
    roll_deg: at.roll * RADIAN,
    roll_rate_deg_per_s: at.rollRate * RADIAN,
    heel_deg: known(at.staticHeel),
    gm_m: at.gm,
    gz_m: at.gz,
    g: at.g,
    b: at.b,
    m: at.m,
    outcome: at.outcome,
    verdict: at.verdict,
  };
}
