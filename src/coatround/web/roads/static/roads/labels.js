// Lays labels out round their points, so that none covers another, a point or a stem where there is room for it.
const GAP = 3;
const RISE = 16;
const FAR = [1, 1.9, 2.8, 4, 5.2];
const ROUNDS = 3;
const MANY = 40; // labels that no shifting keeps apart: one round is enough
const ROUND_ABOUT = [
  [0, -1],
  [1, -1],
  [-1, -1],
  [1, 0],
  [-1, 0],
  [0, 1],
  [1, 1],
  [-1, 1],
];

/**
 * Chooses for every label where its middle lies from its point; the first has the first choice, and each may choose again.
 * @param {{x: number, y: number}[]} points in pixels of the map
 * @param {[number, number][]} sizes of the labels, width and height
 * @param {{x: number, y: number}} size of the map
 * @param {[number, number, number, number][]} taken boxes that stay free: left, top, right, bottom
 * @returns {[number, number][]} pixels right of the point and below it
 */
export function laidOut(points, sizes, size, taken) {
  const placed = [];
  const fixed = taken.map((box) => ({ box, stem: [0, 0, 0, 0] }));
  const rounds = points.length > MANY ? 1 : ROUNDS;
  for (let round = 0; round < rounds; round += 1) {
    points.forEach((point, own) => {
      const others = placed.filter((_, other) => other !== own).concat(fixed);
      placed[own] = bestPlace(point, sizes[own], others, points, size);
    });
  }
  return placed.map(({ across, down }) => [across, down]);
}

function bestPlace(point, [wide, high], others, points, size) {
  let best = null;
  for (const far of FAR) {
    ROUND_ABOUT.forEach(([right, below], turn) => {
      const across = right * (wide / 2 + RISE * (below ? 0.2 : 1) * far);
      const down = below * (high / 2 + RISE + (far - 1) * high);
      const box = boxAt(point.x + across, point.y + down, wide, high);
      const stem = [point.x, point.y, point.x + across, point.y + down];
      const cost = far * 12 + turn + covers(box, stem, others) + hides(box, point, points) + outside(box, point, size);
      if (!best || cost < best.cost) best = { cost, across, down, box, stem };
    });
  }
  return best;
}

function boxAt(x, y, wide, high) {
  return [x - wide / 2 - GAP, y - high / 2 - GAP, x + wide / 2 + GAP, y + high / 2 + GAP];
}

function covers(box, stem, others) {
  let cost = 0;
  for (const other of others) {
    const wide = Math.min(box[2], other.box[2]) - Math.max(box[0], other.box[0]);
    const high = Math.min(box[3], other.box[3]) - Math.max(box[1], other.box[1]);
    if (wide > 0 && high > 0) cost += 150 + wide * high;
    if (crosses(other.stem, box)) cost += 60;
    if (crosses(stem, other.box)) cost += 60;
  }
  return cost;
}

/** Other points under the label; one at the same place can't be helped. */
function hides([left, top, right, bottom], own, points) {
  const hidden = points.filter(({ x, y }) => x > left - 6 && x < right + 6 && y > top - 6 && y < bottom + 6);
  return 80 * hidden.filter(({ x, y }) => x !== own.x || y !== own.y).length;
}

/** A label that the map's edge cuts, though its point is on the map. */
function outside([left, top, right, bottom], point, { x, y }) {
  const isSeen = point.x > 0 && point.y > 0 && point.x < x && point.y < y;
  return isSeen && (left < 0 || top < 0 || right > x || bottom > y) ? 4000 : 0;
}

/** Whether a straight line goes through a box: what is left of it between the box's sides (Liang and Barsky 1984). */
function crosses([x, y, toX, toY], [left, top, right, bottom]) {
  let [from, until] = [0, 1];
  for (const [way, room] of [[x - toX, x - left], [toX - x, right - x], [y - toY, y - top], [toY - y, bottom - y]]) {
    if (way === 0 && room < 0) return false;
    if (way < 0) from = Math.max(from, room / way);
    if (way > 0) until = Math.min(until, room / way);
  }
  return from < until;
}
