// A Leaflet map on the streets that our own server draws: light or dark as the screen is, with big buttons.
import * as L from "../js_lib_leaflet/leaflet-src.esm.js";

const WIDEST = 9; // the server draws from 8 to 19
const DEEPEST = 18;
const dark = window.matchMedia("(prefers-color-scheme: dark)");
const still = window.matchMedia("(prefers-reduced-motion: reduce)");

/**
 * Makes a map of a box; its data say where the tiles are and what the buttons are called.
 * @param {HTMLElement} box
 * @param {object} more options of Leaflet's map
 */
export function streetMap(box, more = {}) {
  box.hidden = false;
  const moves = !still.matches;
  const map = L.map(box, {
    attributionControl: false, // it stands as text under the map, and in prints
    zoomControl: false,
    scrollWheelZoom: false,
    maxZoom: DEEPEST,
    minZoom: WIDEST,
    zoomAnimation: moves,
    fadeAnimation: moves,
    markerZoomAnimation: moves,
    inertia: moves,
    ...more,
  });
  const { zoomIn, zoomOut } = box.dataset;
  L.control.zoom({ zoomInTitle: zoomIn, zoomOutTitle: zoomOut }).addTo(map);
  const tiles = L.tileLayer("", { maxZoom: DEEPEST });
  const draw = () => {
    tiles.setUrl(box.dataset.streets + (dark.matches ? "?dark=1" : ""));
    box.classList.toggle("dark-streets", dark.matches); // turned round in prints
  };
  draw();
  tiles.addTo(map);
  dark.addEventListener("change", draw);
  // The wheel scrolls the page until someone is at work on the map.
  box.addEventListener("focusin", () => map.scrollWheelZoom.enable());
  box.addEventListener("focusout", () => map.scrollWheelZoom.disable());
  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(box);
  return map;
}

/** A point's stem and dot, and its label unless that is a mark of its own. */
export function markIcon(kind, ...label) {
  const whole = document.createElement("div");
  const dot = document.createElement("i");
  const stem = document.createElement("b");
  dot.className = "map-dot";
  stem.className = "map-stem";
  whole.append(stem, dot, ...label);
  return L.divIcon({ className: `map-mark ${kind}`, html: whole, iconSize: [0, 0] });
}

/** Moves a label so that its middle lies so far from its point, and lets the stem reach it. */
export function shift(mark, label, across, down) {
  const stem = mark.querySelector(".map-stem");
  label.style.transform = `translate(-50%, -50%) translate(${across}px, ${down}px)`;
  stem.style.width = `${Math.hypot(across, down)}px`;
  stem.style.transform = `rotate(${Math.atan2(down, across)}rad)`;
}

export { L };
