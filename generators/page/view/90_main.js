// Lists first, so that they stand even where nothing can be drawn; then the drawing.
const Page = (() => {
  const data = JSON.parse(document.getElementById("scene").textContent);

  function refresh(what) {
    Lists.refresh(what);
    Tools.refresh(what);
    if (!View.ready()) return;
    if (what.has("scene")) Model.build(State.scene);
    if (what.has("apart")) Model.place();
    if (what.has("hidden") || what.has("apart") || what.has("scene") || what.has("saw")) Saw.update();
    if (what.has("saw at")) Saw.slide();
    Model.dress();
    Marks.update();
    View.ask();
  }

  function take(scene) {
    Model.addShapes(scene.shapes || {});
    State.take(scene);
  }

  function start() {
    State.onChange(refresh);
    Tools.start();
    try {
      View.start(document.getElementById("canvas"));
    } catch (error) {
      document.getElementById("flat").hidden = false;
      document.getElementById("bench").hidden = true;
      document.getElementById("canvas").hidden = true;
    }
    take(data);
    if (View.ready()) {
      View.world.add(Saw.group, Marks.group);
      View.after.push(Marks.write);
      View.stand("corner");
      const schemes = window.matchMedia("(prefers-color-scheme: dark)");
      schemes.addEventListener("change", () => State.change("scheme"));
    }
    // On paper nothing can be unfolded.
    window.addEventListener("beforeprint", () => document.querySelectorAll("details").forEach(d => { d.open = true; }));
    if (document.documentElement.dataset.live === "yes") Live.start();
  }

  // The state of the scene as plain data, for tests and for the curious.
  window.slantboreProbe = () => ({
    drawn: View.ready(), name: State.scene.name,
    boards: State.scene.boards.map(b => b.name), stood: [...Model.boards.keys()], shapes: new Set(State.scene.boards.map(b => b.shape)).size,
    visible: [...Model.boards.values()].filter(b => b.group.visible).map(b => b.board.name),
    screws: Model.screws.size, screwsShown: [...Model.screws.values()].filter(s => s.mesh.visible).length,
    selected: State.selected, finding: State.finding, through: State.through, seen: State.seen,
    opacity: [...Model.boards.values()].map(b => b.materials[0].opacity),
    colours: Object.fromEntries([...Model.boards].map(([name, b]) => [name, b.materials.map(m => m.color.getHexString())])),
    camera: { turn: View.eye.turn, tilt: View.eye.tilt, far: View.eye.far, target: View.eye.target.toArray(), flying: View.flying(), standing: View.standing() },
    marks: Marks.count(), labels: Marks.texts(), apart: State.apart,
    places: Object.fromEntries([...Model.boards].map(([name, b]) => [name, [12, 13, 14].map(i => b.group.matrix.elements[i])])),
    screwPlaces: Object.fromEntries([...Model.screws].map(([name, s]) => [name, [12, 13, 14].map(i => s.mesh.matrix.elements[i])])),
    saw: { on: State.saw.on, way: State.saw.way, planes: Model.cuts.length, sawn: Saw.group.children.length, area: Saw.area() },
    ruling: State.ruling, points: State.points.map(p => p.point.toArray()), measured: State.points.length === 2 ? Tools.measured() : null,
    live: document.documentElement.dataset.live === "yes" ? Live.probe() : null,
  });
  window.slantbore = { format: Lengths.format, project: (board, p) => View.project(Model.placed(board, p)) };

  return { start, take };
})();
Page.start();
