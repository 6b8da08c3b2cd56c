// A served page: takes what the recipe has become, shows what is wrong with it, tries numbers.
const Live = (() => {
  const $ = id => document.getElementById(id);
  const DELAY = 60;             // ms between two tries while a slider moves
  let latest = null, updates = 0, lost = false;
  let tries = new Map();        // id -> text, or value from a slider
  let sending = false, again = false, held = null;
  let fields = new Map();       // id -> {row, text, slider, bad}

  function start() {
    const source = new EventSource("events");
    source.onmessage = event => { lost = false; take(JSON.parse(event.data)); };
    source.onerror = () => { lost = true; trouble(); };
  }

  async function take(update) {
    latest = update;
    trouble();
    numbers();
    if (update.problems.length) { working(""); updates += 1; return; }
    if (update.stage === "working") { working("Checking the recipe"); updates += 1; return; }
    if (update.stage === "closed") {
      State.takeVerdict(update.scene);
      working("Building what changed");
      updates += 1;
      return;
    }
    if (drawn(update.scene) === drawn(State.scene)) {
      State.takeVerdict(update.scene);
      return done(update);
    }
    const wanted = [...new Set(update.scene.boards.map(b => b.shape))].filter(name => !Model.has(name));
    if (wanted.length && View.ready()) {
      const answer = await fetch("shapes?names=" + wanted.join(","));
      const shapes = answer.ok ? await answer.json() : {};
      // Meanwhile there may be something newer; it brings its own shapes.
      if (latest !== update || !wanted.every(name => shapes[name])) return;
      Model.addShapes(shapes);
    }
    const first = !State.scene.boards.length;
    State.take(update.scene);
    if (first && View.ready()) View.stand("corner");
    done(update);
  }

  // All of a scene that is drawn, and not only told.
  const drawn = scene => JSON.stringify({ ...scene, shapes: 0, verdict: 0, causes: 0, findings: 0, closing: 0 });

  function done(update) {
    working(update.sought || update.scene.verdict.worst === "notes" ? "" : "Looking for what to change");
    updates += 1;
  }

  function working(text) {
    $("working").hidden = !text;
    $("working").textContent = text;
  }

  function trouble() {
    const place = $("trouble"), problems = latest ? latest.problems : [];
    place.hidden = !problems.length && !lost;
    const lines = problems.map(p => Lists.make("div", {}, `${p.file}, line ${p.line}, column ${p.column}: ${p.message}`));
    const head = lost ? "The connection to slantbore is lost; this is the last that it said."
      : "The recipe cannot be built. The drawing shows it as it last could.";
    place.replaceChildren(Lists.make("b", {}, head), ...lines);
  }

  // --- quick numbers ---------------------------------------------------------------------

  function numbers() {
    const place = $("numbers"), list = latest.numbers;
    place.hidden = !list.length;
    if (!list.length) return;
    if (!sending && !again && held === null) {
      tries = new Map(list.filter(n => n.text !== n.written).map(n => [n.id, n.text]));
    }
    const same = fields.size === list.length && list.every(n => fields.has(n.id) && fields.get(n.id).label === n.label);
    if (!same) lay(place, list);
    list.forEach(fill);
    below(list);
  }

  function lay(place, list) {
    fields = new Map();
    const groups = new Map();
    list.forEach((n, i) => {
      const [group, label] = n.label.includes(": ") ? n.label.split(/: (.*)/) : ["", n.label];
      const name = `number-${i}`;
      const text = Lists.make("input", { type: "text", id: name, autocomplete: "off", spellcheck: "false", maxlength: "40" });
      const slider = Lists.make("input", { type: "range", "aria-label": `${n.label}, slider` });
      const bad = Lists.make("div", { class: "bad", role: "alert", hidden: true });
      const row = Lists.make("div", { class: "number" }, Lists.make("label", { for: name }, label), text, slider, bad);
      text.addEventListener("change", () => attempt(n.id, text.value.trim()));
      slider.addEventListener("pointerdown", () => { held = n.id; });
      slider.addEventListener("input", () => {
        const now = latest.numbers.find(m => m.id === n.id);
        text.value = shown(now, Number(slider.value));
        attempt(n.id, Number(slider.value));
      });
      slider.addEventListener("change", () => { held = null; });
      fields.set(n.id, { row, text, slider, bad, label: n.label });
      if (!groups.has(group)) groups.set(group, []);
      groups.get(group).push(row);
    });
    // One piece is open; a recipe of many would bury the boards.
    const open = [...groups.keys()].find(group => !["stock", "limits", "tools"].includes(group));
    const rows = [...groups].map(([group, members]) => Lists.make("details", { open: group === open },
      Lists.make("summary", {}, group || "recipe"), ...members));
    place.replaceChildren(
      Lists.make("div", { class: "head" }, Lists.make("h2", {}, "Numbers of the recipe")),
      Lists.make("p", { class: "note" }, `Lengths without a unit are in ${State.scene.unit === "mm" ? "millimetres" : "inches"}. Try others here; the file stays as it is until you write back.`),
      ...rows, Lists.make("div", { id: "numbers-below" }));
  }

  function shown(n, value) {
    if (n.kind !== "length") return String(Math.round(100 * value) / 100);
    return n.metric === "" ? Lengths.format(value, "inch").replace(/^about |"$/g, "") : Lengths.format(value, "mm");
  }

  function fill(n) {
    const { row, text, slider, bad } = fields.get(n.id);
    slider.min = n.low; slider.max = n.high; slider.step = n.step;
    if (held !== n.id && !tries.has(n.id)) slider.value = n.value;
    slider.setAttribute("aria-valuetext", n.text);
    if (document.activeElement !== text && held !== n.id) text.value = n.text;
    const changed = n.text !== n.written;
    row.classList.toggle("changed", changed);
    text.title = changed ? `In the file: ${n.written}` : "";
    bad.hidden = true;
  }

  function below(list) {
    const changed = list.filter(n => n.text !== n.written).length, clash = latest.clash;
    const button = (id, text, click, off) => Lists.make("button", { id, click, disabled: Boolean(off) }, text);
    const note = clash ? Lists.make("p", { class: "note clash", role: "alert" },
      "The file was changed on disk meanwhile, and your numbers are not in it. Nothing has been overwritten.") : "";
    const acts = clash
      ? [button("write-over", "Write mine into the changed file", () => write(true)), button("drop", "Keep the file, drop mine", drop)]
      : [button("write", "Write back to the recipe", () => write(false), !changed), button("drop", "Drop my numbers", drop, !changed)];
    const focused = document.activeElement ? document.activeElement.id : "";
    $("numbers-below").replaceChildren(...[note, Lists.make("div", { class: "acts" }, ...acts)].filter(Boolean));
    if (["write", "write-over", "drop"].includes(focused) && $(focused)) $(focused).focus();
  }

  function attempt(id, value) {
    tries.set(id, value);
    if (sending) { again = true; return; }
    send(id);
  }

  async function post(where, what) {
    const answer = await fetch(where, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(what) });
    return { ok: answer.ok, ...(answer.status < 500 ? await answer.json().catch(() => ({})) : {}) };
  }

  async function send(id) {
    sending = true;
    again = false;
    try {
      const said = await post("numbers", Object.fromEntries(tries));
      const field = fields.get(id);
      if (field) { field.bad.hidden = !said.problem; field.bad.textContent = said.problem || ""; }
      if (said.problem) tries.delete(id);
    } catch (error) {
      lost = true;
      trouble();
    }
    await new Promise(done => setTimeout(done, DELAY));
    sending = false;
    if (again) send(id);
  }

  // What writes a cause's cure into the recipe; of a page that is not served there is none.
  function offer(cause) {
    if (!latest || !cause.keys.length) return "";
    const button = Lists.make("button", { click: () => cure(cause, button) },
      tries.size ? "Write this and your numbers into the recipe" : "Write this into the recipe");
    return button;
  }

  async function cure(cause, button) {
    button.disabled = true;
    const said = await post("write", { over: false, cure: cause.keys });
    if (said.written) {
      Tools.letGo();
      return $("verdict").focus();
    }
    button.disabled = false;
    button.after(Lists.make("p", { class: "clash", role: "alert" }, said.problem || "The file was changed meanwhile; nothing was written."));
  }

  function drop() {
    tries = new Map();
    held = null;
    if (document.activeElement) document.activeElement.blur();
    send("");
  }

  async function write(over) {
    const said = await post("write", { over });
    if (said.problem) {
      lost = false;
      $("numbers-below").prepend(Lists.make("p", { class: "note clash", role: "alert" }, said.problem));
    }
  }

  return { start, offer, probe: () => ({ updates, version: latest ? latest.version : 0, stage: latest ? latest.stage : "",
    problems: latest ? latest.problems.length : 0, clash: latest ? latest.clash : false, tries: Object.fromEntries(tries) }) };
})();
