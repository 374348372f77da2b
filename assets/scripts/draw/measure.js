// Length, width and direction of an outline, all in metres and degrees clockwise from north.

/** The outer rings of every part. */
export const outers = (geometry) => geometry.getPolygons().map((p) => p.getLinearRing(0).getCoordinates());

/** The direction of the longest side, from 0 to below 180. */
export function direction(geometry) {
  let best = 0;
  let along = 0;
  for (const ring of outers(geometry)) {
    for (let i = 1; i < ring.length; i += 1) {
      const [dx, dy] = [ring[i][0] - ring[i - 1][0], ring[i][1] - ring[i - 1][1]];
      const long = Math.hypot(dx, dy);
      // Sides that are equal but for rounding do not make a square turn to and fro.
      if (long > best * (1 + 1e-9)) {
        best = long;
        along = (Math.atan2(dx, dy) * 180) / Math.PI;
      }
    }
  }
  const turned = ((along % 180) + 180) % 180;
  return turned > 179.9999 ? 0 : turned;
}

/** How far it reaches along and across its direction, and the middle of that rectangle. */
export function measure(geometry) {
  const degrees = direction(geometry);
  const [sin, cos] = sinCos(degrees);
  let [w, e, s, n] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const ring of outers(geometry)) {
    for (const [x, y] of ring) {
      const across = x * cos - y * sin;
      const along = x * sin + y * cos;
      w = Math.min(w, across);
      e = Math.max(e, across);
      s = Math.min(s, along);
      n = Math.max(n, along);
    }
  }
  const [across, along] = [(w + e) / 2, (s + n) / 2];
  return {
    length: n - s,
    width: e - w,
    direction: degrees,
    middle: [across * cos + along * sin, -across * sin + along * cos],
  };
}

export function sinCos(degrees) {
  const angle = (degrees * Math.PI) / 180;
  return [Math.sin(angle), Math.cos(angle)];
}

/** Moves, stretches along and across its direction, and turns, as `to` says; what it leaves out stays. */
export function reshape(geometry, to) {
  const now = measure(geometry);
  const [sin, cos] = sinCos(now.direction);
  const [sin2, cos2] = sinCos(to.direction ?? now.direction);
  const long = (to.length ?? now.length) / now.length;
  const wide = (to.width ?? now.width) / now.width;
  const [mx, my] = to.middle ?? now.middle;
  geometry.applyTransform((flat, _, stride) => {
    for (let i = 0; i < flat.length; i += stride) {
      const [x, y] = [flat[i] - now.middle[0], flat[i + 1] - now.middle[1]];
      const across = (x * cos - y * sin) * wide;
      const along = (x * sin + y * cos) * long;
      flat[i] = mx + across * cos2 + along * sin2;
      flat[i + 1] = my - across * sin2 + along * cos2;
    }
    return flat;
  });
}

/** Corners of a rectangle, counter-clockwise and closed. */
export function rectangle([mx, my], length, width, degrees) {
  const [sin, cos] = sinCos(degrees);
  const corner = (side, end) => {
    const [x, y] = [(side * width) / 2, (end * length) / 2];
    return [mx + x * cos + y * sin, my - x * sin + y * cos];
  };
  const ring = [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)];
  return [...ring, ring[0]];
}

/** The shift that lays the nearest corner of a geometry on a corner or side of another, or on the grid. */
export function nudge(geometry, others, reach, step) {
  const corners = outers(geometry).flat();
  let best = reach;
  let shift = null;
  const offer = (from, to) => {
    const far = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (far < best) {
      best = far;
      shift = [to[0] - from[0], to[1] - from[1]];
    }
  };
  for (const other of others) {
    for (const ring of outers(other)) for (const to of ring) for (const from of corners) offer(from, to);
  }
  if (!shift) {
    for (const other of others) {
      for (const from of corners) offer(from, other.getClosestPoint(from));
    }
  }
  if (!shift && step) {
    for (const from of corners) offer(from, from.map((v) => Math.round(v / step) * step));
  }
  return shift;
}
