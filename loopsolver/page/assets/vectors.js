// Vectors of three numbers, and the 4 x 4 matrices that WebGL takes, column by column.

const add = (a, b) => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
const sub = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const scaled = (a, by) => [a[0] * by, a[1] * by, a[2] * by];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const norm = (a) => Math.hypot(a[0], a[1], a[2]);
const unit = (a) => scaled(a, 1 / (norm(a) || 1));
const between = (a, b, share) => add(a, scaled(sub(b, a), share));
const onward = (from, direction, by) => add(from, scaled(direction, by));
const distance = (a, b) => norm(sub(a, b));

const cross = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

/** A sum of three axes, as often as the numbers say. */
const combined = (axes, numbers) =>
  [0, 1, 2].map(
    (i) => axes[0][i] * numbers[0] + axes[1][i] * numbers[1] + axes[2][i] * numbers[2],
  );

/** A vector turned about a unit axis, right-handed (Rodrigues). */
function turned(vector, axis, angle) {
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const along = scaled(axis, dot(axis, vector) * (1 - cos));
  return add(add(scaled(vector, cos), scaled(cross(axis, vector), sin)), along);
}

/** Two unit vectors across a direction, right-handed with it; always the same two. */
function across(direction) {
  const sizes = direction.map(Math.abs);
  const least = sizes.indexOf(Math.min(...sizes));
  const helper = [0, 0, 0];
  helper[least] = 1;
  const x = unit(cross(helper, direction));
  return [x, cross(direction, x)];
}

/** The product of two matrices. */
function multiplied(a, b) {
  const product = new Array(16).fill(0);
  for (let column = 0; column < 4; column += 1) {
    for (let row = 0; row < 4; row += 1) {
      for (let k = 0; k < 4; k += 1)
        product[4 * column + row] += a[4 * k + row] * b[4 * column + k];
    }
  }
  return product;
}

const radians = (degrees) => (degrees * Math.PI) / 180;
