// `window.rollsim`: the model for other programs. All ships that are shown get the same actions;
// `state` and `scenario` are the first one's.

window.rollsim = {
  set: setAll,
  release,
  pause: () => play(false),
  advance: (seconds) => all((ship) => ship.advance(seconds)),
  state: () => ships[0].report(),
  scenario: () => scenarioOf(ships[0], remarks()),
};
