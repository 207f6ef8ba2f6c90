// Something to unfold: its content is asked for when it is opened, and again when the numbers have come to rest.

const QUIET = 200; // milliseconds without a change before the content is made anew

function render({ model, el }) {
  el.classList.add("labkit", "labkit-fold");
  const details = document.createElement("details");
  const summary = document.createElement("summary");
  const body = document.createElement("div");
  body.className = "labkit-fold-body";
  summary.dataset.lmSuppressShortcuts = "true"; // keys are ours, not the notebook's
  details.append(summary, body);
  el.append(details);

  let timer = 0;

  function ask() {
    clearTimeout(timer);
    if (!details.open || model.get("asked") === model.get("version")) return;
    body.setAttribute("aria-busy", "true"); // shown pale: these are the numbers of the setting before
    timer = setTimeout(() => model.send({ ask: model.get("version") }), QUIET);
  }

  function fill() {
    body.innerHTML = model.get("content");
    body.removeAttribute("aria-busy");
  }

  function name() {
    summary.textContent = model.get("title");
  }

  details.addEventListener("toggle", ask);
  model.on("change:version", ask);
  model.on("change:content change:asked", fill);
  model.on("change:title", name);
  name();
  if (model.get("content")) fill();
  return () => {
    clearTimeout(timer);
    model.off("change:version", ask);
    model.off("change:content change:asked", fill);
    model.off("change:title", name);
  };
}

export default { render };
