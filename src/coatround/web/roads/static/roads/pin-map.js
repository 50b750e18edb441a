// The map below a pin field: a tap or a drag puts the pin, and what is typed moves it; the field works without.
import { L, markIcon, shift, streetMap } from "./streets.js";

const POINT = /^\s*(?:geo:)?\s*(-?\d{1,2}(?:\.\d+)?)\s*[,; ]\s*(-?\d{1,3}(?:\.\d+)?)/i;
const STREETS_ZOOM = 17;

for (const figure of document.querySelectorAll("[data-pin-map]")) {
  const field = document.getElementById(figure.dataset.pinMap);
  if (field) pinMap(figure, field);
}

function pinMap(figure, field) {
  const box = figure.querySelector(".map");
  const map = streetMap(box, { doubleClickZoom: false });
  const [south, west, north, east] = box.dataset.bounds.split(",").map(Number);
  const pin = pinMark(figure, field);
  const typed = () => {
    const found = POINT.exec(field.value);
    return found && Math.abs(found[1]) <= 85 && Math.abs(found[2]) <= 180 ? [Number(found[1]), Number(found[2])] : null;
  };
  const showTyped = () => {
    const point = typed();
    if (!point) return void pin.remove();
    pin.setLatLng(point).addTo(map);
    rise(pin);
    map.setView(point, Math.max(map.getZoom(), STREETS_ZOOM), { animate: false });
  };
  const put = ({ lat, lng }) => {
    const turned = ((((lng + 180) % 360) + 360) % 360) - 180;
    field.value = `${lat.toFixed(6)}, ${turned.toFixed(6)}`;
    pin.setLatLng([lat, turned]).addTo(map);
    rise(pin);
  };
  map.fitBounds([[south, west], [north, east]], { animate: false });
  showTyped();
  field.addEventListener("input", showTyped);
  map.on("click", (event) => put(event.latlng));
  pin.on("dragend", () => put(pin.getLatLng()));
  const does = figure.querySelector(".pin-does");
  does.hidden = figure.querySelector("figcaption").hidden = false;
  does.querySelector("button").addEventListener("click", () => put(map.getCenter()));
  const cross = document.createElement("i");
  cross.className = "map-middle";
  box.append(cross);
}

function rise(pin) {
  const element = pin.getElement();
  shift(element, element.querySelector(".map-label"), 0, -42);
}

/** The pin, which bears the address as it is typed. */
function pinMark(figure, field) {
  const label = document.createElement("span");
  const words = document.createElement("span");
  label.className = "map-label";
  label.append(words);
  const line = field.form?.elements.line;
  const say = () => {
    words.textContent = line?.value.trim() || figure.dataset.hereWord;
  };
  line?.addEventListener("input", say);
  line?.addEventListener("chosen", say);
  say();
  return L.marker([0, 0], { icon: markIcon("map-pin", label), draggable: true, keyboard: false, autoPan: true });
}
