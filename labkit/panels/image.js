// A picture with alternative text, and its finding in words below it.

const QUIET = 900; // milliseconds without a move before the finding is spoken

function render({ model, el }) {
  el.classList.add("labkit", "labkit-image");
  const figure = document.createElement("figure");
  const image = document.createElement("img");
  const caption = document.createElement("figcaption");
  const spoken = document.createElement("p");
  spoken.className = "labkit-spoken";
  spoken.setAttribute("role", "status");
  figure.append(image, caption);
  el.append(figure, spoken);

  let address = "";
  let timer = 0;
  let first = true;

  function draw() {
    const png = model.get("png");
    image.hidden = !png || !png.byteLength;
    if (image.hidden) return;
    const old = address;
    address = URL.createObjectURL(new Blob([png], { type: "image/png" }));
    image.src = address;
    image.width = model.get("width");
    if (old) image.addEventListener("load", () => URL.revokeObjectURL(old), { once: true });
  }

  function tell() {
    const finding = model.get("finding");
    image.alt = model.get("alt");
    caption.textContent = finding;
    clearTimeout(timer);
    if (!first) timer = setTimeout(() => (spoken.textContent = finding), QUIET);
    first = false;
  }

  model.on("change:png", draw);
  model.on("change:alt", tell);
  draw();
  tell();
  return () => {
    clearTimeout(timer);
    model.off("change:png", draw);
    model.off("change:alt", tell);
    if (address) URL.revokeObjectURL(address);
  };
}

export default { render };
