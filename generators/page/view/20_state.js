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
    const { verdict, causes, findings, closing } = scene;
    this.scene = { ...this.scene, verdict, causes, findings, closing };
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

// How far every board has moved and every screw has backed out when `opened` steps are undone,
// counted from the last; between two whole numbers one step is on its way.
const Apart = (() => {
  function at(scene, opened) {
    const { steps, gap } = scene.apart, zero = [0, 0, 0];
    const boards = new Map(scene.boards.map(b => [b.name, zero]));
    const out = new Map();
    steps.forEach((step, i) => {
      const share = Math.max(0, Math.min(1, opened - (steps.length - 1 - i)));
      // Screws come out in the first half of a step, boards part in the second.
      const turned = Math.min(1, 2 * share), parted = Math.max(0, 2 * share - 1);
      step.joints.forEach(name => out.set(name, turned));
      // What is brought in keeps its distance from what it is joined to, wherever that has moved.
      const base = zero.map((_, k) => step.onto.reduce((sum, name) => sum + boards.get(name)[k] / step.onto.length, 0));
      for (const name of step.boards) {
        boards.set(name, boards.get(name).map((v, k) => v + base[k] - parted * gap * step.way[k]));
      }
    });
    const screws = new Map(scene.bores.map(bore =>
      [bore.name, (out.get(bore.joint) || 0) * bore.travel]));
    return { boards, screws };
  }

  return { at };
})();
