// Maps of stops: each bears the dogs' names, the run is a line between them; a tapped label says more below the map.
import { laidOut } from "./labels.js";
import { L, markIcon, shift, streetMap } from "./streets.js";

const AROUND = [24, 44]; // pixels left free at the sides, and above and below for the labels

for (const box of document.querySelectorAll("[data-map]")) show(box);

function show(box) {
  const shown = JSON.parse(box.parentElement.querySelector("script").textContent);
  const map = streetMap(box);
  const [south, west, north, east] = shown.bounds;
  const points = shown.stops.map((stop) => [stop.lat, stop.lon]).concat(shown.line);
  if (points.length === 1) map.setView(points[0], 16);
  else if (points.length) map.fitBounds(points, { padding: AROUND, maxZoom: 17 });
  else map.fitBounds([[south, west], [north, east]]);
  for (const part of ["casing", "way"]) {
    if (shown.line.length > 1) L.polyline(shown.line, { className: `map-${part}`, interactive: false }).addTo(map);
  }
  map.createPane("labels").style.zIndex = 650; // over every stem
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
  const kind = stop.home ? "map-home" : "";
  const still = { keyboard: false, interactive: false };
  const at = [stop.lat, stop.lon];
  const stem = L.marker(at, { icon: markIcon(kind), ...still }).addTo(map);
  const icon = L.divIcon({ className: `map-mark ${kind}`, html: label, iconSize: [0, 0] });
  L.marker(at, { icon, pane: "labels", ...still }).addTo(map);
  return { stop, names, label, stem: stem.getElement() };
}

function layOut(map, marks) {
  const points = marks.map(({ stop }) => map.latLngToContainerPoint([stop.lat, stop.lon]));
  const sizes = marks.map(({ names }) => [names.offsetWidth, names.offsetHeight]);
  const zoom = map.getContainer().querySelector(".leaflet-control-zoom");
  const taken = [[0, 0, zoom.offsetLeft + zoom.offsetWidth, zoom.offsetTop + zoom.offsetHeight]];
  laidOut(points, sizes, map.getSize(), taken).forEach(([across, down], own) => {
    shift(marks[own].stem, marks[own].label, across, down);
  });
}
