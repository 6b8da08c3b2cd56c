// What is being looked at, and who wants to know when that changes. Plain data, no drawing.
const State = {
  scene: null,
  hidden: new Set(),        // names of boards
  selected: null,           // {board} or {bore}
  finding: null,            // index into scene.findings
  through: false,           // boards like glass
  seen: false,              // faces coloured by how they are seen
  apart: 0,                 // joints opened, counted from the last; may be between two
  saw: { on: false, way: "project 0", at: 0.5, flip: false },
  ruling: false,
  points: [],               // what was measured: {point, normal}
  listeners: [],
  onChange(listener) { this.listeners.push(listener); },
  change(...what) { for (const listener of this.listeners) listener(new Set(what)); },

  board(name) { return this.scene.boards.find(b => b.name === name) || null; },
  bore(name) { return this.scene.bores.find(b => b.name === name) || null; },
  boresOf(board) { return this.scene.bores.filter(b => b.board === board); },
  selectedBoard() {
    if (!this.selected) return null;
    return this.selected.board || this.bore(this.selected.bore).board;
  },
  visible(name) { return !this.hidden.has(name); },

  select(what) {
    this.selected = what;
    this.change("selected");
  },
  show(name, on) {
    if (on) this.hidden.delete(name); else this.hidden.add(name);
    this.change("hidden");
  },
  only(names) {
    this.hidden = new Set(this.scene.boards.map(b => b.name).filter(n => !names.includes(n)));
    this.change("hidden");
  },
  all() {
    this.hidden.clear();
    this.change("hidden");
  },

  // The verdict comes before the solids; until they are there the drawing stays as it was.
  takeVerdict(scene) {
    const finding = this.finding === null ? null : this.scene.findings[this.finding];
    this.scene = { ...this.scene, findings: scene.findings, checked: scene.checked, reports: scene.reports };
    this.finding = this.again(finding);
    this.change("verdict", "finding");
  },

  // The same finding in a newer list, or null.
  again(finding) {
    const at = finding ? this.scene.findings.findIndex(f => ["rule", "board", "joint", "bore", "face"]
      .every(key => f[key] === finding[key])) : -1;
    return at < 0 ? null : at;
  },

  // Take a new scene; what is hidden or selected stays so where it is still there.
  take(scene) {
    const finding = this.finding === null ? null : this.scene.findings[this.finding];
    this.scene = scene;
    const names = new Set(scene.boards.map(b => b.name));
    this.hidden = new Set([...this.hidden].filter(name => names.has(name)));
    const s = this.selected;
    if (s && !(s.board ? names.has(s.board) : this.bore(s.bore))) this.selected = null;
    this.finding = this.again(finding);
    this.apart = Math.min(this.apart, scene.apart.steps.length);
    this.points = [];
    this.change("scene", "hidden", "selected", "finding", "apart", "points");
  },
};

// How far every board has moved and every screw has backed out, at State.apart.
const Apart = (() => {
  // Boards that still hold together move as one, by the mean of their moves.
  function together(scene, closed) {
    const leader = new Map(scene.boards.map(b => [b.name, b.name]));
    const find = name => {
      while (leader.get(name) !== name) name = leader.get(name);
      return name;
    };
    for (const joint of scene.joints) {
      if (closed.has(joint.name)) leader.set(find(joint.first), find(joint.second));
    }
    const sums = new Map();
    for (const board of scene.boards) {
      const sum = sums.get(find(board.name)) || [0, 0, 0, 0];
      scene.apart.moves[board.name].forEach((v, i) => { sum[i] += v; });
      sum[3] += 1;
      sums.set(find(board.name), sum);
    }
    return new Map(scene.boards.map(b => {
      const [x, y, z, n] = sums.get(find(b.name));
      return [b.name, [x / n, y / n, z / n]];
    }));
  }

  function closedAt(scene, opened) {
    const steps = scene.apart.steps.slice(0, scene.apart.steps.length - opened);
    return new Set(steps.flatMap(step => step.joints));
  }

  // Screws come out in the first half of a step, boards part in the second.
  function at(scene, opened) {
    const whole = Math.floor(opened), rest = opened - whole;
    const before = closedAt(scene, whole), after = closedAt(scene, Math.min(whole + 1, scene.apart.steps.length));
    const from = together(scene, before), to = together(scene, after);
    const part = Math.max(0, 2 * rest - 1), turn = Math.min(1, 2 * rest);
    const boards = new Map(scene.boards.map(({ name }) => {
      const a = from.get(name), b = to.get(name);
      return [name, a.map((v, i) => v + part * (b[i] - v))];
    }));
    const screws = new Map(scene.bores.map(bore => {
      const out = bore.out - bore.shoulder + bore.screw.length;
      const share = !before.has(bore.joint) ? 1 : after.has(bore.joint) ? 0 : turn;
      return [bore.name, share * out];
    }));
    return { boards, screws };
  }

  return { at };
})();
