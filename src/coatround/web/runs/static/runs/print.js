// The print button: shown only where it can work.
const button = document.getElementById("print-now");
if (button) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
