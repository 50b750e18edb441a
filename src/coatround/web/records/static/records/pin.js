// Offers "where I am now" under a pin field, where the browser can tell; the field works without it.
for (const field of document.querySelectorAll("[data-pin]")) {
  if (!("geolocation" in navigator) || !window.isSecureContext) break;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "pin-here";
  button.textContent = field.dataset.here;
  const said = document.createElement("p");
  said.className = "help";
  said.setAttribute("role", "status");
  button.addEventListener("click", () => {
    said.textContent = "…";
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        field.value = `${coords.latitude.toFixed(6)}, ${coords.longitude.toFixed(6)}`;
        field.dispatchEvent(new Event("input", { bubbles: true })); // a map below follows
        said.textContent = `± ${Math.round(coords.accuracy)} m`;
      },
      (problem) => {
        said.textContent = `${field.dataset.hereFailed} ${problem.message}`;
      },
      { enableHighAccuracy: true, timeout: 20000 },
    );
  });
  field.after(button, said);
}
