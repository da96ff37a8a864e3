// Balloons over the view: end A, bend 1, 2, 3, end B. They lean off the tube as on the drawing, and
// push one another and the tube apart.
const RING_PX = 14, REACH_PX = 22, ROUNDS = 12;
const SVG = "http://www.w3.org/2000/svg";

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));

const element = (kind, attributes, text = "") => {
  const made = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.textContent = text;
  return made;
};

export const notesOver = () => element("svg", { "aria-hidden": "true" });

// `flat` takes a point in space to its pixel, `half` is half the tube in pixels, `line` its middle.
export const note = (notes, places, { axes, flat, half, line }) => {
  const reach = half + RING_PX + REACH_PX;
  const spots = places.map((one) => {
    const foot = flat(one.at);
    // What points at the eye leans upward rather than nowhere.
    const lean = [dot(one.lean, axes.right), -dot(one.lean, axes.up) - 0.25], long = Math.hypot(...lean) || 1;
    return { name: one.name, foot, spot: [foot[0] + (lean[0] / long) * reach, foot[1] + (lean[1] / long) * reach] };
  });
  pushApart(spots, line, half + RING_PX + 5);
  notes.replaceChildren(...spots.flatMap(drawn));
};

const drawn = ({ name, foot, spot }) => {
  const long = Math.hypot(spot[0] - foot[0], spot[1] - foot[1]) || 1, share = Math.max(0, 1 - RING_PX / long);
  const [x, y] = [foot[0] + (spot[0] - foot[0]) * share, foot[1] + (spot[1] - foot[1]) * share];
  return [
    element("path", { class: "thin", d: `M${foot[0]} ${foot[1]}L${x} ${y}` }),
    element("circle", { class: "balloon", cx: spot[0], cy: spot[1], r: RING_PX }),
    element("text", { x: spot[0], y: spot[1], "text-anchor": "middle", "dominant-baseline": "central" }, name),
  ];
};

const pushApart = (spots, line, clear) => {
  const least = 2 * RING_PX + 3;
  for (let round = 0; round < ROUNDS; round++)
    for (const one of spots) {
      push(one, nearest(line, one.spot), clear);
      for (const other of spots)
        if (other !== one && push(one, other.spot, least, 0.5)) push(other, one.spot, least);
    }
};

// Moves a balloon off a point that is closer than `least`, by a share of what is wanting.
const push = (one, point, least, share = 1) => {
  if (!point) return false;
  const [dx, dy] = [one.spot[0] - point[0], one.spot[1] - point[1]], long = Math.hypot(dx, dy);
  if (long >= least) return false;
  const [x, y] = long > 0.1 ? [dx / long, dy / long] : [0, -1];
  one.spot = [one.spot[0] + x * (least - long) * share, one.spot[1] + y * (least - long) * share];
  return true;
};

// The point of a polyline that is nearest.
const nearest = (line, [x, y]) => {
  let best = null, least = Infinity;
  for (let step = 1; step < line.length; step++) {
    const [a, b] = [line[step - 1], line[step]], [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    const share = clamp(((x - a[0]) * dx + (y - a[1]) * dy) / (dx * dx + dy * dy || 1), 0, 1);
    const point = [a[0] + dx * share, a[1] + dy * share], gap = Math.hypot(x - point[0], y - point[1]);
    if (gap < least) [best, least] = [point, gap];
  }
  return best;
};
