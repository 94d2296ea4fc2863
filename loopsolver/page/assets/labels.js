// Names on the picture: as text beside their places, the most needed first, none on another.

/** On its spot, above it, below it, beside it: in widths and heights of the label. */
const LABEL_PLACES = [
  [0, 0],
  [0, -1],
  [0, 1],
  [0.6, 0],
  [-0.6, 0],
];

class Labels {
  constructor(layer) {
    this.layer = layer;
  }

  /** Show `{ text, kind, at }`, those first that are needed most, and what heads them. */
  show(wanted, camera, heading) {
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
    if (heading) {
      const head = made("span", { class: "heading", text: heading });
      this.layer.append(head);
      const { offsetLeft: left, offsetTop: top } = head;
      const [right, bottom] = [left + head.offsetWidth, top + head.offsetHeight];
      taken.push({ left, top, right, bottom });
    }
    labels.forEach((label, n) => {
      const box = this.boxFor(label, spots[n], taken);
      if (!box) {
        label.remove();
        return;
      }
      taken.push(box);
      label.style.transform = `translate(${box.left.toFixed(1)}px, ${box.top.toFixed(1)}px)`;
    });
  }

  /** Where a label goes that is at home at a spot: nowhere if all places are taken. */
  boxFor(label, [x, y], taken) {
    const { clientWidth, clientHeight } = this.layer;
    if (!(x >= 0 && y >= 0 && x <= clientWidth && y <= clientHeight)) return undefined;
    const [width, height] = [label.offsetWidth, label.offsetHeight];
    const inside = (start, length, room) => Math.max(0, Math.min(start, room - length));
    const boxes = LABEL_PLACES.map(([aside, down]) => {
      const left = inside(x + (aside - 0.5) * width, width, clientWidth);
      const top = inside(y + (down - 0.5) * height, height, clientHeight);
      return { left, top, right: left + width, bottom: top + height };
    });
    const isApart = (one, other) =>
      one.right < other.left ||
      other.right < one.left ||
      one.bottom < other.top ||
      other.bottom < one.top;
    return boxes.find((box) => taken.every((other) => isApart(box, other)));
  }
}
