// From where a build is looked at: the eye goes round a focus, its upright stays upright.

const LENS_ANGLE = radians(24);
const MARGIN = 0.07;
const STEEPEST = radians(89);

class Camera {
  /**
   * `sides` are the directions right, away and up; `home` the direction from the focus to
   * the eye at first.
   */
  constructor(sides, home, places) {
    this.sides = sides;
    this.home = home;
    this.show(places, 1);
  }

  /** Look from the first direction again, with some places in the picture. */
  show(places, aspect) {
    this.places = places;
    this.look(this.home, aspect);
  }

  /** Look from a direction, with everything in the picture. */
  look(towards, aspect) {
    const { right, away, up } = this.sides;
    const [aside, near] = [dot(towards, right), -dot(towards, away)];
    this.turn = Math.hypot(aside, near) < 1e-6 ? 0 : Math.atan2(aside, near);
    this.rise = Math.max(
      -STEEPEST,
      Math.min(STEEPEST, Math.asin(Math.max(-1, Math.min(1, dot(towards, up))))),
    );
    this.fit(aspect);
  }

  /** The directions right, up and towards the eye, as the picture has them. */
  axes() {
    const { right, away, up } = this.sides;
    const level = add(
      scaled(right, Math.sin(this.turn)),
      scaled(away, -Math.cos(this.turn)),
    );
    const towards = add(
      scaled(level, Math.cos(this.rise)),
      scaled(up, Math.sin(this.rise)),
    );
    const aside = unit(cross(up, level));
    return { right: aside, up: cross(towards, aside), towards };
  }

  /**
   * Move focus and eye so that all places are just in the picture.
   *
   * What is near looks larger: the sides of the lens's cone touch the outermost places.
   */
  fit(aspect) {
    const axes = this.axes();
    const own = this.places.map((place) =>
      [axes.right, axes.up, axes.towards].map((axis) => dot(place, axis)),
    );
    // The lens's angle is that of the picture's smaller side.
    const slope = Math.tan(LENS_ANGLE / 2) * (1 - 2 * MARGIN);
    const slopes = [slope * Math.max(1, aspect), slope * Math.max(1, 1 / aspect)];
    const middle = [0, 0, 0];
    let depth = 0;
    slopes.forEach((open, n) => {
      const high = Math.max(...own.map((at) => at[n] + open * at[2]));
      const low = Math.min(...own.map((at) => at[n] - open * at[2]));
      middle[n] = (high + low) / 2;
      depth = Math.max(depth, (high - low) / (2 * open));
    });
    const depths = own.map((at) => at[2]);
    middle[2] = (Math.min(...depths) + Math.max(...depths)) / 2;
    this.focus = combined([axes.right, axes.up, axes.towards], middle);
    this.distance = depth - middle[2];
    this.span = this.distance;
  }

  /** Turn the eye by angles to the right and upwards. */
  orbit(byTurn, byRise) {
    this.turn += byTurn;
    this.rise = Math.max(-STEEPEST, Math.min(STEEPEST, this.rise + byRise));
  }

  /** Go nearer by a factor above 1, or away by one below it. */
  zoom(factor) {
    this.distance = Math.max(
      this.span / 40,
      Math.min(this.span * 4, this.distance / factor),
    );
  }

  /** Shift what is seen by shares of the picture's smaller side. */
  shift(byRight, byUp) {
    const { right, up } = this.axes();
    const seen = 2 * this.distance * Math.tan(LENS_ANGLE / 2);
    this.focus = onward(onward(this.focus, right, -byRight * seen), up, -byUp * seen);
  }

  /** Where the eye is, and the matrix from places to the picture, -1 to 1 each way. */
  lens(aspect) {
    const axes = this.axes();
    const eye = onward(this.focus, axes.towards, this.distance);
    const [near, far] = [this.distance / 50, this.distance + 8 * this.span];
    const open = 1 / Math.tan(LENS_ANGLE / 2);
    // The lens's angle is that of the picture's smaller side.
    const [x, y] = aspect > 1 ? [open / aspect, open] : [open, open * aspect];
    const project = [
      x,
      0,
      0,
      0,
      0,
      y,
      0,
      0,
      0,
      0,
      (far + near) / (near - far),
      -1,
      0,
      0,
      (2 * far * near) / (near - far),
      0,
    ];
    const { right, up, towards } = axes;
    const stand = [
      right[0],
      up[0],
      towards[0],
      0,
      right[1],
      up[1],
      towards[1],
      0,
      right[2],
      up[2],
      towards[2],
      0,
      -dot(right, eye),
      -dot(up, eye),
      -dot(towards, eye),
      1,
    ];
    return { ...axes, eye, open: [x, y], matrix: multiplied(project, stand) };
  }

  /** Where places are on a picture of a size, from its upper left corner [pixels]. */
  onPicture(places, [width, height]) {
    const { matrix: m } = this.lens(width / height);
    return places.map(([x, y, z]) => {
      const [u, v, w] = [0, 1, 3].map(
        (row) => m[row] * x + m[4 + row] * y + m[8 + row] * z + m[12 + row],
      );
      return [((u / w + 1) / 2) * width, ((1 - v / w) / 2) * height];
    });
  }
}
