// The papers beside the drawing: title, verdict, findings, the selected board or pocket, the boards.
const Lists = (() => {
  const $ = id => document.getElementById(id);

  // Text only ever goes in as text: a recipe's names are never markup.
  function make(tag, attributes = {}, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (name === "click") element.addEventListener("click", value);
      else if (name === "class") element.className = value;
      else if (name in element && typeof value === "boolean") element[name] = value;
      else element.setAttribute(name, value);
    }
    element.append(...children.filter(child => child !== "" && child !== null && child !== undefined));
    return element;
  }
  const count = (n, one, many = one + "s") => `${n} ${n === 1 ? one : many}`;

  function title() {
    const scene = State.scene, c = scene.checked;
    document.title = scene.name;
    $("name").textContent = scene.name;
    const pieces = new Set(scene.boards.map(b => b.piece)).size;
    $("about").textContent = [pieces > 1 ? count(pieces, "piece") : "", count(c.boards, "board"), count(c.joints, "joint"),
      count(c.bores, "pocket screw"), scene.unit === "mm" ? "millimetres" : "inches"].filter(Boolean).join(", ");
  }

  function verdict() {
    const c = State.scene.checked;
    const worst = c.fails ? "fails" : c.warns ? "warns" : "good";
    const heads = {
      fails: `${count(c.fails, "finding")} to mend before cutting`,
      warns: `Nothing fails; ${count(c.warns, "warning")} to read`,
      good: "Nothing shows, breaks out or collides",
    };
    $("verdict").className = "verdict " + worst;
    $("verdict").replaceChildren(make("strong", {}, heads[worst]), make("p", {}, c.bores
      ? `Checked: ${count(c.bores, "pocket")} with ${c.bores === 1 ? "its screw" : "their screws"} in ${count(c.boards, "board")} `
        + `(${count(c.faces, "face")}, ${c.faces_that_show} of them in sight): ${count(c.walls, "wall")} to faces and cuts, `
        + `${count(c.distances_between_bores, "distance")} between bores.`
      : `Checked: ${count(c.boards, "board")} and ${count(c.joints, "joint")}; no pocket is bored.`));
  }

  const WORDS = { fails: "Fails", warns: "Warns", notes: "Note" };

  // What is said of several places in the same words is said once, with its places below.
  function findings() {
    const cards = new Map();
    State.scene.findings.forEach((f, i) => {
      const key = JSON.stringify([f.severity, f.rule, f.message, f.remedy]);
      if (!cards.has(key)) cards.set(key, []);
      cards.get(key).push([f, i]);
    });
    const list = [...cards.values()].map(places => {
      const [first] = places[0];
      const message = first.message.charAt(0).toUpperCase() + first.message.slice(1);
      return make("li", { class: "finding " + first.severity },
        make("p", { class: "how" }, WORDS[first.severity]), make("h3", {}, message),
        first.remedy ? make("p", { class: "remedy" }, make("b", {}, "What to change: "), first.remedy) : "",
        make("ul", { class: "places" }, ...places.map(([f, i]) => make("li", {}, place(f, i)))));
    });
    list.push(...State.scene.more.map(m => make("li", { class: "finding " + m.severity },
      make("p", {}, `and ${m.count} more like these; findings.json tells all`))));
    const notes = list.filter(item => item.classList.contains("notes"));
    const others = list.filter(item => !notes.includes(item));
    // Notes are worth reading once; open or closed they stay as the reader left them.
    const was = $("notes"), picked = notes.some(item => item.querySelector("[aria-pressed=true]"));
    $("findings").replaceChildren(...[others.length ? make("ol", {}, ...others) : "",
      notes.length ? make("details", { id: "notes", open: picked || Boolean(was && was.open) },
        make("summary", {}, `${count(notes.length, "note")} worth knowing`), make("ol", {}, ...notes)) : ""].filter(Boolean));
  }

  function place(f, i) {
    const where = [f.board, f.bore || f.joint, f.face].filter(Boolean).join(", ") || "the whole piece";
    const numbers = [f.measured && `measured ${f.measured}`, f.needed && `needed ${f.needed}`].filter(Boolean).join(", ");
    const label = State.finding === i ? "Let go of it" : "Show it";
    return make("button", { class: "place", "aria-pressed": String(State.finding === i), title: label,
      "data-finding": String(i), click: () => Tools.lookInto(i) },
    make("span", {}, where), numbers ? make("span", { class: "numbers-line" }, numbers) : "");
  }

  function pick(what, text, pressed) {
    return make("button", { class: "pick", "aria-pressed": String(pressed), click: () => State.select(pressed ? null : what) }, text);
  }

  // Boards that are alike in shape, size and stock, piece by piece, as on a cut list.
  function kinds() {
    const pieces = new Map();
    for (const board of State.scene.boards) {
      if (!pieces.has(board.piece)) pieces.set(board.piece, new Map());
      const alike = pieces.get(board.piece), key = JSON.stringify([board.shape, board.size, board.stock, board.shape ? "" : board.role]);
      if (!alike.has(key)) alike.set(key, []);
      alike.get(key).push(board);
    }
    return pieces;
  }

  function boards() {
    const place = $("boards"), chosen = State.selectedBoard(), many = kinds();
    const focused = document.activeElement && document.activeElement.dataset.key;
    place.replaceChildren();
    for (const [piece, alike] of many) {
      if (many.size > 1 || piece !== State.scene.name) place.append(make("h3", {}, piece));
      for (const group of alike.values()) {
        const [first] = group, swatch = make("i", { class: "swatch", "aria-hidden": "true" });
        swatch.style.background = `rgb(${first.colour.map(v => Math.round(255 * v)).join(",")})`;
        const roles = [...new Set(group.map(b => b.role))].join(", ");
        const rows = group.map(board => {
          const on = State.visible(board.name);
          const box = make("input", { type: "checkbox", checked: on, "aria-label": `Show ${board.name}`, "data-key": "show " + board.name });
          box.addEventListener("change", () => State.show(board.name, box.checked));
          const name = pick({ board: board.name }, board.name, board.name === chosen && !State.selected.bore);
          name.dataset.key = "pick " + board.name;
          return make("li", { class: "board" + (on ? "" : " off"), "data-board": board.name }, box, name,
            make("button", { class: "only", "data-key": "only " + board.name,
              click: () => { State.only([board.name]); if (View.ready()) View.fit(); } },
            "Only this", make("span", { class: "unseen" }, ` ${board.name}`)));
        });
        const list = make("ul", { style: "" }, ...rows);
        list.style.cssText = "list-style:none;margin:0;padding:0";
        place.append(make("div", { class: "kinds" }, make("div", { class: "kind" }, swatch,
          make("span", { class: "count" }, `${group.length} \u00d7`), make("span", { class: "dims" }, first.size.join(" \u00d7 ")),
          make("span", { class: "stock" }, [first.stock, roles !== group.map(b => b.name).join(", ") ? roles : ""].filter(Boolean).join(", "))), list));
      }
    }
    if (focused) for (const e of place.querySelectorAll("[data-key]")) if (e.dataset.key === focused) e.focus();
    $("all").disabled = State.hidden.size === 0;
  }

  const pair = (term, text) => (text ? [make("dt", {}, term), make("dd", {}, text)] : []);
  const measured = mark => `${mark.text} ${mark.from}`;
  const degrees = value => `${Math.round(10 * value) / 10}\u00b0`;

  function boardCard(board) {
    const bores = State.boresOf(board.name);
    const joints = State.scene.joints.filter(j => board.joints.includes(j.name)).map(joint => {
      const other = joint.first === board.name ? joint.second : joint.first;
      return make("li", {}, `${joint.name} (${joint.kind}) with `,
        make("button", { class: "link", click: () => State.select({ board: other }) }, other),
        joint.bores.length ? `, ${count(joint.bores.length, "pocket screw")}` : "");
    });
    const pockets = bores.map(bore => make("li", {},
      make("button", { class: "link", click: () => State.select({ bore: bore.name }) }, bore.name),
      `: ${bore.marks.map(measured).join("; ")}`));
    return [make("h2", {}, board.name),
      make("dl", {}, ...pair("Size", board.size.join(" \u00d7 ")), ...pair("Stock", board.stock), ...pair("Part", board.role),
        ...pair("Hand", board.hand), ...pair("Ends", board.ends)),
      board.work.length ? make("h3", {}, "Work") : "", board.work.length ? make("ul", {}, ...board.work.map(line => make("li", {}, line))) : "",
      joints.length ? make("h3", {}, "Joints") : "", joints.length ? make("ul", {}, ...joints) : "",
      pockets.length ? make("h3", {}, `Pockets to mark on the ${[...new Set(bores.map(b => b.face))].join(" and the ")}`) : "",
      pockets.length ? make("ul", {}, ...pockets) : ""];
  }

  function boreCard(bore) {
    return [make("h2", {}, bore.name),
      make("dl", {}, ...pair("In", make("button", { class: "link", click: () => State.select({ board: bore.board }) }, bore.board)),
        ...pair("Pulls to", make("button", { class: "link", click: () => State.select({ board: bore.mate }) }, bore.mate)),
        ...pair("Mark on the", bore.face),
        ...pair("Measure", measured(bore.marks[0])), ...pair("and", measured(bore.marks[1])),
        ...pair("Slope", degrees(bore.slope)), ...pair("Swing", bore.swing ? `the drill leans ${bore.leans}, as you look from the joint into the board with the ${bore.face} up` : "none, square to the joint"),
        ...pair("Drill", bore.drill), ...pair("Depth to shoulder", `${bore.depth} along the drill`), ...pair("Screw", bore.screw.title))];
  }

  function chosen() {
    const place = $("chosen"), s = State.selected;
    place.hidden = !s;
    if (!s) return place.replaceChildren();
    const name = State.selectedBoard();
    const bore = s.bore ? [s.bore] : State.boresOf(name).slice(0, 1).map(b => b.name);
    const acts = make("div", { class: "acts" },
      make("button", { click: () => { State.only([name]); if (View.ready()) View.fit(); } }, "Only this"),
      make("button", { click: () => { State.show(name, false); } }, "Hide"),
      bore.length ? make("button", { click: () => Tools.sawPocket(bore[0]) }, "Cut down its pocket") : "",
      make("button", { click: () => State.select(null) }, "Let go"));
    place.replaceChildren(...(s.bore ? boreCard(State.bore(s.bore)) : boardCard(State.board(name))).filter(Boolean), acts);
  }

  function extras() {
    const { buy, reports } = State.scene, parts = [];
    const screws = buy.things.filter(t => t.kind === "screw"), sum = (list, key) => list.reduce((n, t) => n + t[key], 0);
    const things = buy.things.map(t => make("li", {}, `${t.buy} \u00d7 ${[t.item, t.detail].filter(Boolean).join(", ")}`
      + (t.buy === t.takes ? "" : ` (${t.takes} and some to spare)`)));
    if (screws.length > 1) things.splice(screws.length, 0, make("li", {}, make("b", {}, `${sum(screws, "buy")} screws in all, of which ${sum(screws, "takes")} are driven`)));
    parts.push(make("div", { class: "head" }, make("h2", {}, "To buy")), make("ul", {}, ...things,
      ...buy.wood.map(w => make("li", {}, `${w.stock}: ${count(w.boards, "board")}, ${w.amount}`))),
      make("p", { class: "note" }, "Wood is counted as finished; add for waste."));
    if (reports.length) parts.push(make("div", { class: "head" }, make("h2", {}, "Worked out")),
      make("ul", {}, ...reports.map(r => make("li", {}, r))));
    $("extras").replaceChildren(...parts);
  }

  function refresh(what) {
    if (what.has("scene")) { title(); extras(); }
    if (what.has("scene") || what.has("verdict")) verdict();
    if (what.has("scene") || what.has("finding") || what.has("verdict")) findings();
    if (what.has("scene") || what.has("hidden") || what.has("selected")) boards();
    if (what.has("scene") || what.has("selected")) chosen();
  }

  return { refresh, make, count };
})();
