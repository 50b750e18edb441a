// An address is looked up while it is typed; choosing one fills the address, the suburb, the postcode and the pin.
const WAIT = 150;
const LEAST = 3;

for (const figure of document.querySelectorAll("[data-pin-map]")) {
  const pin = document.getElementById(figure.dataset.pinMap);
  if (pin?.form?.elements.line) lookUp(figure.dataset, pin, pin.form.elements.line);
}

function lookUp(said, pin, line) {
  const list = made("ul", { id: `${line.id}_found`, className: "found-addresses", role: "listbox", hidden: true });
  const count = made("p", { className: "hidden-words", role: "status" });
  const told = made("p", { className: "help", role: "status" });
  let waiting = 0;
  let asked = null;
  let found = [];
  let active = -1;

  list.setAttribute("aria-label", said.foundLabel);
  for (const [name, value] of [["role", "combobox"], ["aria-autocomplete", "list"], ["aria-expanded", "false"], ["aria-controls", list.id], ["autocomplete", "off"]]) line.setAttribute(name, value);
  const frame = made("div", { className: "address-box" });
  line.replaceWith(frame);
  frame.append(line, list);
  frame.after(count, told);

  const close = () => {
    list.hidden = true;
    line.setAttribute("aria-expanded", "false");
    go(-1);
  };
  const open = () => {
    list.hidden = !found.length;
    line.setAttribute("aria-expanded", String(!list.hidden));
  };
  const go = (to) => {
    list.children[active]?.setAttribute("aria-selected", "false");
    active = to;
    const option = list.children[active];
    if (!option) return void line.removeAttribute("aria-activedescendant");
    option.setAttribute("aria-selected", "true");
    option.scrollIntoView({ block: "nearest" });
    line.setAttribute("aria-activedescendant", option.id);
  };
  const choose = (address) => {
    const { suburb, postcode } = line.form.elements;
    line.value = address.line;
    if (suburb && address.suburb) suburb.value = address.suburb;
    if (postcode && address.postcode) postcode.value = address.postcode;
    pin.value = `${address.lat.toFixed(6)}, ${address.lon.toFixed(6)}`;
    line.dispatchEvent(new Event("chosen"));
    pin.dispatchEvent(new Event("input", { bubbles: true }));
    told.textContent = address.about || said.filled;
    count.textContent = "";
    close();
  };
  const show = (answer) => {
    found = answer.found;
    list.replaceChildren(...found.map((address, number) => option(address, `${list.id}_${number}`)));
    active = -1;
    line.removeAttribute("aria-activedescendant");
    count.textContent = found.length ? said.count.replace("%s", found.length) : "";
    told.textContent = found.length ? "" : answer.why || said.none;
    open();
  };
  const ask = async () => {
    asked?.abort();
    const typed = line.value.trim();
    if (typed.length < LEAST) return void close();
    asked = new AbortController();
    try {
      const query = new URLSearchParams({ q: typed, near: pin.value.replace(/\s/g, "") });
      const answer = await fetch(`${said.find}?${query}`, { signal: asked.signal, headers: { Accept: "application/json" } });
      if (answer.ok) show(await answer.json());
    } catch (problem) {
      if (problem.name !== "AbortError") close(); // no server: the fields take what is typed all the same
    }
  };

  line.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(ask, WAIT);
  });
  line.addEventListener("blur", () => {
    clearTimeout(waiting);
    asked?.abort();
    close();
  });
  line.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step && found.length) {
      event.preventDefault();
      if (list.hidden) open();
      const many = found.length + 1;
      go(((active + 1 + step + many) % many) - 1);
    } else if (event.key === "Enter" && active >= 0 && !list.hidden) {
      event.preventDefault();
      choose(found[active]);
    } else if (event.key === "Escape" && !list.hidden) {
      event.preventDefault();
      close();
    }
  });
  list.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the focus
  list.addEventListener("click", (event) => {
    const at = [...list.children].indexOf(event.target.closest("li"));
    if (at >= 0) choose(found[at]);
  });
}

/** One address of the list. */
function option(address, id) {
  const item = made("li", { id, role: "option" });
  item.setAttribute("aria-selected", "false");
  const line = made("span", { className: "who", textContent: address.line });
  const rest = made("span", { className: "soft", textContent: `${address.suburb} ${address.postcode}`.trim() });
  item.append(line, " ", rest);
  return item;
}

function made(name, what) {
  const { role, ...rest } = what;
  const element = Object.assign(document.createElement(name), rest);
  if (role) element.setAttribute("role", role);
  return element;
}
