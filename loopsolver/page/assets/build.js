// The build: the case with its parts, the tubes in their places, the one on show strong.

const SPACING = 6;
const PORT_SIZE = 1.25;
const BODY_OPACITY = 0.28;
const KEEP_OUT_SPACING = 24;

class Build {
  constructor(values, drawing) {
    Object.assign(this, { values, drawing, scene: values.scene });
    this.still = this.stillThings();
    this.views = [];
    const { right, away, up, eye } = this.scene;
    this.camera = new Camera({ right, away, up }, eye, this.outerPlaces());
  }

  /** Places such that a picture with all of them has everything in it. */
  outerPlaces() {
    const [low, high] = this.scene.room;
    return CORNER_SIGNS.map((signs) => signs.map((sign, n) => (sign < 0 ? low : high)[n]));
  }

  thing(shape, colour, more = {}) {
    return { loaded: this.drawing.loaded(shape), colour, opacity: 1, ...more };
  }

  /** Case, parts, keep-outs and ports: they stay as they are. */
  stillThings() {
    const { scene } = this;
    const things = [];
    if (scene.hasWalls) {
      const [low, high] = scene.room;
      const axes = [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ];
      const room = { box: sub(high, low), middle: between(low, high, 0.5), axes };
      things.push(this.thing(solidEdges(room), "case"), ...this.floor(low, high));
    }
    scene.components.forEach((part, n) => {
      for (const solid of part.solids)
        things.push(...this.seeThrough(solid, `body-${n % 6}`, BODY_OPACITY));
    });
    for (const { solids } of scene.keepOuts) {
      for (const solid of solids)
        things.push(...this.seeThrough(solid, "keep-out", 0.35, KEEP_OUT_SPACING));
    }
    things.push(
      this.thing(joined(scene.ports.map((port) => this.portShape(port))), "port"),
    );
    return things;
  }

  floor(low, high) {
    const { up } = this.scene;
    const axis = up.map(Math.abs).indexOf(Math.max(...up.map(Math.abs)));
    const level = up[axis] > 0 ? low : high;
    const corners = [
      [0, 0],
      [1, 0],
      [1, 1],
      [0, 1],
    ].map(([first, second]) => {
      const at = [...level];
      at[(axis + 1) % 3] = [low, high][first][(axis + 1) % 3];
      at[(axis + 2) % 3] = [low, high][second][(axis + 2) % 3];
      return at;
    });
    const shape = emptyShape();
    corners.forEach((at) => addCorner(shape, at, [0, 0, 0]));
    shape.triangles.push(0, 1, 2, 0, 2, 3);
    return [this.thing(shape, "floor", { opacity: 0.5, middle: [1e6, 1e6, 1e6] })];
  }

  seeThrough(solid, colour, opacity, hatch = 0) {
    const shape = solidShape(solid);
    const middle = solid.middle || shape.corners.slice(0, 3);
    const edges = solidEdges(solid);
    const faces = this.thing(shape, colour, { opacity, hatch, middle });
    return edges.corners.length
      ? [faces, this.thing(edges, colour, { opacity: 0.9, middle })]
      : [faces];
  }

  portShape(port) {
    const radius = this.scene.tubeRadius * PORT_SIZE;
    const rim = closedRod(
      onward(port.at, port.out, 0.4),
      onward(port.at, port.out, 1.6),
      radius,
    );
    if (port.isUsed) return rim;
    const tip = onward(port.at, port.out, 4 * radius);
    const neck = between(port.at, tip, 0.65);
    return joined([
      rim,
      rodShape(port.at, neck, 0.16 * radius, 12),
      coneShape(neck, tip, 0.4 * radius, 16),
    ]);
  }

  /** Show a run's tubes of some ranks, each in a view among the others in their places. */
  select(place, ranks) {
    for (const { moving } of this.views)
      moving.forEach(({ loaded }) => this.drawing.dropped(loaded));
    this.views = ranks.map((rank) => this.viewOf(place, rank));
  }

  viewOf(place, rank) {
    const view = { moving: [], tubes: [] };
    this.values.runs.forEach((run, n) => {
      const isShown = n === place;
      const tube = run.tubes.find((one) => one.rank === (isShown ? rank : run.inPlace));
      if (tube) this.addTube(view, tube, n, isShown);
      else this.addWanted(view, run);
    });
    return { ...view, shown: view.tubes.find((one) => one.place === place) };
  }

  addTube({ moving, tubes }, tube, place, isShown) {
    const pieces = tubePieces(tube.vertices, tube.radius);
    const radius = this.scene.tubeRadius;
    const shapes = tubeShapes(pieces, radius);
    const kind = isShown ? "" : "other-";
    moving.push(
      this.thing(shapes.straights, `${kind}straight`, { shine: 0.35 }),
      this.thing(shapes.arcs, `${kind}bend`, { shine: 0.35 }),
      this.thing(shapes.ends, "tube-end"),
      this.thing(joined(tube.fittings.map(solidShape)), "fitting", { shine: 0.3 }),
    );
    const places = tubePlaces(pieces, SPACING);
    if (isShown) {
      const nearest = places.reduce(
        (best, at, n) =>
          distance(at, tube.gapAt) < distance(places[best], tube.gapAt) ? n : best,
        0,
      );
      const along = unit(
        sub(
          places[Math.min(nearest + 1, places.length - 1)],
          places[Math.max(nearest - 1, 0)],
        ),
      );
      moving.push(
        this.thing(hoopShape(tube.gapAt, along, radius + 0.8, 2.4), "least-gap"),
      );
    }
    tubes.push({ tube, place, pieces, places });
  }

  addWanted({ moving }, run) {
    const dashes = run.wanted || [];
    const fittings = run.fittings || [];
    const pairs = dashes.flatMap(([from, to]) => {
      const count = Math.max(1, Math.round(distance(from, to) / 12));
      return [...Array(count).keys()].map((n) => [
        between(from, to, n / count),
        between(from, to, (n + 0.55) / count),
      ]);
    });
    moving.push(
      this.thing(linesShape(pairs), "wanted"),
      this.thing(joined(fittings.map(solidShape)), "fitting"),
    );
  }

  /** What is drawn, a list a view. */
  get pictures() {
    return this.views.map(({ moving }) => [...this.still, ...moving]);
  }

  /** The place of the run whose tube is nearest to a spot on a view's picture, or none. */
  runAt(view, spot, size, reach) {
    let [found, least] = [null, reach];
    for (const { place, places } of this.views[view].tubes) {
      for (const at of this.camera.onPicture(places, size)) {
        const away = Math.hypot(at[0] - spot[0], at[1] - spot[1]);
        if (away < least) [found, least] = [place, away];
      }
    }
    return found;
  }

  /** Names that are wanted on the pictures, a list each, the most needed first. */
  labels() {
    return this.views.map((view) => this.labelsOf(view));
  }

  labelsOf({ shown, tubes }) {
    const { runs, scene } = this.values;
    const names = [];
    if (shown) {
      const { tube, pieces } = shown;
      pieces
        .filter((piece) => piece.arc)
        .forEach((piece, n) =>
          names.push({ text: `${n + 1}`, kind: "number", at: pieceAt(piece, 0.5) }),
        );
      scene.ports
        .filter((port) => tube.ports.includes(port.name))
        .forEach((port) => names.push({ text: port.name, kind: "port", at: port.at }));
      names.push({
        text: tube.figures.find(([what]) => what === "gap")[1],
        kind: "gap",
        at: tube.gapAt,
      });
    }
    for (const { place, places } of tubes) {
      if (!shown || place !== shown.place)
        names.push({
          text: runs[place].name,
          kind: "tube",
          at: places[Math.floor(places.length / 2)],
        });
    }
    for (const part of scene.components) {
      const solid = part.solids.find((one) => one.middle);
      if (solid) names.push({ text: part.name, kind: "body", at: solid.middle });
    }
    const reach = 0.2 * Math.min(...sub(scene.room[1], scene.room[0]));
    scene.axes.forEach((text, n) =>
      names.push({ text, kind: "axis", at: [0, 1, 2].map((i) => (i === n ? reach : 0)) }),
    );
    return names;
  }
}
