// Tubes as pieces of centre line: straights and arcs, each with the length of blank it takes.

/** The pieces of a tube through vertices, bent round a radius. */
function tubePieces(vertices, radius) {
  const pieces = [];
  let start = vertices[0];
  for (let n = 1; n + 1 < vertices.length; n += 1) {
    const before = unit(sub(vertices[n], vertices[n - 1]));
    const after = unit(sub(vertices[n + 1], vertices[n]));
    const angle = Math.atan2(norm(cross(before, after)), dot(before, after));
    const from = onward(vertices[n], before, -radius * Math.tan(angle / 2));
    const normal = unit(cross(before, after));
    pieces.push(straightPiece(start, from), arcPiece(from, before, normal, radius, angle));
    start = pieceEnd(pieces[pieces.length - 1]);
  }
  pieces.push(straightPiece(start, vertices[vertices.length - 1]));
  return pieces;
}

const straightPiece = (from, to) => ({ from, to, length: distance(from, to) });

/** The arc that leaves a place along a direction and turns about a normal. */
function arcPiece(from, along, normal, radius, angle) {
  const inwards = cross(normal, along);
  const arc = {
    centre: onward(from, inwards, radius),
    u: scaled(inwards, -1),
    v: along,
    radius,
    angle,
  };
  return { arc, length: radius * angle };
}

/** A place on a piece, at a share of its length. */
function pieceAt(piece, share) {
  if (!piece.arc) return between(piece.from, piece.to, share);
  const { centre, u, v, radius, angle } = piece.arc;
  const out = add(scaled(u, Math.cos(share * angle)), scaled(v, Math.sin(share * angle)));
  return onward(centre, out, radius);
}

const pieceEnd = (piece) => pieceAt(piece, 1);

/** The direction of travel on a piece, at a share of its length. */
function pieceAlong(piece, share) {
  if (!piece.arc) return unit(sub(piece.to, piece.from));
  const { u, v, angle } = piece.arc;
  return sub(scaled(v, Math.cos(share * angle)), scaled(u, Math.sin(share * angle)));
}

/** What of a piece lies between two shares of its length. */
function pieceCut(piece, low, high) {
  const length = piece.length * (high - low);
  if (!piece.arc) return { from: pieceAt(piece, low), to: pieceAt(piece, high), length };
  const { centre, radius, angle } = piece.arc;
  const u = unit(sub(pieceAt(piece, low), centre));
  return {
    arc: { centre, u, v: pieceAlong(piece, low), radius, angle: angle * (high - low) },
    length,
  };
}

/** What of a tube lies between two places along its blank. */
function tubeCut(pieces, low, high) {
  const found = [];
  let at = 0;
  for (const piece of pieces) {
    const share = (place) => Math.min(1, Math.max(0, (place - at) / piece.length));
    if (piece.length > 1e-9 && at < high && at + piece.length > low)
      found.push(pieceCut(piece, share(low), share(high)));
    at += piece.length;
  }
  return found;
}

/** A place along the blank as it lies now, and the direction of the tube there. */
function tubeAt(pieces, place) {
  let left = place;
  for (const piece of pieces) {
    if (left <= piece.length && piece.length > 0) {
      const share = Math.max(0, left / piece.length);
      return { at: pieceAt(piece, share), along: pieceAlong(piece, share) };
    }
    left -= piece.length;
  }
  const last = pieces[pieces.length - 1];
  return { at: pieceEnd(last), along: pieceAlong(last, 1) };
}

/** Places all along a tube, no further apart than a spacing. */
function tubePlaces(pieces, spacing) {
  const places = [pieceAt(pieces[0], 0)];
  for (const piece of pieces) {
    const steps = Math.max(1, Math.ceil(piece.length / spacing));
    for (let step = 1; step <= steps; step += 1) places.push(pieceAt(piece, step / steps));
  }
  return places;
}

/** The round side of one piece; nothing of a piece without a length. */
function pieceShape(piece, radius) {
  if (piece.length < 1e-6) return emptyShape();
  return piece.arc ? arcShape(piece.arc, radius) : rodShape(piece.from, piece.to, radius);
}

/** A tube's surfaces: of its straights, its arcs, and its two ends. */
function tubeShapes(pieces, radius) {
  const last = pieces[pieces.length - 1];
  return {
    straights: joined(
      pieces.filter((piece) => !piece.arc).map((piece) => pieceShape(piece, radius)),
    ),
    arcs: joined(
      pieces.filter((piece) => piece.arc).map((piece) => pieceShape(piece, radius)),
    ),
    ends: joined([
      discShape(pieceAt(pieces[0], 0), scaled(pieceAlong(pieces[0], 0), -1), radius),
      discShape(pieceEnd(last), pieceAlong(last, 1), radius),
    ]),
  };
}
