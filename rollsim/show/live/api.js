// `window.rollsim`: the model for other programs; what it does, the controls do. All ships that are
// shown get the same actions; `state` and `scenario` are the first one's.

window.rollsim = {
  set: (values) => afterwards(() => ships.forEach((ship) => ship.set(values))),
  release: (start) => afterwards(() => ships.forEach((ship) => ship.release(start))),
  pause: () => play(false),
  advance: (seconds) => afterwards(() => ships.forEach((ship) => ship.advance(seconds))),
  state: () => ships[0].report(),
  scenario: () => scenarioOf(ships[0], remarks()),
};
window.rollsim.replay = (i, times) => {
  const ship = shipOf(page.cases[i]);
  return times.map((t) => { ship.advance(t - ship.time); return ship.record.outcome === 3 && ship.time < t ? null : ship.motion().roll * RADIAN; });
};
