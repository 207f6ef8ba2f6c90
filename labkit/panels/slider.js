// One quantity: a slider, and beside it an entry to type into. The two stay in step.
//
// The hand may be faster than the kernel: one move is on its way at a time.
// What is moved meanwhile waits, only the newest of it, until the kernel has answered.

function element(tag, properties, parent) {
  const made = Object.assign(document.createElement(tag), properties);
  parent.append(made);
  return made;
}

function render({ model, el }) {
  const view = `labkit-slider-${Math.random().toString(36).slice(2)}`; // each widget loads this file anew: a count would repeat
  el.classList.add("labkit", "labkit-slider");
  const label = element("label", { htmlFor: view }, el);
  const slider = element("input", { type: "range", id: view, min: 0, step: 1 }, el);
  const entry = element("input", { type: "text", autocomplete: "off", spellcheck: false }, el);
  for (const control of [slider, entry]) control.dataset.lmSuppressShortcuts = "true"; // keys are ours, not the notebook's
  const refusal = element("p", { id: `${view}-refusal`, className: "labkit-refusal" }, el);
  refusal.setAttribute("role", "alert");

  let busy = false;
  let waiting = null;
  function send(message) {
    if (busy) {
      waiting = message;
      return;
    }
    busy = true;
    model.send({ ...message, view });
  }

  function say(text) {
    slider.setAttribute("aria-valuetext", text);
    if (document.activeElement !== entry && !model.get("refusal")) entry.value = text; // what was refused stays to be mended
  }

  function follow() {
    if (busy || waiting) return; // the hand is ahead; the last answer settles it
    slider.value = model.get("index");
    say(model.get("text"));
  }

  function dress() {
    const name = model.get("label");
    label.textContent = name;
    slider.max = model.get("stops").length - 1;
    slider.disabled = entry.disabled = model.get("disabled");
    entry.setAttribute("aria-label", `${name}, typed with its unit`);
    follow();
  }

  function refuse() {
    const sentence = model.get("refusal");
    refusal.textContent = sentence;
    refusal.hidden = !sentence;
    entry.setAttribute("aria-invalid", String(Boolean(sentence)));
    if (sentence) entry.setAttribute("aria-describedby", refusal.id);
    else entry.removeAttribute("aria-describedby");
  }

  slider.addEventListener("input", () => {
    const index = Number(slider.value);
    say(model.get("stops")[index]);
    send({ move: index });
  });
  slider.addEventListener("keydown", (event) => {
    const way = { PageUp: 1, PageDown: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    slider.value = Number(slider.value) + way * model.get("page");
    slider.dispatchEvent(new Event("input"));
  });

  function typed() {
    if (entry.value !== model.get("text") || model.get("refusal")) send({ typed: entry.value });
  }
  entry.addEventListener("keydown", (event) => {
    if (event.key === "Enter") typed();
    if (event.key === "Escape") send({ typed: "" }); // nothing typed: back to what stands
  });
  entry.addEventListener("blur", typed);

  function answered(message) {
    if (message.done !== view) return;
    busy = false;
    if (waiting) {
      const next = waiting;
      waiting = null;
      send(next);
    } else {
      follow();
      if (!model.get("refusal")) entry.value = model.get("text");
    }
  }

  model.on("msg:custom", answered);
  model.on("change:label change:stops change:disabled", dress);
  model.on("change:index change:text", follow);
  model.on("change:refusal", refuse);
  dress();
  refuse();
  return () => {
    model.off("msg:custom", answered);
    model.off("change:label change:stops change:disabled", dress);
    model.off("change:index change:text", follow);
    model.off("change:refusal", refuse);
  };
}

export default { render };
