// Surfaces as triangles: corners, the way each corner faces, and three corners a triangle.
// Lengths in millimetres. Round things have the normals of the true surface.

const ROUND_SIDES = 36;
const ARC_STEP = radians(5);

const emptyShape = () => ({ corners: [], facing: [], triangles: [] });

function addCorner(shape, at, facing) {
  shape.corners.push(...at);
  shape.facing.push(...facing);
  return shape.corners.length / 3 - 1;
}

/** Several surfaces as one. */
function joined(shapes) {
  const whole = emptyShape();
  for (const shape of shapes) {
    const first = whole.corners.length / 3;
    for (const number of shape.corners) whole.corners.push(number);
    for (const number of shape.facing) whole.facing.push(number);
    for (const corner of shape.triangles) whole.triangles.push(first + corner);
  }
  return whole;
}

/** The band between neighbouring rings of so many corners each. */
function band(shape, rings, sides) {
  for (let ring = 0; ring + 1 < rings; ring += 1) {
    for (let here = 0; here < sides; here += 1) {
      const after = (here + 1) % sides;
      const [a, b] = [ring * sides + here, ring * sides + after];
      shape.triangles.push(a, b, b + sides, a, b + sides, a + sides);
    }
  }
  return shape;
}

/** Add a ring of corners in the plane of two unit vectors, all facing outwards. */
function ring(shape, middle, x, y, radius, sides) {
  for (let side = 0; side < sides; side += 1) {
    const turn = (2 * Math.PI * side) / sides;
    const out = add(scaled(x, Math.cos(turn)), scaled(y, Math.sin(turn)));
    addCorner(shape, onward(middle, out, radius), out);
  }
}

/** The round side of a straight rod, open at both ends. */
function rodShape(from, to, radius, sides = ROUND_SIDES) {
  const shape = emptyShape();
  const [x, y] = across(unit(sub(to, from)));
  ring(shape, from, x, y, radius, sides);
  ring(shape, to, x, y, radius, sides);
  return band(shape, 2, sides);
}

/** The round side of a rod along an arc: p(s) = centre + arc.radius (u cos s + v sin s). */
function arcShape(arc, radius, sides = ROUND_SIDES) {
  const steps = Math.max(2, Math.ceil(arc.angle / ARC_STEP));
  const shape = emptyShape();
  const axis = cross(arc.u, arc.v);
  for (let step = 0; step <= steps; step += 1) {
    const turn = (arc.angle * step) / steps;
    const out = turned(arc.u, axis, turn);
    ring(shape, onward(arc.centre, out, arc.radius), out, scaled(axis, -1), radius, sides);
  }
  return band(shape, steps + 1, sides);
}

/** A flat round face. */
function discShape(middle, normal, radius, sides = ROUND_SIDES) {
  const shape = emptyShape();
  const [x, y] = across(normal);
  ring(shape, middle, x, y, radius, sides);
  for (let i = 0; i < shape.facing.length; i += 1) shape.facing[i] = normal[i % 3];
  for (let side = 1; side + 1 < sides; side += 1) shape.triangles.push(0, side, side + 1);
  return shape;
}

/** A rod with flat faces at both ends. */
function closedRod(from, to, radius, sides = ROUND_SIDES) {
  const along = unit(sub(to, from));
  return joined([
    rodShape(from, to, radius, sides),
    discShape(from, scaled(along, -1), radius, sides),
    discShape(to, along, radius, sides),
  ]);
}

/** A cone from the middle of its round face to its tip. */
function coneShape(from, to, radius, sides = ROUND_SIDES) {
  const along = unit(sub(to, from));
  const [x, y] = across(along);
  const shape = emptyShape();
  ring(shape, from, x, y, radius, sides);
  for (let side = 0; side < sides; side += 1)
    addCorner(shape, to, shape.facing.slice(3 * side, 3 * side + 3));
  return joined([band(shape, 2, sides), discShape(from, scaled(along, -1), radius, sides)]);
}

/** A wire bent to a ring about an axis. */
function hoopShape(middle, axis, radius, thick) {
  const [u, v] = across(axis);
  return arcShape({ centre: middle, u, v, radius, angle: 2 * Math.PI }, thick / 2, 10);
}

const CORNER_SIGNS = [0, 1, 2, 3, 4, 5, 6, 7].map((n) => [
  n & 1 ? 0.5 : -0.5,
  n & 2 ? 0.5 : -0.5,
  n & 4 ? 0.5 : -0.5,
]);
const BOX_FACES = [
  [0, 2, 3, 1],
  [4, 5, 7, 6],
  [0, 1, 5, 4],
  [2, 6, 7, 3],
  [0, 4, 6, 2],
  [1, 3, 7, 5],
];

const boxCorners = (solid) =>
  CORNER_SIGNS.map((signs) =>
    add(
      solid.middle,
      combined(
        solid.axes,
        signs.map((sign, i) => sign * solid.box[i]),
      ),
    ),
  );

function boxShape(solid) {
  const shape = emptyShape();
  const corners = boxCorners(solid);
  for (const face of BOX_FACES) {
    const [a, b, c, d] = face.map((n) => corners[n]);
    const normal = unit(cross(sub(b, a), sub(d, a)));
    const [i, j, k, l] = [a, b, c, d].map((at) => addCorner(shape, at, normal));
    shape.triangles.push(i, j, k, i, k, l);
  }
  return shape;
}

const cylinderEnds = (solid) => {
  const half = scaled(solid.axes[2], solid.cylinder[1] / 2);
  return [sub(solid.middle, half), add(solid.middle, half)];
};

function numbersIn(text, Kind) {
  const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  return new Kind(bytes.buffer);
}

/** The triangles of a mesh, each with its own corners and normal: there may be many. */
function meshShape(mesh) {
  const places = numbersIn(mesh.corners, Float32Array);
  const faces = numbersIn(mesh.faces, Uint32Array);
  const corners = new Float32Array(3 * faces.length);
  const facing = new Float32Array(3 * faces.length);
  for (let first = 0; first < faces.length; first += 3) {
    const [a, b, c] = [0, 1, 2].map((n) => {
      const from = 3 * faces[first + n];
      return [places[from], places[from + 1], places[from + 2]];
    });
    const normal = unit(cross(sub(b, a), sub(c, a)));
    [a, b, c].forEach((at, n) => {
      corners.set(at, 3 * (first + n));
      facing.set(normal, 3 * (first + n));
    });
  }
  return { corners, facing, triangles: faces.map((_, n) => n) };
}

/** The surface of a box, cylinder or mesh. */
function solidShape(solid) {
  if (solid.box) return boxShape(solid);
  if (solid.cylinder) return closedRod(...cylinderEnds(solid), solid.cylinder[0] / 2);
  return meshShape(solid.mesh);
}

/** The sharp edges of a solid as lines: two corners each. A mesh has none here. */
function solidEdges(solid) {
  const lines = emptyShape();
  const line = (from, to) => [from, to].forEach((at) => addCorner(lines, at, [0, 0, 0]));
  if (solid.box) {
    const corners = boxCorners(solid);
    for (const bit of [1, 2, 4]) {
      corners.forEach((corner, n) => n & bit || line(corner, corners[n | bit]));
    }
  } else if (solid.cylinder) {
    const [x, y] = solid.axes;
    for (const middle of cylinderEnds(solid)) {
      const rim = emptyShape();
      ring(rim, middle, x, y, solid.cylinder[0] / 2, ROUND_SIDES);
      for (let n = 0; n < ROUND_SIDES; n += 1) {
        const after = (n + 1) % ROUND_SIDES;
        line(
          rim.corners.slice(3 * n, 3 * n + 3),
          rim.corners.slice(3 * after, 3 * after + 3),
        );
      }
    }
  }
  return lines;
}

/** Lines between pairs of places. */
function linesShape(pairs) {
  const lines = emptyShape();
  for (const at of pairs.flat()) addCorner(lines, at, [0, 0, 0]);
  return lines;
}
