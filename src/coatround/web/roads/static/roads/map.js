// Maps of stops: each bears the dogs' names, the run is a line between them; a tapped label says more below the map.
import { L, labelIcon, shift, streetMap } from "./streets.js";

const GAP = 3;
const RISE = 16;
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

for (const box of document.querySelectorAll("[data-map]")) show(box);

function show(box) {
  const shown = JSON.parse(box.parentElement.querySelector("script").textContent);
  const map = streetMap(box);
  const [south, west, north, east] = shown.bounds;
  const points = shown.stops.map((stop) => [stop.lat, stop.lon]).concat(shown.line);
  if (points.length === 1) map.setView(points[0], 16);
  else if (points.length) map.fitBounds(points, { padding: [44, 44], maxZoom: 17 });
  else map.fitBounds([[south, west], [north, east]]);
  for (const part of ["casing", "way"]) {
    if (shown.line.length > 1) L.polyline(shown.line, { className: `map-${part}`, interactive: false }).addTo(map);
  }
  const marks = shown.stops.map((stop) => mark(map, box, stop));
  const lay = () => layOut(map, marks);
  map.on("zoomend moveend resize", lay);
  lay();
  document.fonts?.ready.then(lay);
}

/** One stop's label on the map. */
function mark(map, box, stop) {
  const label = document.createElement(stop.words ? "button" : "span");
  const names = document.createElement("span");
  names.textContent = stop.names;
  label.className = "map-label";
  label.append(names);
  if (stop.words) {
    label.type = "button";
    const said = box.parentElement.querySelector(".map-said");
    label.addEventListener("click", () => {
      said.textContent = `${stop.names}: ${stop.words}`;
    });
    L.DomEvent.disableClickPropagation(label);
  }
  const icon = labelIcon(label, stop.home ? "map-home" : "");
  const marker = L.marker([stop.lat, stop.lon], { icon, keyboard: false, interactive: false }).addTo(map);
  return { stop, names, element: marker.getElement() };
}

/** Puts every label where it covers least of the others and of their points; the first has the first choice. */
function layOut(map, marks) {
  const size = map.getSize();
  const points = marks.map(({ stop }) => map.latLngToContainerPoint([stop.lat, stop.lon]));
  const placed = [];
  marks.forEach(({ names, element }, own) => {
    const [wide, high] = [names.offsetWidth, names.offsetHeight];
    let best = null;
    for (const far of [1, 1.9, 2.8]) {
      ROUND_ABOUT.forEach(([right, below], turn) => {
        const across = right * (wide / 2 + RISE * (below ? 0.2 : 1) * far);
        const down = below * (high / 2 + RISE + (far - 1) * high);
        const box = boxAt(points[own].x + across, points[own].y + down, wide, high);
        const cost = far * 12 + turn + covers(box, placed, points, own) + outside(box, size);
        if (!best || cost < best.cost) best = { cost, across, down, box };
      });
    }
    placed.push(best.box);
    shift(element, best.across, best.down);
  });
}

function boxAt(x, y, wide, high) {
  return [x - wide / 2 - GAP, y - high / 2 - GAP, x + wide / 2 + GAP, y + high / 2 + GAP];
}

function covers([left, top, right, bottom], placed, points, own) {
  let cost = 0;
  for (const [otherLeft, otherTop, otherRight, otherBottom] of placed) {
    const wide = Math.min(right, otherRight) - Math.max(left, otherLeft);
    const high = Math.min(bottom, otherBottom) - Math.max(top, otherTop);
    if (wide > 0 && high > 0) cost += 60 + wide * high;
  }
  points.forEach(({ x, y }, other) => {
    if (other !== own && x > left - 6 && x < right + 6 && y > top - 6 && y < bottom + 6) cost += 80;
  });
  return cost;
}

function outside([left, top, right, bottom], { x, y }) {
  return (left < 0 || top < 0 || right > x || bottom > y) && right > 0 && bottom > 0 && left < x && top < y ? 200 : 0;
}
