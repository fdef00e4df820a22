"use strict";
(() => {
  const data = JSON.parse(document.getElementById("proof-data").textContent);
  const byId = (id) => document.getElementById(id);
  const store = "pedalsetter-proof " + data.key;
  let decided = {};
  try { decided = JSON.parse(localStorage.getItem(store) || "{}"); } catch { decided = {}; }
  let chosen = null;

  // Every text comes in as text, never as markup.
  function make(tag, text, attributes) {
    const element = document.createElement(tag);
    if (text !== undefined && text !== null) element.textContent = text;
    for (const [name, value] of Object.entries(attributes || {})) element.setAttribute(name, value);
    return element;
  }

  function quoted(text) {
    return '"' + text.replace(/\\/g, "\\\\").replace(/"/g, '\\"').replace(/[\u0000-\u001f\u007f]/g, " ")
      + '"';
  }

  function exported() {
    const lines = ["# Decisions about the pedals of " + data.file + ".", ""];
    if (data.given.top) lines.push(data.given.top.trimEnd(), "");
    // Of two that exclude each other the earlier one holds, so the new ones come first.
    for (const key of Object.keys(decided).sort()) {
      if (decided[key].toml) lines.push(decided[key].toml, "");
    }
    for (const block of earlier()) lines.push(block.trimEnd(), "");
    return lines.join("\n");
  }

  // What was decided before, without what is decided anew.
  function earlier() {
    const anew = Object.values(decided).flatMap((one) => one.drops || []);
    return data.given.rest.split(/^(?=\s*\[)/m).filter((block) => {
      const has = new Set(block.split("\n").map((line) => line.trim()));
      return block.trim() && !anew.some((lines) => lines.every((line) => has.has(line)));
    });
  }

  function keep() {
    try { localStorage.setItem(store, JSON.stringify(decided)); } catch { /* kept on the page */ }
    const list = byId("list");
    list.replaceChildren();
    const keys = Object.keys(decided).sort();
    for (const key of keys) {
      const item = make("li", decided[key].told + " ");
      const remove = make("button", "Take back", { class: "plain", type: "button",
        "aria-label": "Take back: " + decided[key].told });
      remove.addEventListener("click", () => { delete decided[key]; keep(); show(chosen, false); });
      item.append(remove);
      list.append(item);
    }
    byId("count").textContent = keys.length === 0 ? "None yet."
      : keys.length === 1 ? "1 decision." : keys.length + " decisions.";
    byId("text").value = exported();
  }

  function decide(key, told, toml, drops) {
    if (toml === null) delete decided[key];
    else decided[key] = { told, toml, drops };
    keep();
  }

  function choices(legend, name, key, options, drops) {
    const box = make("fieldset");
    box.append(make("legend", legend));
    const current = decided[key] ? decided[key].toml : null;
    for (const option of options) {
      const label = make("label");
      const radio = make("input", null, { type: "radio", name });
      radio.checked = current === option.toml;
      radio.addEventListener("change", () => decide(key, option.told, option.toml, drops));
      label.append(radio, " " + option.label);
      box.append(label);
    }
    return box;
  }

  function field(labelText, key, told, toml, drops, check, help) {
    const label = make("label", labelText);
    const input = make("input", null, { type: "text", autocomplete: "off" });
    const kept = decided[key];
    if (kept && kept.typed) input.value = kept.typed;
    input.addEventListener("change", () => {
      const typed = input.value.trim();
      const right = !typed || !check || check.test(typed);
      input.setAttribute("aria-invalid", String(!right));
      input.setCustomValidity(right ? "" : help);
      input.reportValidity();
      if (!right || (!typed && !(decided[key] && decided[key].typed))) return;
      for (const radio of document.getElementsByName(key)) radio.checked = false;
      decide(key, told + typed, typed ? toml(typed) : null, drops);
      if (typed) { decided[key].typed = typed; keep(); }
    });
    label.append(input);
    return label;
  }

  function show(number, focus = true) {
    const panel = byId("panel");
    panel.replaceChildren();
    for (const button of document.querySelectorAll("#pages .mark")) {
      button.setAttribute("aria-pressed", String(button.dataset.mark === String(number)));
    }
    if (number === null) { panel.append(make("h2", "No mark is chosen")); return; }
    chosen = number;
    const mark = data.marks[number];
    panel.append(make("h2", mark.where + ": " + mark.text));
    if (mark.decided) panel.append(make("p", "You have decided this before."));
    for (const change of mark.changes) {
      panel.append(make("h2", change.text + ", " + change.foot));
      const facts = make("dl");
      for (const [name, text] of change.facts) facts.append(make("dt", name), make("dd", text));
      panel.append(facts);
      panel.append(choices("Where the pedal moves", "change " + change.id, "change " + change.id,
        change.places, change.drops));
      panel.append(field("Or any other place, as in 13:2½", "change " + change.id,
        change.text + " moves to ", (typed) => "[[change]]\nat = " + quoted(typed) + "\n"
          + change.tail, change.drops, /^[^\s:"]+(:[0-9]+([½⅓⅔¼¾]|\.[0-9]+|\+[0-9]+\/[0-9]+)?)?$/u,
        "Write the bar and the beat, as in 13:2½."));
      for (const note of change.notes) {
        panel.append(choices(note.legend, "note" + note.id, "note " + note.id, note.options,
          note.drops));
      }
      if (change.feet.length) {
        panel.append(choices("Which foot takes " + change.letter + ", in the whole part",
          "foot" + change.letter, "foot " + change.letter, change.feet,
          [["[[foot]]", "pedal = " + quoted(change.letter)]]));
      }
    }
    for (const note of mark.notes) {
      panel.append(choices(note.legend, "note" + note.id, "note " + note.id, note.options,
        note.drops));
    }
    if (mark.diagram) {
      panel.append(choices("The diagram", "diagram" + number, "diagram " + number, mark.diagram,
        [["[[diagram]]", ...mark.at.split("\n")]]));
    }
    panel.append(field("Pedals that must stand so here, as in F♯ Bb", "setting " + number,
      mark.where + ": ", (typed) => "[[setting]]\n" + mark.at + "\npedals = " + quoted(typed),
      [["[[setting]]", ...mark.at.split("\n")]],
      /^[A-Ga-g][♭♮♯b#n]?([\s|,]+[A-Ga-g][♭♮♯b#n]?)*$/u,
      "Name pedals as in F♯ or Bb, with spaces between them."));
    panel.append(field("A remark", "remark " + number, "remark, " + mark.where + ": ",
      (typed) => "# remark, " + mark.where + ": " + typed.replace(/[\u0000-\u001f\u007f]/g, " ")));
    if (focus) panel.focus();
  }

  for (const button of document.querySelectorAll("#pages .mark")) {
    button.addEventListener("click", () => show(Number(button.dataset.mark)));
  }
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || chosen === null) return;
    const button = document.querySelector('#pages .mark[data-mark="' + chosen + '"]');
    if (button) button.focus();
  });
  byId("save").addEventListener("click", () => {
    const link = make("a", null, { download: data.download,
      href: URL.createObjectURL(new Blob([exported()], { type: "application/toml" })) });
    link.click();
  });
  byId("copy").addEventListener("click", () => {
    const text = byId("text");
    text.select();
    if (navigator.clipboard) navigator.clipboard.writeText(text.value).catch(() => {});
    else document.execCommand("copy");
  });
  byId("verdict").textContent = data.verdict;
  byId("new-key").hidden = !data.since;
  if (data.since) {
    byId("since").hidden = false;
    for (const line of data.since) byId("since-list").append(make("li", line));
  }
  if (data.findings.length) {
    const list = make("ul");
    for (const line of data.findings) list.append(make("li", line));
    byId("findings").append(make("h2", "What is hard, or cannot be played"), list);
  }
  keep();
})();
