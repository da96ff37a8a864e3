// One opened view: camera, hands, balloons. An axonometric view from anywhere, like the drawing's own.
const HOME = { turn: -35, tilt: 28 };
const NAMED = { home: HOME, above: { turn: 0, tilt: 90 }, front: { turn: 0, tilt: 0 }, right: { turn: 90, tilt: 0 } };
const STEP_DEG = 5, ZOOM = 1.2, MARGIN_PX = 52, DRAG_DEG = 0.4, THIN_PX = 9, DASH_PX = 13, MOST_SQUARES = 16;
const FINE = 2; // drawn at twice the size of a desk's pixels, so that thin lines are even

const rad = (deg) => (deg * Math.PI) / 180;
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

// Right, up and towards the eye: turn 0 is the view from the front, 90 the one from the right.
const axesOf = ({ turn, tilt }) => {
  const [s, c, st, ct] = [Math.sin(rad(turn)), Math.cos(rad(turn)), Math.sin(rad(tilt)), Math.cos(rad(tilt))];
  return { right: [c, s, 0], up: [-s * st, c * st, ct], eye: [ct * s, -ct * c, st] };
};

export const openView = (three, { shapesOf, inkOf, bandOf, notesOver, note }, host) => {
  three.ColorManagement.enabled = false;
  const stage = host.querySelector("[data-solid-stage]");
  const canvas = document.createElement("canvas");
  const notes = notesOver();
  stage.replaceChildren(canvas, notes);
  const context = canvas.getContext("webgl2", { antialias: true, alpha: true });
  const renderer = new three.WebGLRenderer({ canvas, context, alpha: true });
  renderer.outputColorSpace = three.LinearSRGBColorSpace;
  const ink = inkOf(three, host, FINE);
  const scene = new three.Scene(), camera = new three.OrthographicCamera();
  let look = { ...HOME }, zoom = 1, pan = [0, 0], shape = null, solid = null, wanted = 0, floor = [], thin = [], dashed = null;

  const ask = () => (wanted ||= requestAnimationFrame(draw));

  // What the eye sees of the points, flat: the frame that holds them all.
  const frameOf = (axes) => {
    const xs = shape.points.map((point) => dot(point, axes.right));
    const ys = shape.points.map((point) => dot(point, axes.up));
    const [left, right, low, high] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    return {
      middle: [(left + right) / 2, (low + high) / 2],
      wide: right - left + 2 * shape.reach,
      high: high - low + 2 * shape.reach,
    };
  };

  const draw = () => {
    wanted = 0;
    const [wide, high] = [stage.clientWidth, stage.clientHeight];
    if (!shape || !wide || !high) return;
    const axes = axesOf(look), frame = frameOf(axes);
    const fit = Math.min((wide - 2 * MARGIN_PX) / frame.wide, (high - 2 * MARGIN_PX) / frame.high, 12);
    const scale = fit * zoom; // pixels a millimetre
    const centre = [frame.middle[0] - pan[0] / scale, frame.middle[1] - pan[1] / scale];
    place(axes, centre, [wide / scale, high / scale]);
    for (const one of floor) one.visible = look.tilt > 3;
    // On a tube of a few pixels the thin lines would fill it.
    for (const one of thin) one.visible = !shape.reach || 2 * shape.reach * scale > THIN_PX;
    if (dashed) dashed.uniforms.uDash.value = DASH_PX / scale;
    renderer.render(scene, camera);
    const flat = (point) => [
      (dot(point, axes.right) - centre[0]) * scale + wide / 2,
      high / 2 - (dot(point, axes.up) - centre[1]) * scale,
    ];
    const line = shape.reach ? shape.points.map(flat) : [];
    note(notes, solid.places, { axes, flat, half: shape.reach * scale, line });
    // For who looks from outside the canvas: a test, a person with the browser's own tools.
    Object.assign(stage.dataset, {
      turn: Number(look.turn.toFixed(2)), tilt: Number(look.tilt.toFixed(2)), zoom: Number(zoom.toFixed(2)),
      long: Math.round(shape.long), drawn: Number(stage.dataset.drawn ?? 0) + 1,
    });
  };

  const place = (axes, centre, span) => {
    const far = shape.far;
    Object.assign(camera, { left: -span[0] / 2, right: span[0] / 2, top: span[1] / 2, bottom: -span[1] / 2 });
    Object.assign(camera, { near: 0, far: 4 * far });
    const middle = dot(shape.middle, axes.eye) + 2 * far;
    const [x, y, z] = [0, 1, 2].map(
      (k) => axes.right[k] * centre[0] + axes.up[k] * centre[1] + axes.eye[k] * middle,
    );
    camera.position.set(x, y, z);
    const basis = new three.Matrix4().makeBasis(...[axes.right, axes.up, axes.eye].map((v) => new three.Vector3(...v)));
    camera.quaternion.setFromRotationMatrix(basis);
    camera.updateProjectionMatrix();
  };

  // ---- what is seen -----------------------------------------------------------------------

  const clear = () => {
    for (const one of [...scene.children]) one.geometry.dispose();
    scene.clear();
    ink.forget();
  };

  const show = (told) => {
    clear();
    solid = told;
    shape = shapesOf(three, told);
    const box = new three.Box3().setFromPoints(shape.points.map((point) => new three.Vector3(...point)));
    shape.middle = box.getCenter(new three.Vector3()).toArray();
    shape.long = (told.line ?? []).reduce((sum, stretch) => sum + stretch.length_mm, 0);
    shape.far = Math.max(box.getSize(new three.Vector3()).length(), 1) + 4 * shape.reach + 10;
    const skins = {}, lines = {};
    thin = [];
    for (const { look: name, geometry } of shape.skins) {
      const mesh = new three.Mesh(geometry, (skins[name] ??= ink.skin(name)));
      mesh.renderOrder = name === "hose" ? 2 : 1;
      scene.add(mesh);
    }
    for (const { look: name, points } of shape.lines) {
      const mesh = drawn(bandOf(three, points), (lines[name] ??= ink.line(name)), 1);
      if (name === "thin") thin.push(mesh);
    }
    dashed = skins.lost;
    floor = benchUnder(box);
    ink.dip();
    stage.setAttribute("aria-label", `${told.says}. ${stage.dataset.keys}`);
    ask();
  };

  const drawn = (geometry, material, order) => {
    const mesh = new three.Mesh(geometry, material);
    mesh.renderOrder = order;
    mesh.frustumCulled = false;
    scene.add(mesh);
    return mesh;
  };

  // The bench below: squares to judge by, and the plan of the solid as its shadow.
  const benchUnder = (box) => {
    const size = box.getSize(new three.Vector3()), long = Math.max(size.x, size.y);
    const squares = host.dataset.squares.split(" ").map(Number);
    const which = squares.findIndex((square) => long < MOST_SQUARES * square);
    const square = squares.at(which);
    const low = box.min.z - shape.reach - 0.04 * shape.far;
    const from = [box.min.x, box.min.y].map((value) => Math.floor((value - shape.reach) / square - 0.25) * square);
    const to = [box.max.x, box.max.y].map((value) => Math.ceil((value + shape.reach) / square + 0.25) * square);
    const found = [], material = ink.line("bench");
    const rule = (a, b) => found.push(drawn(bandOf(three, [[...a, low], [...b, low]]), material, 0));
    for (let x = from[0]; x <= to[0] + 1e-6; x += square) rule([x, from[1]], [x, to[1]]);
    for (let y = from[1]; y <= to[1] + 1e-6; y += square) rule([from[0], y], [to[0], y]);
    const shade = ink.shadow();
    for (const { look: name, geometry } of shape.skins) {
      if (name !== "tube" && name !== "lost" && name !== "sheet") continue;
      const mesh = drawn(geometry.clone().applyMatrix4(new three.Matrix4().makeScale(1, 1, 0)), shade, 0);
      mesh.position.z = low - 0.002 * shape.far;
      found.push(mesh);
    }
    host.querySelectorAll("[data-square]").forEach((words, number) => {
      words.hidden = number !== (which + squares.length) % squares.length;
    });
    return found;
  };

  // ---- hands ------------------------------------------------------------------------------

  const turnBy = (turn, tilt) => {
    stop();
    look = { turn: ((look.turn + turn + 540) % 360) - 180, tilt: clamp(look.tilt + tilt, -90, 90) };
    ask();
  };
  const zoomBy = (factor) => {
    zoom = clamp(zoom * factor, 0.3, 20);
    ask();
  };
  const panBy = (x, y) => {
    pan = [pan[0] + x, pan[1] - y];
    ask();
  };

  // The page's own quick duration; nought for who asked for less motion.
  let moving = 0;
  const stop = () => cancelAnimationFrame(moving);
  const go = (name) => {
    stop();
    const from = { ...look, zoom, pan }, to = NAMED[name];
    const turn = ((to.turn - from.turn + 540) % 360) - 180;
    const long = 2 * (parseFloat(getComputedStyle(host).getPropertyValue("--quick")) || 0);
    const start = performance.now();
    const step = (now) => {
      const share = long ? clamp((now - start) / long, 0, 1) : 1, ease = share * (2 - share);
      look = { turn: from.turn + turn * ease, tilt: from.tilt + (to.tilt - from.tilt) * ease };
      zoom = from.zoom + (1 - from.zoom) * ease;
      pan = from.pan.map((value) => value * (1 - ease));
      ask();
      if (share < 1) moving = requestAnimationFrame(step);
    };
    step(start);
  };

  const KEYS = {
    ArrowLeft: () => turnBy(-STEP_DEG, 0),
    ArrowRight: () => turnBy(STEP_DEG, 0),
    ArrowUp: () => turnBy(0, STEP_DEG),
    ArrowDown: () => turnBy(0, -STEP_DEG),
    "+": () => zoomBy(ZOOM),
    "=": () => zoomBy(ZOOM),
    "-": () => zoomBy(1 / ZOOM),
    Home: () => go("home"),
  };
  const SHIFTED = { ArrowLeft: [-24, 0], ArrowRight: [24, 0], ArrowUp: [0, -24], ArrowDown: [0, 24] };
  const off = new AbortController(), signal = off.signal;
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const shifted = event.shiftKey && SHIFTED[event.key], key = KEYS[event.key];
    if (!shifted && !key) return;
    event.preventDefault();
    shifted ? panBy(...shifted) : key();
  }, { signal });

  const hands = new Map();
  stage.addEventListener("pointerdown", (event) => {
    if (event.button === 2) return;
    stop();
    stage.setPointerCapture(event.pointerId);
    hands.set(event.pointerId, [event.clientX, event.clientY]);
  }, { signal });
  stage.addEventListener("pointermove", (event) => {
    const was = hands.get(event.pointerId);
    if (!was) return;
    const [dx, dy] = [event.clientX - was[0], event.clientY - was[1]];
    const other = [...hands].find(([id]) => id !== event.pointerId)?.[1];
    hands.set(event.pointerId, [event.clientX, event.clientY]);
    if (other) {
      const gap = (point) => Math.hypot(point[0] - other[0], point[1] - other[1]) || 1;
      zoomBy(gap([event.clientX, event.clientY]) / gap(was));
      panBy(dx / 2, dy / 2);
    } else if (event.shiftKey) panBy(dx, dy);
    else turnBy(-dx * DRAG_DEG, dy * DRAG_DEG);
  }, { signal });
  for (const name of ["pointerup", "pointercancel"])
    stage.addEventListener(name, (event) => hands.delete(event.pointerId), { signal });
  // A bare wheel scrolls the page, as everywhere; a pinch on a pad comes as a wheel with Ctrl.
  stage.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    zoomBy(Math.exp(-event.deltaY / 200));
  }, { signal, passive: false });
  host.addEventListener("click", (event) => {
    const name = event.target.closest("[data-solid-look]")?.dataset.solidLook;
    if (name === "nearer" || name === "farther") zoomBy(name === "nearer" ? ZOOM : 1 / ZOOM);
    else if (name) go(name);
  }, { signal });

  const fitted = new ResizeObserver(() => {
    const [wide, high] = [stage.clientWidth, stage.clientHeight];
    if (!wide || !high) return;
    renderer.setPixelRatio(FINE);
    renderer.setSize(wide, high, false);
    ink.size.set(wide * FINE, high * FINE);
    notes.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    ask();
  });
  fitted.observe(stage);
  const redip = () => {
    ink.dip();
    ask();
  };
  for (const query of ["(prefers-color-scheme: dark)", "(prefers-contrast: more)"])
    matchMedia(query).addEventListener("change", redip, { signal });
  canvas.addEventListener("webglcontextrestored", ask, { signal });

  const close = () => {
    off.abort();
    fitted.disconnect();
    stop();
    cancelAnimationFrame(wanted);
    clear();
    renderer.dispose();
    context.getExtension("WEBGL_lose_context")?.loseContext();
    stage.replaceChildren();
  };

  return { show, close, go };
};
