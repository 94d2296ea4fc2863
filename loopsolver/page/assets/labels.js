// Names on the picture: as text beside their places, the most needed first, none on another.

class Labels {
  constructor(layer) {
    this.layer = layer;
  }

  /** Show `{ text, kind, at }`, those first that are needed most. */
  show(wanted, camera) {
    const size = [this.layer.clientWidth, this.layer.clientHeight];
    const spots = camera.onPicture(
      wanted.map((one) => one.at),
      size,
    );
    const labels = wanted.map(({ text, kind }) =>
      made("span", { class: `label ${kind}`, text }),
    );
    this.layer.replaceChildren(...labels);
    const taken = [];
    labels.forEach((label, n) => {
      const [width, height] = [label.offsetWidth, label.offsetHeight];
      const [x, y] = spots[n];
      // On its place, else beside or above it.
      const tries = [
        [0, 0],
        [0, -1],
        [0, 1],
        [0.6, 0],
        [-0.6, 0],
      ].map(([aside, down]) => {
        const [left, top] = [x - width / 2 + aside * width, y - height / 2 + down * height];
        return { left, top, right: left + width, bottom: top + height };
      });
      const isFree = (box) =>
        box.left >= 0 &&
        box.top >= 0 &&
        box.right <= size[0] &&
        box.bottom <= size[1] &&
        taken.every(
          (other) =>
            box.right < other.left ||
            other.right < box.left ||
            box.bottom < other.top ||
            other.bottom < box.top,
        );
      const box = tries.find(isFree);
      if (!box) {
        label.remove();
        return;
      }
      taken.push(box);
      label.style.transform = `translate(${box.left.toFixed(1)}px, ${box.top.toFixed(1)}px)`;
    });
  }
}
