// Copies the text of a letter; without it the text can still be selected and copied by hand.
for (const button of document.querySelectorAll("[data-copies]")) {
  const source = document.getElementById(button.dataset.copies);
  const said = document.getElementById(button.dataset.says);
  if (!source || !said || !navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(source.value);
      said.textContent = button.dataset.done;
    } catch {
      source.focus();
      source.select();
      said.textContent = button.dataset.failed;
    }
  });
}
