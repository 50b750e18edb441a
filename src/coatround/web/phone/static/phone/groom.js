// The groom's page, a little quicker: steppers, the picture that marks what was found, and a button that says what it saves.

const form = document.querySelector("form.groom");

for (const button of form.querySelectorAll(".stepper button")) {
  button.hidden = false;
  button.addEventListener("click", () => step(button));
}

function step(button) {
  const field = document.getElementById(button.dataset.for);
  const by = Number(button.dataset.by);
  const now = Number(field.value.replace(",", ".")) || 0;
  const next = Math.max(0, now + by);
  field.value = Number.isInteger(by) ? String(next) : next.toFixed(1);
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

function markFound() {
  for (const kind of form.querySelectorAll("select[data-part]")) {
    const found = kind.value !== "";
    kind.closest(".part-row").classList.toggle("has", found);
    for (const part of form.querySelectorAll(`.part[data-part="${kind.dataset.part}"]`)) part.classList.toggle("has", found);
  }
}

const main = form.querySelector(".act.usual button");
const ids = new Set(["csrfmiddlewaretoken", "rid", "corrects", "did", "started", "started-guess", "photo_id"]);
const said = () => JSON.stringify([...new FormData(form)].filter(([name, value]) => !ids.has(name) && !name.startsWith("read-") && typeof value === "string"));
const asUsual = said();

form.addEventListener("change", () => {
  markFound();
  if (main) main.textContent = said() === asUsual ? form.dataset.usual : form.dataset.but;
});
form.addEventListener("click", (event) => {
  const part = event.target.closest(".part");
  if (!part) return;
  event.preventDefault();
  location.hash = part.getAttribute("href");
  document.getElementById(`kind-${part.dataset.part}`).focus();
});
markFound();
// The part that was tapped is no part of the next page's address.
form.addEventListener("submit", () => history.replaceState(null, "", location.pathname));
