// A question to commit to before anything is shown: chosen from a few answers, or typed.

function render({ model, el }) {
  const group = `labkit-prediction-${Math.random().toString(36).slice(2)}`; // each widget loads this file anew: a count would repeat
  el.classList.add("labkit", "labkit-prediction");
  el.setAttribute("role", "group");

  function add(tag, properties, parent = el) {
    const made = Object.assign(document.createElement(tag), properties);
    made.dataset.lmSuppressShortcuts = "true"; // keys are ours, not the notebook's
    parent.append(made);
    return made;
  }

  function ask() {
    const fieldset = add("fieldset", {});
    add("legend", { textContent: model.get("question") }, fieldset);
    const options = model.get("options");
    let answer;
    if (options.length) {
      options.forEach((option, index) => {
        const label = add("label", {}, fieldset);
        add("input", { type: "radio", name: group, value: index }, label);
        label.append(option);
      });
      answer = () => {
        const chosen = fieldset.querySelector("input:checked");
        return chosen ? options[Number(chosen.value)] : "";
      };
    } else {
      const label = add("label", { textContent: "Your prediction, with its unit" }, fieldset);
      const entry = add("input", { type: "text", autocomplete: "off", spellcheck: false }, label);
      entry.addEventListener("keydown", (event) => event.key === "Enter" && button.click());
      answer = () => entry.value;
    }
    const button = add("button", { type: "button", textContent: "Commit my prediction" });
    const refusal = add("p", { className: "labkit-refusal", hidden: true });
    refusal.setAttribute("role", "alert");
    button.addEventListener("click", () => model.send({ commit: answer() }));
    refuse = () => {
      refusal.textContent = model.get("refusal");
      refusal.hidden = !model.get("refusal");
    };
    refuse();
  }

  function keep() {
    add("p", { className: "labkit-question", textContent: model.get("question") });
    const kept = add("p", { className: "labkit-kept", tabIndex: -1 });
    add("strong", { textContent: "Your prediction: " }, kept);
    kept.append(model.get("answer"));
    const again = add("button", { type: "button", className: "labkit-quiet", textContent: "Predict again" });
    again.addEventListener("click", () => model.send({ again: true }));
    return kept;
  }

  let refuse = () => {};
  function show(changed) {
    refuse = () => {};
    el.replaceChildren();
    if (!model.get("answer")) ask();
    else {
      const kept = keep();
      if (changed) kept.focus();
    }
  }

  const redraw = () => show(true);
  const told = () => refuse();
  model.on("change:answer", redraw);
  model.on("change:refusal", told);
  show(false);
  return () => {
    model.off("change:answer", redraw);
    model.off("change:refusal", told);
  };
}

export default { render };
