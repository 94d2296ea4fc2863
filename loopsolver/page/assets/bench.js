// The tube at the bench: on its former, turned as the hands must turn it, bent as far as it is.

const BEHIND = unit([-0.8, -0.62, 0.62]);

class Bench {
  constructor(drawing) {
    this.drawing = drawing;
    this.things = [];
    this.camera = new Camera({ right: [0, -1, 0], away: [1, 0, 0], up: UP }, BEHIND, [
      [0, 0, 0],
      [1, 1, 1],
    ]);
  }

  /** Take on a screen of a tube's work; the camera has room for all of its motion. */
  open(bench, screen, aspect) {
    Object.assign(this, { bench, screen });
    const shares = screen.stage === "bend" ? [0, 0.25, 0.5, 0.75, 1] : [1];
    const places = shares.flatMap((share) => tubePlaces(this.piecesAt(share), 20));
    this.camera.show(places, aspect);
    this.show(1);
  }

  piecesAt(share) {
    const { bench, screen } = this;
    const still = screen.stage === "blank" ? blankState(bench) : bentState(bench);
    const state = screen.stage === "bend" ? stateAt(bench, screen.bend - 1, share) : still;
    return piecesAtBench(bench, state);
  }

  thing(shape, colour, more = {}) {
    this.things.push({ loaded: this.drawing.loaded(shape), colour, opacity: 1, ...more });
  }

  /** Show the tube at a share of the motion: 0 as it comes, 1 bent. */
  show(share) {
    const { bench, screen } = this;
    this.things.forEach(({ loaded }) => this.drawing.dropped(loaded));
    this.things = [];
    this.pieces = this.piecesAt(share);
    this.addTube();
    this.names = [];
    const ends = tubePlaces(this.pieces, 1e6);
    this.names.push({ text: `first end: ${bench.ends[0]}`, kind: "port", at: ends[0] });
    this.names.push({ text: bench.ends[1], kind: "port", at: ends[ends.length - 1] });
    const marked =
      screen.stage === "bend" ? [screen.bend - 1] : bench.bends.map((_, n) => n);
    marked.forEach((n) => this.addMarks(bench.bends[n], n + 1));
    if (screen.stage === "bend") this.addFormer(share);
  }

  /** The tube: what is trimmed later pale, its bends as far as they are made in their colour. */
  addTube() {
    const { bench, pieces } = this;
    const length = pieces.reduce((sum, piece) => sum + piece.length, 0);
    const add = (kept, straight, bend) => {
      const shapes = tubeShapes(kept, bench.tubeRadius);
      this.thing(shapes.straights, straight, { shine: 0.35 });
      this.thing(shapes.arcs, bend, { shine: 0.35 });
      this.thing(shapes.ends, "tube-end");
    };
    add(tubeCut(pieces, bench.trim, length - bench.trim), "straight", "bend");
    if (bench.trim > 0) {
      add(tubeCut(pieces, 0, bench.trim), "other-straight", "other-bend");
      add(tubeCut(pieces, length - bench.trim, length), "other-straight", "other-bend");
    }
  }

  /** The marks of a bend as rings, and the length to heat as a sleeve. */
  addMarks(bend, number) {
    const { pieces, bench, screen } = this;
    const isInHand = screen.stage === "bend";
    const rings = bend.marks.map((place) => {
      const { at, along } = tubeAt(pieces, place);
      return hoopShape(at, along, bench.tubeRadius + 0.4, 1.6);
    });
    this.thing(joined(rings), "mark");
    if (isInHand && bend.heat) {
      const zone = tubeCut(pieces, ...bend.heat).map((piece) =>
        pieceShape(piece, bench.tubeRadius * 1.06),
      );
      this.thing(joined(zone), "heat", {
        opacity: 0.7,
        middle: tubeAt(pieces, bend.marks[1]).at,
      });
    }
    this.names.push({
      text: `${number}`,
      kind: "number",
      at: tubeAt(pieces, bend.marks[1]).at,
    });
  }

  /** The former beside the bend in hand, and an arrow round the tube that is to be turned. */
  addFormer(share) {
    const { bench, screen } = this;
    const { radius, tubeRadius } = bench;
    const middle = [0, radius, 0];
    const half = 1.15 * tubeRadius;
    const former = closedRod(
      onward(middle, UP, -half),
      onward(middle, UP, half),
      radius - 0.55 * tubeRadius,
    );
    this.thing(former, "former", { opacity: 0.55, middle });
    const bend = bench.bends[screen.bend - 1];
    if (bend.turn && share < 0.5) this.addTurn(bend);
  }

  /** On what is straight still, beyond the bend in hand. */
  addTurn(bend) {
    const { tubeRadius } = this.bench;
    const radius = 3 * tubeRadius;
    const centre = tubeAt(this.pieces, bend.marks[2] + 5 * tubeRadius).at;
    const way = bend.rotation > 0 ? -1 : 1; // back, to bring the new side to the former
    const angle = radians(Math.max(45, Math.min(300, Math.abs(bend.rotation))));
    const axis = scaled(TRAVEL, way);
    const u = turned(UP, axis, -angle / 2);
    const arc = { centre, u, v: cross(axis, u), radius, angle };
    const tip = pieceAt({ arc }, 1);
    const along = pieceAlong({ arc }, 1);
    const head = coneShape(tip, onward(tip, along, 1.6 * tubeRadius), 0.8 * tubeRadius);
    this.thing(joined([arcShape(arc, 0.3 * tubeRadius, 12), head]), "turn");
    this.names.unshift({
      text: bend.turn,
      kind: "turn",
      at: onward(centre, UP, 2 * radius),
    });
  }

  get pictures() {
    return [this.things];
  }

  labels() {
    return [this.names];
  }
}
