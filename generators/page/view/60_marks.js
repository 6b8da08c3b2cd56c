// Lines and numbers on the drawing: sizes, marking-out distances, thin walls, what was measured.
const Marks = (() => {
  const group = new THREE.Group();
  let labels = [];      // {at: Vector3, text, kind}
  const holder = () => document.getElementById("labels");

  function clear() {
    for (const child of group.children) { child.geometry.dispose(); child.material.dispose(); }
    group.clear();
    labels = [];
  }

  function lines(points, colour) {
    const geometry = new THREE.BufferGeometry().setFromPoints(points);
    const mesh = new THREE.LineSegments(geometry, new THREE.LineBasicMaterial({ color: colour, depthTest: false, transparent: true }));
    mesh.renderOrder = 5;
    group.add(mesh);
  }

  function dot(point, radius, colour) {
    const ball = new THREE.Mesh(new THREE.SphereGeometry(radius, 12, 8),
      new THREE.MeshBasicMaterial({ color: colour, depthTest: false, transparent: true }));
    ball.position.copy(point);
    ball.renderOrder = 6;
    group.add(ball);
  }

  // A dimension from a to b, drawn aside by `off`, with its two extension lines and ticks.
  function dimension(a, b, off, text, colour, kind) {
    const c = a.clone().add(off), d = b.clone().add(off);
    const along = d.clone().sub(c).normalize(), aside = off.clone().normalize();
    const tick = along.clone().add(aside).multiplyScalar(Math.min(3, c.distanceTo(d) / 4));
    lines([a, c.clone().addScaledVector(aside, 2), b, d.clone().addScaledVector(aside, 2), c, d,
      c.clone().sub(tick), c.clone().add(tick), d.clone().sub(tick), d.clone().add(tick)], colour);
    labels.push({ at: c.add(d).multiplyScalar(0.5), text, kind: kind || "" });
  }

  function sizes(board, colour) {
    const [l, w, t] = board.sizes, name = board.name;
    const p = (x, y, z) => Model.placed(name, [x, y, z]), v = (x, y, z) => Model.turned(name, [x, y, z]);
    dimension(p(0, 0, t), p(l, 0, t), v(0, -18, 0), board.size[0], colour, "plain");
    dimension(p(l, 0, t), p(l, w, t), v(18, 0, 0), board.size[1], colour, "plain");
  }

  function markingOut(bore, colour) {
    const [run, square] = bore.marks;
    const place = p => Model.placed(bore.board, p);
    const out = Model.turned(bore.board, run.out), up = Model.turned(bore.board, run.up);
    dimension(place(run.a), place(run.b), out.clone().multiplyScalar(8).addScaledVector(up, 0.5), run.text, colour);
    const aside = new THREE.Vector3().crossVectors(up, out);
    if (aside.dot(place(run.b).sub(place(run.a))) < 0) aside.negate();
    dimension(place(square.a), place(square.b), aside.multiplyScalar(12), square.text, colour);
  }

  function update() {
    clear();
    const chalk = new THREE.Color(Model.ink("--chalk"));
    const name = State.selectedBoard(), board = name && State.board(name);
    if (board && State.visible(name) && State.finding === null) {
      if (State.selected.bore) markingOut(State.bore(State.selected.bore), chalk);
      else {
        sizes(board, new THREE.Color(Model.ink("--soft")));
        State.boresOf(name).forEach(bore => markingOut(bore, chalk));
      }
    }
    const finding = State.finding === null ? null : State.scene.findings[State.finding];
    if (finding && finding.mark) {
      const colour = new THREE.Color(Model.ink("--" + finding.severity));
      const a = new THREE.Vector3(...finding.mark.a), b = new THREE.Vector3(...finding.mark.b);
      lines([a, b], colour);
      dot(a, 0.5, colour);
      dot(b, 0.5, colour);
      // The number stands beside the line, not on it.
      labels.push({ at: a.clone().lerp(b, 0.5), text: finding.mark.text, kind: finding.severity, up: 24 });
    }
    if (State.points.length) {
      const [a, b] = State.points.map(({ point }) => point);
      const size = Model.box().getSize(new THREE.Vector3()).length() / 300;
      State.points.forEach(({ point }) => dot(point, size, chalk));
      if (b) {
        lines([a, b], chalk);
        labels.push({ at: a.clone().lerp(b, 0.5), text: Tools.measured().short, kind: "" });
      }
    }
    write();
  }

  // The numbers stay upright and readable; they follow the camera.
  function write() {
    const place = holder();
    while (place.children.length > labels.length) place.lastChild.remove();
    const taken = [];
    labels.forEach((label, i) => {
      const span = place.children[i] || place.appendChild(document.createElement("span"));
      const { x, y, ahead } = View.project(label.at);
      span.textContent = label.text;
      span.className = label.kind;
      // Where two would cover each other, the later one moves down.
      const half = 4 * label.text.length + 8;
      let down = y - (label.up || 0);
      for (const other of taken) {
        if (Math.abs(other.x - x) < other.half + half && Math.abs(other.y - down) < 22) down = other.y + 22;
      }
      if (ahead) taken.push({ x, y: down, half });
      span.style.left = x.toFixed(1) + "px";
      span.style.top = down.toFixed(1) + "px";
      span.hidden = !ahead;
    });
  }

  return { group, update, write, count: () => group.children.length, texts: () => labels.map(l => l.text) };
})();
