// What a click, a button or a slider does.
const Pick = {
  at(x, y) {
    const hits = View.under(x, y);
    if (State.ruling) return this.measure(hits[0], x, y);
    const screw = hits.find(hit => hit.object.userData.bore);
    // Through glass one reaches for the screw; else for what lies in front.
    const hit = State.through && screw ? screw : hits[0];
    if (!hit) return State.select(null);
    const { board, bore } = hit.object.userData;
    State.select(bore ? { bore } : { board });
  },

  measure(hit, x, y) {
    if (!hit) return;
    const normal = hit.face.normal.clone().transformDirection(hit.object.matrixWorld);
    const corner = this.corner(hit, x, y);
    const point = { point: corner || hit.point.clone(), normal: corner ? null : normal };
    State.points = State.points.length === 1 ? [State.points[0], point] : [point];
    State.change("points");
  },

  // The corner of the board under the pointer, if one lies within nine pixels.
  corner(hit, x, y) {
    const stand = Model.boards.get(hit.object.userData.board);
    if (!stand) return null;
    const points = stand.shape.faces.attributes.position, p = new THREE.Vector3();
    let best = null, least = 9;
    for (const end of stand.shape.ends) {
      p.fromBufferAttribute(points, end).applyMatrix4(stand.group.matrix);
      const at = View.project(p), far = Math.hypot(at.x - x, at.y - y);
      if (far < least && p.distanceTo(hit.point) < hit.distance / 20) { least = far; best = p.clone(); }
    }
    return best;
  },
};

const Tools = (() => {
  const $ = id => document.getElementById(id);
  let before = null;      // what a finding's close look has set aside

  // Straight, and between the planes where both clicks lay on parallel faces.
  function measured() {
    const [a, b] = State.points, unit = State.scene.unit;
    // The drawing's points are single precision; a tenth of a micrometre is enough.
    const tidy = mm => Math.round(mm * 1e4) / 1e4;
    const straight = tidy(a.point.distanceTo(b.point));
    const parallel = a.normal && b.normal && Math.abs(a.normal.dot(b.normal)) > 1 - 1e-6;
    const between = parallel ? tidy(Math.abs(b.point.clone().sub(a.point).dot(a.normal))) : null;
    const faces = between !== null && between > 1e-3;
    return {
      mm: faces ? between : straight,
      short: Lengths.format(faces ? between : straight, unit, 64),
      long: faces ? `Between the faces ${Lengths.measured(between, unit)}; straight ${Lengths.measured(straight, unit)}`
        : `Straight ${Lengths.measured(straight, unit)}`,
    };
  }

  function pressed(id, on) { $(id).setAttribute("aria-pressed", String(on)); }

  // Fly to a finding, keep its boards only, look through them and draw what was measured.
  function lookInto(index) {
    if (State.finding === index) return letGo();
    const finding = State.scene.findings[index];
    if (!before) before = { hidden: new Set(State.hidden), through: State.through };
    State.finding = index;
    State.apart = 0;
    State.selected = finding.bore && State.bore(finding.bore) ? { bore: finding.bore }
      : finding.board && State.board(finding.board) ? { board: finding.board } : null;
    State.through = finding.mark !== null;
    if (finding.boards.length) State.only(finding.boards); else State.all();
    State.change("finding", "apart", "selected", "through");
    if (!View.ready()) return;
    if (!finding.mark) return View.fit();
    const a = new THREE.Vector3(...finding.mark.a), b = new THREE.Vector3(...finding.mark.b);
    const wall = b.clone().sub(a), { out, up } = View.axes();
    let from = out.clone();
    if (wall.length() > 1e-6) {
      // Square to the wall, so that it is seen at its full length, a little off the axis for depth.
      wall.normalize();
      const bore = finding.bore && State.bore(finding.bore);
      const along = bore ? Model.turned(bore.board, bore.back) : up;
      from.crossVectors(wall, along);
      if (from.length() < 0.2) from.crossVectors(wall, up);
      if (from.dot(out) < 0) from.negate();
      from.normalize().addScaledVector(out, 0.25);
    }
    View.lookAt(a.lerp(b, 0.5), from, 55);
  }

  // Saw down the middle of a pocket and look at the sawn face from near by.
  function sawPocket(name) {
    const bore = State.bore(name);
    Object.assign(State.saw, { on: true, way: `bore 0 ${name}`, at: 0.5, flip: false });
    State.change("saw");
    if (!View.ready()) return;
    const near = Model.placed(bore.board, bore.exit).lerp(Model.placed(bore.board, bore.mouth), 0.3);
    View.lookAt(near, new THREE.Vector3(...State.saw.keep).negate(), 1.6 * bore.screw.length);
  }

  function letGo() {
    const restored = before;
    before = null;
    State.finding = null;
    State.selected = null;
    if (restored) { State.hidden = restored.hidden; State.through = restored.through; }
    State.change("finding", "selected", "hidden", "through");
    if (restored && View.ready()) View.fit();
  }

  function step(by) {
    const steps = State.scene.apart.steps.length;
    const next = by > 0 ? Math.floor(State.apart + 1 + 1e-9) : Math.ceil(State.apart - 1 - 1e-9);
    State.apart = Math.max(0, Math.min(steps, next));
    State.change("apart");
  }

  function apartText() {
    const steps = State.scene.apart.steps, undone = Math.ceil(State.apart - 1e-9);
    if (undone <= 0) return "together";
    const next = steps[steps.length - undone];
    return `Step ${next.number} of ${State.scene.apart.last}: ${next.text}`;
  }

  function start() {
    for (const button of document.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => View.stand(button.dataset.view));
    }
    $("fit").addEventListener("click", () => View.fit());
    $("all").addEventListener("click", () => { before = null; State.all(); });
    $("through").addEventListener("click", () => { State.through = !State.through; State.change("through"); });
    $("seen").addEventListener("click", () => { State.seen = !State.seen; State.change("seen"); });
    $("rule").addEventListener("click", () => { State.ruling = !State.ruling; State.points = []; State.change("ruling", "points"); });
    $("rule-clear").addEventListener("click", () => { State.points = []; State.change("points"); });
    $("saw").addEventListener("click", () => {
      State.saw.on = !State.saw.on;
      State.saw.flip = false;
      State.change("saw");
    });
    $("saw-way").addEventListener("change", () => {
      Object.assign(State.saw, { way: $("saw-way").value, at: 0.5, flip: false });
      State.change("saw");
    });
    $("saw-at").addEventListener("input", () => { State.saw.at = $("saw-at").value / 1000; State.change("saw at"); });
    $("saw-flip").addEventListener("click", () => { State.saw.flip = !State.saw.flip; State.change("saw"); });
    $("apart").addEventListener("input", () => {
      State.apart = ($("apart").value / 1000) * State.scene.apart.steps.length;
      State.change("apart");
    });
    $("step-less").addEventListener("click", () => step(-1));
    $("step-more").addEventListener("click", () => step(1));
    document.addEventListener("keydown", event => {
      if (event.key === "Escape" && event.target === document.body) letGo();
    });
  }

  function refresh(what) {
    if (what.has("view")) {
      for (const button of document.querySelectorAll("[data-view]")) {
        button.setAttribute("aria-pressed", String(button.dataset.view === View.standing()));
      }
    }
    pressed("through", State.through);
    pressed("seen", State.seen);
    pressed("saw", State.saw.on);
    pressed("rule", State.ruling);
    $("key").hidden = !State.seen;
    $("sawing").hidden = !State.saw.on;
    $("ruling").hidden = !State.ruling;
    $("canvas").classList.toggle("ruling", State.ruling);
    if (what.has("selected") || what.has("scene") || what.has("saw")) sawWays();
    if (State.saw.on) sawText();
    if (what.has("points") || what.has("ruling")) {
      $("rule-text").textContent = State.points.length === 2 ? measured().long
        : State.points.length ? "Now the second one." : "Click two points or two faces.";
    }
    if (what.has("apart") || what.has("scene")) {
      const steps = State.scene.apart.steps.length;
      $("taking").hidden = !steps;
      $("apart").value = steps ? Math.round((State.apart / steps) * 1000) : 0;
      $("apart").setAttribute("aria-valuetext", apartText());
      $("apart-text").textContent = apartText();
      $("step-less").disabled = State.apart <= 0;
      $("step-more").disabled = State.apart >= steps;
    }
  }

  function sawWays() {
    const ways = Saw.ways();
    if (!ways.some(([key]) => key === State.saw.way)) State.saw.way = "project 0";
    $("saw-way").replaceChildren(...ways.map(([key, text]) => {
      const option = document.createElement("option");
      option.value = key;
      option.textContent = text;
      option.selected = key === State.saw.way;
      return option;
    }));
  }
  function sawText() {
    const { low, high } = Saw.way();
    $("saw-at").value = Math.round(State.saw.at * 1000);
    const text = Lengths.format((high - low) * State.saw.at - (State.saw.way.startsWith("bore") ? (high - low) / 2 : 0), State.scene.unit);
    $("saw-text").textContent = State.saw.way.startsWith("bore") ? `${text} off the middle` : text;
  }

  return { start, refresh, lookInto, letGo, measured, step, sawPocket };
})();
