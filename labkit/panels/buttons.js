// A named row of buttons.

function render({ model, el }) {
  el.classList.add("labkit", "labkit-buttons");
  el.setAttribute("role", "group");

  function dress() {
    el.setAttribute("aria-label", model.get("label"));
    el.replaceChildren(
      ...model.get("names").map((name) => {
        const button = document.createElement("button");
        Object.assign(button, { type: "button", textContent: name });
        button.dataset.lmSuppressShortcuts = "true"; // keys are ours, not the notebook's
        button.addEventListener("click", () => model.send({ press: name }));
        return button;
      }),
    );
  }

  model.on("change:label change:names", dress);
  dress();
  return () => model.off("change:label change:names", dress);
}

export default { render };
