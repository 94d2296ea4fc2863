// A tube on its former, part of its bends made. The former stays where it is: the bend in
// hand starts at the origin, the tube runs along +x there, from its first end on, and bends
// to the left, towards +y. What is bent already moves with the tube as it is turned.

const TRAVEL = [1, 0, 0];
const UP = [0, 0, 1];

/**
 * The pieces of a tube that is being bent.
 *
 * `state.bend` is the bend in hand, counted from 0; `state.turn` how far the tube is still
 * turned about its own axis from where that bend is made [rad]; `state.angles` to what each
 * bend is bent now [rad].
 */
function piecesAtBench(bench, state) {
  const normal = turned(UP, TRAVEL, state.turn);
  const pieces = [
    ...piecesBehind(bench, state, normal),
    ...piecesAhead(bench, state, normal),
  ];
  return pieces.filter((piece) => piece.length > 1e-9);
}

/** An arc as far as it is bent, and after it what of its tube is straight still. */
function bendPieces(bench, bend, angle, at, along, normal) {
  const whole = bench.takeUp * bench.radius * radians(bend.angle);
  const share = Math.min(1, angle / radians(bend.angle));
  const pieces = [];
  if (angle > 1e-9)
    pieces.push({
      ...arcPiece(at, along, normal, bench.radius, angle),
      length: whole * share,
    });
  const end = pieces.length ? pieceEnd(pieces[0]) : at;
  const onwards = turned(along, normal, angle);
  pieces.push(straightPiece(end, onward(end, onwards, whole * (1 - share))));
  return { pieces, end: pieceEnd(pieces[pieces.length - 1]), along: onwards };
}

/** From the start of the bend in hand to the last end. */
function piecesAhead(bench, state, normal) {
  const pieces = [];
  let [at, along, facing] = [[0, 0, 0], TRAVEL, normal];
  for (let n = state.bend; n < bench.bends.length; n += 1) {
    const bend = bench.bends[n];
    if (n > state.bend) facing = turned(facing, along, radians(bend.rotation));
    const made = bendPieces(bench, bend, state.angles[n], at, along, facing);
    const next =
      n + 1 < bench.bends.length ? bench.bends[n + 1].straight : bench.closing + bench.trim;
    at = onward(made.end, made.along, next);
    along = made.along;
    pieces.push(...made.pieces, straightPiece(made.end, at));
  }
  if (!bench.bends.length)
    pieces.push(straightPiece(at, onward(at, along, bench.closing + 2 * bench.trim)));
  return pieces;
}

/** From the first end to the start of the bend in hand. */
function piecesBehind(bench, state, normal) {
  const pieces = [];
  let [at, along, facing] = [[0, 0, 0], TRAVEL, normal];
  for (let n = state.bend; n >= 0 && bench.bends.length; n -= 1) {
    const bend = bench.bends[n];
    const straight = bend.straight + (n ? 0 : bench.trim);
    const from = onward(at, along, -straight);
    pieces.unshift(straightPiece(from, at));
    if (!n) break;
    facing = turned(facing, along, -radians(bend.rotation));
    const before = bench.bends[n - 1];
    // Backwards is forwards along the other way, about the other normal.
    const whole = bench.takeUp * bench.radius * radians(before.angle);
    const angle = state.angles[n - 1];
    const back = arcPiece(from, scaled(along, -1), scaled(facing, -1), bench.radius, angle);
    at = pieceEnd(back);
    along = turned(along, facing, -angle);
    pieces.unshift({ ...arcPiece(at, along, facing, bench.radius, angle), length: whole });
  }
  return pieces;
}

/** How the tube stands at a share of the work on a bend: first it is turned, then bent. */
function stateAt(bench, bend, share) {
  const { rotation, held } = bench.bends[bend];
  const turning = Math.abs(rotation) > 0.05 ? 0.5 : 0;
  const done = turning ? Math.min(1, share / turning) : 1;
  const bent = Math.max(0, (share - turning) / (1 - turning));
  const angles = bench.bends.map((one, n) => (n < bend ? radians(one.angle) : 0));
  angles[bend] = radians(held) * bent;
  return { bend, turn: radians(bend ? rotation : 0) * (1 - done), angles };
}

/** The blank before any bend, or the tube after the last. */
const blankState = (bench) => ({ bend: 0, turn: 0, angles: bench.bends.map(() => 0) });
const bentState = (bench) => ({
  bend: 0,
  turn: 0,
  angles: bench.bends.map((one) => radians(one.angle)),
});
