// What can be tapped and is smaller than 48 px; a link within a sentence is no target of its own.
() =>
  [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, summary, textarea")]
    .filter((e) => e.offsetParent !== null && !e.classList.contains("skip") && !e.closest("svg"))
    .filter((e) => !(e.tagName === "A" && e.closest("p, dd, td, caption, label") && getComputedStyle(e).display === "inline"))
    .map((e) => {
      const labelled = e.matches("input[type=checkbox], input[type=radio]") && e.closest("label");
      const box = (labelled || e).getBoundingClientRect();
      return [e.outerHTML.slice(0, 90), Math.round(box.width), Math.round(box.height)];
    })
    .filter(([, width, height]) => height < 48 || width < 48)
