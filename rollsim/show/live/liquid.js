// A level liquid in the heeled section of a tank.

// The corners of a level liquid in a tank heeled by an angle, its area kept.
function liquidIn(tank, share, heel) {
  if (share <= 0) {
    return [];
  }
  const corners = cornersOf(tank);
  if (share >= 1) {
    return corners;
  }
  const [c, s] = [Math.cos(heel), Math.sin(heel)];
  const height = ([y, z]) => z * c - y * s;
  const heights = corners.map(height);
  const wanted = share * areaOf(corners);
  let [low, high] = [Math.min(...heights), Math.max(...heights)];
  for (let i = 0; i < 24; i += 1) {
    const middle = 0.5 * (low + high);
    const full = areaOf(clipped(corners, height, middle)) > wanted;
    [low, high] = full ? [low, middle] : [middle, high];
  }
  return clipped(corners, height, 0.5 * (low + high));
}

function clipped(corners, height, level) {
  return corners.flatMap((corner, i) => {
    const next = corners[(i + 1) % corners.length];
    const [a, b] = [height(corner) - level, height(next) - level];
    const points = a <= 0 ? [corner] : [];
    if (a * b < 0) {
      const x = a / (a - b);
      points.push([corner[0] + x * (next[0] - corner[0]), corner[1] + x * (next[1] - corner[1])]);
    }
    return points;
  });
}

function areaOf(points) {
  const twice = points.map(([y, z], i) => {
    const [y1, z1] = points[(i + 1) % points.length];
    return y * z1 - y1 * z;
  });
  return 0.5 * Math.abs(twice.reduce((sum, each) => sum + each, 0));
}
