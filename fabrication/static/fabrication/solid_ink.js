// Ink on paper in space: two shaders, one for skins and one for lines of an even width.
// Every colour comes from the page's tokens, so the view is the same paper by day and by night.
const TOKENS = { ink: "--ink", second: "--ink-2", sheet: "--sheet", feint: "--feint", paper: "--paper" };

const SKIN_VERTEX = `
attribute float along;
varying vec3 vNormal;
varying float vAlong;
void main() {
  vNormal = normalMatrix * normal;
  vAlong = along;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}`;

// The outline lies where the skin turns away: its distance in pixels follows from how fast the
// normal turns there, so it keeps its width on straights, arcs and beads alike.
const SKIN_FRAGMENT = `
uniform vec3 uInk, uSheet;
uniform float uLine, uTint, uShade, uClear, uDash;
varying vec3 vNormal;
varying float vAlong;
void main() {
  vec3 normal = normalize(vNormal);
  float facing = normal.z * normal.z;
  float inside = facing / max(fwidth(facing), 1e-6);
  float edge = uLine > 0.0 ? 1.0 - smoothstep(uLine - 0.5, uLine + 0.5, inside) : 0.0;
  if (uDash > 0.0 && fract(vAlong / uDash) > 0.55) edge = 0.0;
  float light = 0.5 + 0.5 * dot(normal, normalize(vec3(-0.45, 0.65, 0.6)));
  vec3 body = mix(uSheet, uInk, uTint + uShade * (1.0 - light));
  gl_FragColor = vec4(mix(body, uInk, edge), mix(uClear, 1.0, edge));
}`;

const LINE_VERTEX = `
attribute vec3 other;
attribute float side;
uniform vec2 uSize;
uniform float uLine, uLift;
void main() {
  vec4 here = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  vec4 there = projectionMatrix * modelViewMatrix * vec4(other, 1.0);
  vec2 way = (there.xy - here.xy) * uSize;
  way = length(way) < 1e-4 ? vec2(1.0, 0.0) : normalize(way);
  vec2 off = vec2(-way.y, way.x) * side - way * 0.5;
  here.xy += off * uLine / uSize;
  here.z -= uLift;
  gl_Position = here;
}`;

const LINE_FRAGMENT = `
uniform vec3 uInk, uSheet;
uniform float uTint;
void main() { gl_FragColor = vec4(mix(uSheet, uInk, uTint), 1.0); }`;

const FLAT_VERTEX = `
void main() { gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }`;

// {look: [width of its outline, tint all over, depth of its shade, cover]}
const SKINS = {
  tube: [1.7, 0, 0.2, 1], lost: [1.7, 0, 0.04, 1], hose: [1.4, 0.3, 0.2, 0.3], lid: [0, 0, 0.06, 1], bore: [0, 0.5, 0, 1],
  sheet: [1.7, 0.02, 0.3, 1],
};
const ROUND = new Set(["tube", "lost", "hose"]);
const LINES = { ink: [1.7, "ink", 1], thin: [1, "second", 1], hose: [1.4, "ink", 1], bench: [1, "feint", 0.55] };
const SHADOW = 0.13;

export const inkOf = (three, host, ratio) => {
  const size = { value: new three.Vector2(1, 1) };
  const made = [];
  const keep = (material, colours) => {
    made.push([material, colours]);
    return material;
  };
  const uniforms = (more) => ({
    uInk: { value: new three.Color() }, uSheet: { value: new three.Color() }, uSize: size,
    uLine: { value: 0 }, uTint: { value: 0 }, uShade: { value: 0 }, uClear: { value: 1 }, uDash: { value: 0 }, uLift: { value: 0 },
    ...Object.fromEntries(Object.entries(more).map(([name, value]) => [name, { value }])),
  });
  const skin = (look) => {
    const [line, tint, shade, clear] = SKINS[look];
    return keep(
      new three.ShaderMaterial({
        vertexShader: SKIN_VERTEX,
        fragmentShader: SKIN_FRAGMENT,
        uniforms: uniforms({ uLine: line * ratio, uTint: tint, uShade: shade, uClear: clear }),
        side: ROUND.has(look) ? three.FrontSide : three.DoubleSide,
        transparent: clear < 1,
        depthWrite: clear === 1,
      }),
      ["ink", "sheet"],
    );
  };
  const line = (look) => {
    const [wide, colour, tint] = LINES[look];
    return keep(
      new three.ShaderMaterial({
        vertexShader: LINE_VERTEX,
        fragmentShader: LINE_FRAGMENT,
        uniforms: uniforms({ uLine: wide * ratio, uTint: tint, uLift: look === "bench" ? 0 : 0.0015 }),
        side: three.DoubleSide,
      }),
      [colour, "sheet"],
    );
  };
  const shadow = () =>
    keep(
      new three.ShaderMaterial({
        vertexShader: FLAT_VERTEX,
        fragmentShader: LINE_FRAGMENT,
        uniforms: uniforms({ uTint: SHADOW }),
        side: three.DoubleSide,
      }),
      ["ink", "sheet"],
    );
  const dip = () => {
    const style = getComputedStyle(host);
    for (const [material, [ink, sheet]] of made) {
      material.uniforms.uInk.value.set(style.getPropertyValue(TOKENS[ink]).trim());
      material.uniforms.uSheet.value.set(style.getPropertyValue(TOKENS[sheet]).trim());
    }
  };
  const forget = () => made.splice(0).forEach(([material]) => material.dispose());
  return { size: size.value, skin, line, shadow, dip, forget };
};

// A polyline as a band that faces the eye: two triangles a segment, widened by the shader.
export const bandOf = (three, points) => {
  const here = [], other = [], side = [], index = [];
  for (let step = 1; step < points.length; step++) {
    const [a, b] = [points[step - 1], points[step]], first = here.length / 3;
    here.push(...a, ...a, ...b, ...b);
    other.push(...b, ...b, ...a, ...a);
    side.push(1, -1, -1, 1);
    index.push(first, first + 1, first + 2, first + 2, first + 1, first + 3);
  }
  const made = new three.BufferGeometry();
  made.setAttribute("position", new three.Float32BufferAttribute(here, 3));
  made.setAttribute("other", new three.Float32BufferAttribute(other, 3));
  made.setAttribute("side", new three.Float32BufferAttribute(side, 1));
  made.setIndex(index);
  return made;
};
