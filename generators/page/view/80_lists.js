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

  // What one stands on by keyboard, before a list is made anew, and on it again afterwards.
  const standing = () => (document.activeElement ? document.activeElement.dataset.key : "");
  function stand(place, key) {
    if (key) for (const e of place.querySelectorAll("[data-key]")) if (e.dataset.key === key) e.focus();
  }

  function title() {
    const scene = State.scene;
    document.title = scene.name;
    $("name").textContent = scene.name;
    const pieces = new Set(scene.boards.map(b => b.piece)).size;
    $("about").textContent = [pieces > 1 ? count(pieces, "piece") : "", count(scene.boards.length, "board"),
      count(scene.joints.length, "joint"), count(scene.bores.length, "pocket"),
      scene.unit === "mm" ? "lengths in millimetres" : "lengths in inches"].filter(Boolean).join(", ");
  }

  function verdict() {
    const { worst, said, looked } = State.scene.verdict;
    $("verdict").className = "verdict " + worst;
    $("verdict").replaceChildren(make("strong", { class: "sentence" }, said), make("p", {}, looked));
  }

  // One entry for each cause, in the words of `check`; notes are worth reading once, and stay open
  // or closed as the reader left them.
  function findings() {
    const place = $("findings"), focused = standing();
    const opened = new Set([...place.querySelectorAll("details[open]")].map(e => e.dataset.key));
    place.replaceChildren(...State.scene.causes.flatMap(group => {
      const list = make("ol", {}, ...group.causes.map((one, i) => cause(one, `${group.severity} ${i}`, group.severity)),
        group.more ? make("li", {}, group.more) : "");
      if (group.severity !== "notes") return [make("h2", {}, group.heading), list];
      return [make("details", { "data-key": "notes", id: "notes" }, make("summary", {}, group.heading), list)];
    }), ...State.scene.closing.map(line => make("p", { class: "note" }, line)));
    for (const e of place.querySelectorAll("details")) e.open = opened.has(e.dataset.key) || Boolean(e.querySelector("[aria-pressed=true]"));
    stand(place, focused);
  }

  function cause(one, key, severity) {
    const said = one.said.flatMap(({ lines, places, first, left }, i) => [
      ...lines.map(line => make("h3", {}, make("span", { class: "how " + line.severity }, `${line.severity}  ${line.rule}`),
        make("span", { class: "unseen" }, ": "), make("span", { class: "sentence" }, line.says))),
      places.length ? make("ul", { class: "places" }, ...places.slice(0, first).map(place => spots(key, place))) : "",
      places.length > first ? make("details", { "data-key": `${key} ${i}` }, make("summary", {}, `and ${places.length + left - first} more`),
        make("ul", { class: "places" }, ...places.slice(first).map(place => spots(key, place)), left ? make("li", {}, `and ${left} more`) : "")) : ""]);
    const pasted = one.paste.flatMap(({ says, lines }, i) => [make("p", { class: "sentence" }, says),
      lines.length ? make("pre", { tabindex: "0" }, lines.join("\n")) : "",
      lines.length ? make("button", { "data-key": `copy ${key} ${i}`, click: event => copy(event.currentTarget, lines) }, "Copy these lines") : ""]);
    return make("li", { class: "finding " + severity }, ...said,
      one.cure ? make("div", { class: "cure" }, make("p", { class: "sentence" }, one.cure), ...pasted, Live.offer(one)) : "");
  }

  // A joint or a board, and its pockets, each of which can be looked into.
  function spots(key, { says, spots: all }) {
    return make("li", { class: says ? "several" : "" }, says ? make("span", {}, says) : "", ...all.map(({ name, short, finding }) =>
      make("button", { class: "place", "aria-pressed": String(State.finding === finding), "data-finding": String(finding), "data-key": `${key} at ${name}`,
        title: State.finding === finding ? "Let go of it" : "Show it", "aria-label": name, click: () => Tools.lookInto(finding) }, short)));
  }

  async function copy(button, lines) {
    const text = lines.join("\n") + "\n";
    try {
      await navigator.clipboard.writeText(text);
      button.textContent = "Copied";
    } catch (error) {  // some browsers let no page at the clipboard
      getSelection().selectAllChildren(button.previousElementSibling);
      button.textContent = "Selected: copy it with your keyboard";
    }
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
    const place = $("boards"), chosen = State.selectedBoard(), many = kinds(), focused = standing();
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
    stand(place, focused);
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
      make("button", { click: () => Tools.letGo() }, "Let go"));
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
