// From the figures of fabrication/drawn/solid.py to skins and lines in space. Millimetres throughout.
const ROUND = 56; // facets round a tube
const STEP_DEG = 4; // rings along an arc

const add = (a, b, k = 1) => [a[0] + b[0] * k, a[1] + b[1] * k, a[2] + b[2] * k];
const cross = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const turned = (v, axis, rad) => {
  const [cos, sin] = [Math.cos(rad), Math.sin(rad)];
  return add(add([v[0] * cos, v[1] * cos, v[2] * cos], cross(axis, v), sin), axis, dot(axis, v) * (1 - cos));
};

// Where a stretch is at a share of its way: place, way ahead, and the scribed line's side.
const at = (stretch, share) => {
  const { ahead, inward, heel, radius_mm: radius } = stretch;
  if (!stretch.angle_deg) return { at: add(stretch.at, ahead, stretch.length_mm * share), ahead, heel };
  const rad = (stretch.angle_deg * share * Math.PI) / 180;
  const place = add(add(stretch.at, ahead, radius * Math.sin(rad)), inward, radius * (1 - Math.cos(rad)));
  const axis = cross(ahead, inward);
  return { at: place, ahead: turned(ahead, axis, rad), heel: turned(heel, axis, rad) };
};

const rings = (line) => {
  const found = [];
  let along = 0;
  for (const stretch of line) {
    const steps = Math.max(1, Math.ceil(stretch.angle_deg / STEP_DEG));
    for (let step = found.length ? 1 : 0; step <= steps; step++)
      found.push({ ...at(stretch, step / steps), along: along + (stretch.length_mm * step) / steps });
    along += stretch.length_mm;
  }
  return found;
};

const round = (ring, radius, turn) => {
  const side = cross(ring.ahead, ring.heel);
  const out = add([0, 0, 0], ring.heel, Math.cos(turn));
  const normal = add(out, side, Math.sin(turn));
  return { point: add(ring.at, normal, radius), normal };
};

// A skin through rings; `radius` may differ from ring to ring, `slope` leans its normals ahead.
const skin = (three, found, radius, slope = () => 0) => {
  const points = [], normals = [], along = [], index = [];
  found.forEach((ring, row) => {
    for (let facet = 0; facet <= ROUND; facet++) {
      const { point, normal } = round(ring, radius(row), (facet / ROUND) * 2 * Math.PI);
      points.push(...point);
      normals.push(...add(normal, ring.ahead, -slope(row)));
      along.push(ring.along);
      if (!row || !facet) continue;
      const here = row * (ROUND + 1) + facet, before = here - ROUND - 1;
      index.push(before - 1, here, here - 1, before - 1, before, here);
    }
  });
  return geometry(three, points, normals, index, along);
};

const geometry = (three, points, normals, index, along) => {
  const made = new three.BufferGeometry();
  made.setAttribute("position", new three.Float32BufferAttribute(points, 3));
  made.setAttribute("normal", new three.Float32BufferAttribute(normals, 3));
  if (along) made.setAttribute("along", new three.Float32BufferAttribute(along, 1));
  if (index) made.setIndex(index);
  return made;
};

// A flat ring that closes an end, seen from outside; `inner` 0 makes a disc.
const lid = (three, ring, outer, inner, away) => {
  const points = [], normals = [], index = [];
  for (let facet = 0; facet <= ROUND; facet++) {
    const turn = (facet / ROUND) * 2 * Math.PI;
    points.push(...round(ring, outer, turn).point, ...round(ring, inner, turn).point);
    normals.push(...away, ...away);
    if (facet) index.push(2 * facet - 2, 2 * facet, 2 * facet - 1, 2 * facet, 2 * facet + 1, 2 * facet - 1);
  }
  return geometry(three, points, normals, index);
};

const circle = (ring, radius) =>
  Array.from({ length: ROUND + 1 }, (_, facet) => round(ring, radius, (facet / ROUND) * 2 * Math.PI).point);

const tube = (three, solid) => {
  const radius = solid.od_mm / 2, skins = [], lines = [];
  for (const run of runs(solid.line)) {
    const look = run[0].lost ? "lost" : "tube";
    skins.push({ look, geometry: skin(three, rings(run), () => radius) });
    for (const stretch of run)
      if (stretch.angle_deg && !stretch.lost)
        for (const share of [0, 1]) lines.push({ look: "thin", points: circle(at(stretch, share), radius) });
    if (!run[0].lost && solid.line.some((stretch) => stretch.angle_deg))
      lines.push({ look: "thin", points: rings(run).map((ring) => add(ring.at, ring.heel, radius)) });
  }
  const first = at(solid.line[0], 0), last = at(solid.line.at(-1), 1);
  const bore = radius - (solid.wall_mm || Math.min(radius / 4, 1));
  for (const [ring, away] of [[first, add([0, 0, 0], first.ahead, -1)], [last, last.ahead]]) {
    skins.push({ look: "lid", geometry: lid(three, ring, radius, bore, away) });
    skins.push({ look: "bore", geometry: lid(three, ring, bore, 0, away) });
    lines.push({ look: "ink", points: circle(ring, radius) }, { look: "thin", points: circle(ring, bore) });
  }
  for (const bead of solid.beads) ringed(three, bead, first, radius, skins, lines);
  for (const sleeve of solid.sleeves) {
    const found = rings(sleeve.line), over = radius + sleeve.over_mm;
    skins.push({ look: "hose", geometry: skin(three, found, () => over) });
    lines.push({ look: "hose", points: circle(found[0], over) }, { look: "hose", points: circle(found.at(-1), over) });
  }
  return { skins, lines, points: rings(solid.line).map((ring) => ring.at), reach: radius };
};

// Neighbouring stretches that are drawn alike.
const runs = (line) => {
  const found = [];
  for (const stretch of line) {
    const run = found.at(-1);
    run && run[0].lost === stretch.lost ? run.push(stretch) : found.push([stretch]);
  }
  return found;
};

// A bead: the arc of a circle over its width, turned about the tube.
const ringed = (three, bead, first, radius, skins, lines) => {
  const { height_mm: high, width_mm: wide, ahead } = bead;
  const curl = (high * high + (wide * wide) / 4) / (2 * high);
  const across = Math.abs(dot(ahead, first.heel)) < 0.9 ? first.heel : cross(ahead, [0, 0, 1]);
  const off = add(across, ahead, -dot(across, ahead));
  const heel = add([0, 0, 0], off, 1 / Math.hypot(...off));
  const found = [-1, -0.75, -0.5, -0.25, 0, 0.25, 0.5, 0.75, 1].map((share) => {
    const along = (share * wide) / 2;
    return { at: add(bead.at, ahead, along), ahead, heel, along };
  });
  const rise = (row) => Math.sqrt(curl * curl - found[row].along ** 2) - (curl - high);
  const lean = (row) => -found[row].along / (rise(row) + curl - high);
  skins.push({ look: "tube", geometry: skin(three, found, (row) => radius + rise(row), lean) });
  for (const edge of [found[0], found.at(-1)]) lines.push({ look: "ink", points: circle(edge, radius) });
};

// The normal of a flat patch, and of a bent one whose facets are not to be seen.
const flatly = ([a, b, c]) => cross(add(b, a, -1), add(c, a, -1));
const smoothly = (triangles) => {
  const sums = new Map(), name = (corner) => corner.map((value) => value.toFixed(3)).join(" ");
  for (const corners of triangles)
    for (const corner of corners)
      sums.set(name(corner), add(flatly(corners), sums.get(name(corner)) ?? [0, 0, 0]));
  return (_, corner) => sums.get(name(corner));
};

const sheet = (three, solid) => {
  const points = [], normals = [];
  for (const face of solid.faces) {
    const lean = face.bend === null ? flatly : smoothly(face.triangles);
    for (const corners of face.triangles) {
      points.push(...corners.flat());
      for (const corner of corners) normals.push(...lean(corners, corner));
    }
  }
  const lines = solid.edges.map((edge) => ({ look: "ink", points: edge }));
  lines.push(...solid.bend_lines.map((line) => ({ look: "thin", points: line })));
  const corners = solid.faces.flatMap((face) => face.triangles.flat());
  return { skins: [{ look: "sheet", geometry: geometry(three, points, normals) }], lines, points: corners, reach: 0 };
};

export const shapesOf = (three, solid) => (solid.kind === "tube" ? tube : sheet)(three, solid);
