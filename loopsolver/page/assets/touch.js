// Fingers, mouse and keys on a picture: turn, shift, go nearer, point at.

const TAP_REACH = 8;
const KEY_TURNS = {
  ArrowLeft: [-0.12, 0],
  ArrowRight: [0.12, 0],
  ArrowUp: [0, 0.12],
  ArrowDown: [0, -0.12],
};

class Touch {
  /** `moved()` is called after the camera moved, `tapped(x, y)` for a tap [pixels]. */
  constructor(canvas, camera, { moved, tapped }) {
    Object.assign(this, { canvas, camera, moved, tapped });
    this.pictures = 1;
    this.fingers = new Map();
    this.way = 0;
    const on = (name, act) => canvas.addEventListener(name, act);
    on("pointerdown", (event) => this.down(event));
    on("pointermove", (event) => this.move(event));
    on("pointerup", (event) => this.up(event));
    on("pointercancel", (event) => this.fingers.delete(event.pointerId));
    on("contextmenu", (event) => event.preventDefault());
    on("wheel", (event) => this.wheel(event));
    on("keydown", (event) => this.key(event));
  }

  place(event) {
    const { left, top } = this.canvas.getBoundingClientRect();
    return [event.clientX - left, event.clientY - top];
  }

  down(event) {
    this.canvas.setPointerCapture(event.pointerId);
    if (!this.fingers.size) this.way = 0;
    this.fingers.set(event.pointerId, this.place(event));
  }

  move(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = this.place(event);
    const [right, down] = [now[0] - before[0], now[1] - before[1]];
    const others = [...this.fingers].filter(([id]) => id !== event.pointerId);
    this.fingers.set(event.pointerId, now);
    this.way += Math.hypot(right, down);
    const { clientWidth, clientHeight } = this.canvas;
    const least = Math.min(clientWidth / this.pictures, clientHeight);
    if (others.length) {
      const other = others[0][1];
      const apart = (at) => Math.max(1, Math.hypot(at[0] - other[0], at[1] - other[1]));
      this.camera.zoom(apart(now) / apart(before));
      this.camera.shift(right / 2 / least, -down / 2 / least);
    } else if (event.shiftKey || event.buttons === 2) {
      this.camera.shift(right / least, -down / least);
    } else {
      this.camera.orbit((-3 * right) / least, (3 * down) / least);
    }
    this.moved();
  }

  up(event) {
    const wasAlone = this.fingers.size === 1;
    this.fingers.delete(event.pointerId);
    if (wasAlone && this.way < TAP_REACH) this.tapped(...this.place(event));
  }

  wheel(event) {
    event.preventDefault();
    this.camera.zoom(Math.exp(-event.deltaY / 600));
    this.moved();
  }

  key(event) {
    if (KEY_TURNS[event.key]) this.camera.orbit(...KEY_TURNS[event.key]);
    else if (event.key === "+") this.camera.zoom(1.2);
    else if (event.key === "-") this.camera.zoom(1 / 1.2);
    else return;
    event.preventDefault();
    this.moved();
  }
}
