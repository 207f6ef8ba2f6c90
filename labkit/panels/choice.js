// One of a few: a group of radio buttons with a name.

function render({ model, el }) {
  const group = `labkit-choice-${Math.random().toString(36).slice(2)}`; // each widget loads this file anew: a count would repeat
  el.classList.add("labkit", "labkit-choice");
  const fieldset = document.createElement("fieldset");
  const legend = document.createElement("legend");
  fieldset.append(legend);
  el.append(fieldset);

  function dress() {
    legend.textContent = model.get("label");
    fieldset.querySelectorAll("label").forEach((label) => label.remove());
    model.get("options").forEach((option, index) => {
      const label = document.createElement("label");
      const radio = document.createElement("input");
      Object.assign(radio, { type: "radio", name: group, value: index, checked: index === model.get("index") });
      radio.dataset.lmSuppressShortcuts = "true"; // keys are ours, not the notebook's
      radio.addEventListener("change", () => {
        model.set("index", index);
        model.save_changes();
      });
      label.append(radio, option);
      fieldset.append(label);
    });
  }

  function follow() {
    const radio = fieldset.querySelector(`input[value="${model.get("index")}"]`);
    if (radio) radio.checked = true;
  }

  function able() {
    fieldset.disabled = model.get("disabled");
  }

  model.on("change:disabled", able);
  model.on("change:label change:options", dress);
  model.on("change:index", follow);
  dress();
  able();
  return () => {
    model.off("change:disabled", able);
    model.off("change:label change:options", dress);
    model.off("change:index", follow);
  };
}

export default { render };
