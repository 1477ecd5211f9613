// The machine's side view, and the force on its handle's path: drawn here, from numbers of the server.

export const MARGIN = 0.1;

export function colours(element) {
  const style = getComputedStyle(element);
  const of = (name) => style.getPropertyValue(name).trim();
  return { ink: of("--ink"), quiet: of("--quiet"), line: of("--line"), up: of("--up"), down: of("--down"),
    hand: of("--hand"), sheet: of("--sheet") };
}

// A canvas as large as it is shown, sharp on any screen.
export function sized(canvas) {
  const box = canvas.getBoundingClientRect();
  const ratio = Math.min(window.devicePixelRatio || 1, 3);
  const [width, height] = [Math.round(box.width * ratio), Math.round(box.height * ratio)];
  if (canvas.width !== width || canvas.height !== height) {
    canvas.width = width;
    canvas.height = height;
  }
  const ink = canvas.getContext("2d");
  ink.setTransform(ratio, 0, 0, ratio, 0, 0);
  ink.clearRect(0, 0, box.width, box.height);
  return { ink, width: box.width, height: box.height };
}

// Between which two positions q lies, and how far between them; beyond the ends it stays at the end.
export function between(grid, q) {
  const last = grid.length - 1;
  const step = (grid[last] - grid[0]) / last;
  const place = Math.min(Math.max((q - grid[0]) / step, 0), last);
  const index = Math.min(Math.floor(place), last - 1);
  return [index, place - index];
}

function mixed(rows, index, share) {
  const [a, b] = [rows[index], rows[index + 1] ?? rows[index]];
  return a.map((value, i) => value + share * (b[i] - value));
}

export function pointAt(path, grid, q) {
  return mixed(path, ...between(grid, q));
}

// Where things are shown: metres to pixels, the same scale both ways, up is up.
export function viewOf(points, width, height, extra = 0) {
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  const [x0, x1] = [Math.min(...xs) - extra, Math.max(...xs) + extra];
  const [y0, y1] = [Math.min(...ys) - extra, Math.max(...ys) + extra];
  const scale = Math.min(
    (width * (1 - 2 * MARGIN)) / Math.max(x1 - x0, 1e-3),
    (height * (1 - 2 * MARGIN)) / Math.max(y1 - y0, 1e-3),
  );
  const [left, top] = [(width - scale * (x1 - x0)) / 2, (height - scale * (y1 - y0)) / 2];
  return { scale, at: ([x, y]) => [left + scale * (x - x0), height - top - scale * (y - y0)] };
}

// Every point that the machine may take up to position q, to fit the view to.
export function reach(geometry, qMost) {
  const points = [...geometry.pivots];
  const take = (flat) => {
    for (let i = 0; i < flat.length; i += 2) points.push([flat[i], flat[i + 1]]);
  };
  geometry.q_rad.forEach((q, i) => {
    if (i > 0 && q > qMost) return;
    geometry.moving.forEach((line) => take(line.at[i]));
    if (geometry.handle) points.push(geometry.handle[i]);
    if (geometry.load) points.push(geometry.load[i]);
  });
  return points;
}

function stroke(ink, flat, radius, view) {
  ink.beginPath();
  if (radius) {
    ink.arc(...view.at([flat[0], flat[1]]), radius * view.scale, 0, 2 * Math.PI);
  } else {
    for (let i = 0; i < flat.length; i += 2) {
      const [x, y] = view.at([flat[i], flat[i + 1]]);
      if (i) ink.lineTo(x, y);
      else ink.moveTo(x, y);
    }
  }
  ink.stroke();
}

export function line(ink, points, view) {
  ink.beginPath();
  points.forEach((point, i) => {
    const [x, y] = view.at(point);
    if (i) ink.lineTo(x, y);
    else ink.moveTo(x, y);
  });
  ink.stroke();
}

export function dot(ink, [x, y], radius) {
  ink.beginPath();
  ink.arc(x, y, radius, 0, 2 * Math.PI);
  ink.fill();
}

// The machine at position q; drawn faintly it is a place on the way.
export function drawMachine(ink, geometry, view, q, paint, { faint = false, qMost = Infinity } = {}) {
  const [index, share] = between(geometry.q_rad, q);
  ink.save();
  ink.lineCap = ink.lineJoin = "round";
  if (!faint) {
    ink.strokeStyle = paint.quiet;
    ink.lineWidth = 2;
    ink.setLineDash([8, 6]);
    geometry.fixed.forEach((one) => stroke(ink, one.at[0], one.radius, view));
    ink.setLineDash([]);
  }
  ink.strokeStyle = faint ? paint.line : paint.ink;
  ink.lineWidth = faint ? 2 : 7;
  geometry.moving.forEach((one) => {
    if (faint && one.radius) return;
    stroke(ink, mixed(one.at, index, share), one.radius, view);
  });
  if (!faint) {
    if (geometry.load) {
      const [x, y] = view.at(mixed(geometry.load, index, share));
      if (geometry.pivots.length) {
        const [px, py] = view.at(geometry.pivots[0]);
        ink.strokeStyle = paint.quiet;
        ink.lineWidth = 3;
        ink.beginPath();
        ink.moveTo(px, py);
        ink.lineTo(x, y);
        ink.stroke();
      }
      ink.fillStyle = paint.quiet;
      ink.fillRect(x - 11, y - 11, 22, 22);
    }
    geometry.pivots.forEach((pivot) => {
      ink.fillStyle = paint.sheet;
      ink.strokeStyle = paint.ink;
      ink.lineWidth = 3;
      const [x, y] = view.at(pivot);
      dot(ink, [x, y], 7);
      ink.stroke();
    });
    if (geometry.handle) {
      ink.fillStyle = paint.ink;
      dot(ink, view.at(mixed(geometry.handle, index, share)), 10);
    }
  }
  ink.restore();
}
