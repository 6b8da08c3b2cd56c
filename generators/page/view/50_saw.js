// One cut through the piece: the plane, the half taken away, and the sawn faces with their hatching.
const Saw = (() => {
  const group = new THREE.Group();
  // A plane through corners of the mesh has no clear inside; this much aside it has.
  const ASIDE = 0.00137;
  let hatch = null, area = 0;

  // Every way to cut: along the piece, along the selected board, down the middle of its pockets.
  function ways() {
    const found = [["project 0", "whole piece, from the left"], ["project 1", "whole piece, from the front"], ["project 2", "whole piece, from below"]];
    const name = State.selectedBoard();
    if (name) {
      const faces = State.board(name).faces;
      ["left end", "front edge", "bottom face"].forEach((side, axis) => {
        const face = faces.find(f => f.side === side);
        found.push([`board ${axis} ${name}`, `${name}, from its ${face ? face.name : side}`]);
      });
      for (const bore of State.scene.bores) {
        if (bore.board === name || bore.mate === name) found.push([`bore 0 ${bore.name}`, `down the middle of ${bore.name}`]);
      }
    }
    return found;
  }

  // The direction of a way and the range that its slider covers, in mm along that direction.
  function way() {
    const [, kind, axis, name] = /^(\w+) (\d) ?([^]*)$/.exec(State.saw.way);
    const normal = new THREE.Vector3().setComponent(Number(axis), 1);
    const box = Model.box();
    let middle = null;
    if (kind === "board" && Model.boards.has(name)) {
      normal.copy(Model.turned(name, normal.toArray()));
      const start = Model.placed(name, [0, 0, 0]).dot(normal);
      return { normal, low: start, high: start + State.board(name).sizes[axis] };
    }
    if (kind === "bore" && State.bore(name)) {
      const bore = State.bore(name), back = Model.turned(bore.board, bore.back);
      normal.crossVectors(back, Model.turned(bore.board, bore.pocketNormal)).normalize();
      middle = Model.placed(bore.board, bore.exit).dot(normal);
    }
    let low = Infinity, high = -Infinity;
    for (let i = 0; i < 8; i++) {
      const p = new THREE.Vector3(i & 1 ? box.max.x : box.min.x, i & 2 ? box.max.y : box.min.y, i & 4 ? box.max.z : box.min.z);
      low = Math.min(low, p.dot(normal));
      high = Math.max(high, p.dot(normal));
    }
    if (middle !== null) { low = middle - 12; high = middle + 12; }
    return { normal, low, high };
  }

  function update() {
    group.clear();
    area = 0;
    Model.cuts.length = 0;
    if (!State.saw.on) return;
    const { normal, low, high } = way();
    const at = low + (high - low) * State.saw.at + ASIDE;
    // The half that stays is the one farther from the eye.
    const keep = normal.clone().multiplyScalar(normal.dot(View.axes().out) > 0 !== State.saw.flip ? -1 : 1);
    const plane = new THREE.Plane(keep, -at * keep.dot(normal));
    State.saw.keep = keep.toArray();
    Model.cuts.push(plane);
    cap(plane);
  }

  // Move the plane, and do not turn the half over while it moves.
  function slide() {
    const plane = Model.cuts[0];
    if (!plane) return update();
    group.clear();
    area = 0;
    const { normal, low, high } = way();
    const at = low + (high - low) * State.saw.at + ASIDE;
    plane.constant = -at * plane.normal.dot(normal);
    cap(plane);
  }

  function cap(plane) {
    for (const { group: stand, board, shape } of Model.boards.values()) {
      if (!stand.visible) continue;
      const local = plane.clone().applyMatrix4(stand.matrix.clone().invert());
      const ends = crossings(shape, local);
      if (!ends.length) continue;
      const u = new THREE.Vector3(), v = new THREE.Vector3();
      u.crossVectors(local.normal, Math.abs(local.normal.x) < 0.7 ? new THREE.Vector3(1, 0, 0) : new THREE.Vector3(0, 1, 0)).normalize();
      v.crossVectors(local.normal, u);
      group.add(outline(ends, board, stand.matrix));
      const face = filled(loops(ends), u, v);
      if (face) group.add(sawn(face, board, stand.matrix));
    }
  }

  // Where the plane crosses the triangles: pairs of points, the plane's own frame of the board.
  function crossings(shape, plane) {
    const p = shape.faces.attributes.position.array, index = shape.faces.index.array, ends = [];
    const n = plane.normal, c = plane.constant;
    const height = i => n.x * p[3 * i] + n.y * p[3 * i + 1] + n.z * p[3 * i + 2] + c;
    for (let i = 0; i < index.length; i += 3) {
      const on = [];
      for (let k = 0; k < 3; k++) {
        let a = index[i + k], b = index[i + (k + 1) % 3];
        let ha = height(a), hb = height(b);
        if (ha > 0 === hb > 0) continue;
        // The same edge gives the same point from both of its triangles.
        if (ha > hb) { [a, b] = [b, a]; [ha, hb] = [hb, ha]; }
        const t = ha / (ha - hb);
        on.push(new THREE.Vector3(p[3 * a] + t * (p[3 * b] - p[3 * a]), p[3 * a + 1] + t * (p[3 * b + 1] - p[3 * a + 1]),
          p[3 * a + 2] + t * (p[3 * b + 2] - p[3 * a + 2])));
      }
      if (on.length === 2) ends.push(on);
    }
    return ends;
  }

  // Pairs chained to closed rings.
  function loops(ends) {
    const key = p => `${Math.round(p.x * 500)},${Math.round(p.y * 500)},${Math.round(p.z * 500)}`;
    const at = new Map();
    ends.forEach((pair, i) => pair.forEach(p => {
      if (!at.has(key(p))) at.set(key(p), []);
      at.get(key(p)).push(i);
    }));
    const used = new Set(), rings = [];
    ends.forEach((pair, i) => {
      if (used.has(i)) return;
      const ring = [pair[0]];
      let here = pair[1], current = i;
      used.add(i);
      while (key(here) !== key(ring[0])) {
        ring.push(here);
        const next = at.get(key(here)).find(j => !used.has(j) && j !== current);
        if (next === undefined) return;
        used.add(next);
        current = next;
        here = key(ends[next][0]) === key(here) ? ends[next][1] : ends[next][0];
      }
      if (ring.length > 2) rings.push(ring);
    });
    return rings;
  }

  function filled(rings, u, v) {
    const flat = rings.map(ring => ring.map(p => new THREE.Vector2(p.dot(u), p.dot(v))));
    const size = flat.map(ring => Math.abs(THREE.ShapeUtils.area(ring)));
    const within = (p, ring) => ring.reduce((inside, a, i) => {
      const b = ring[(i + ring.length - 1) % ring.length];
      return a.y > p.y !== b.y > p.y && p.x < ((b.x - a.x) * (p.y - a.y)) / (b.y - a.y) + a.x ? !inside : inside;
    }, false);
    const depth = flat.map((ring, i) => flat.filter((other, j) => j !== i && size[j] > size[i] && within(ring[0], other)).length);
    const points = [], places = [], corners = [];
    flat.forEach((outer, i) => {
      if (depth[i] % 2) return;
      const holes = flat.map((_, j) => j).filter(j => depth[j] === depth[i] + 1 && within(flat[j][0], outer));
      const rim = THREE.ShapeUtils.isClockWise(outer) ? [outer.slice().reverse(), rings[i].slice().reverse()] : [outer, rings[i]];
      const inner = holes.map(j => (THREE.ShapeUtils.isClockWise(flat[j]) ? [flat[j], rings[j]] : [flat[j].slice().reverse(), rings[j].slice().reverse()]));
      const base = points.length / 3;
      for (const p of [rim, ...inner].flatMap(r => r[1])) points.push(p.x, p.y, p.z);
      for (const p of [rim, ...inner].flatMap(r => r[0])) places.push(p.x / 9, p.y / 9);
      for (const t of THREE.ShapeUtils.triangulateShape(rim[0], inner.map(r => r[0]))) corners.push(...t.map(k => k + base));
      area += size[i] - holes.reduce((sum, j) => sum + size[j], 0);
    });
    if (!corners.length) return null;
    const face = new THREE.BufferGeometry();
    face.setAttribute("position", new THREE.Float32BufferAttribute(points, 3));
    face.setAttribute("uv", new THREE.Float32BufferAttribute(places, 2));
    face.setIndex(corners);
    return face;
  }

  function hatching() {
    if (hatch) return hatch;
    const sheet = document.createElement("canvas");
    sheet.width = sheet.height = 64;
    const pen = sheet.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, 64, 64);
    pen.strokeStyle = "#8a6a4a";
    pen.lineWidth = 3;
    for (const x of [-64, -32, 0, 32, 64]) {
      pen.beginPath(); pen.moveTo(x, 64); pen.lineTo(x + 64, 0); pen.stroke();
    }
    hatch = new THREE.CanvasTexture(sheet);
    hatch.wrapS = hatch.wrapT = THREE.RepeatWrapping;
    hatch.anisotropy = 4;
    return hatch;
  }

  function sawn(face, board, matrix) {
    const colour = new THREE.Color(...board.colour).lerp(new THREE.Color(0xffffff), 0.45);
    return stood(new THREE.Mesh(face, new THREE.MeshBasicMaterial({ color: colour, map: hatching(), side: THREE.DoubleSide })), matrix);
  }
  function outline(ends, board, matrix) {
    const lines = new THREE.BufferGeometry().setFromPoints(ends.flat()), ink = Model.edgeInk();
    ink.clippingPlanes = null;
    ink.color.setRGB(...board.colour).multiplyScalar(0.36);
    return stood(new THREE.LineSegments(lines, ink), matrix);
  }
  function stood(thing, matrix) {
    thing.matrixAutoUpdate = false;
    thing.matrix.copy(matrix);
    return thing;
  }

  return { group, update, slide, ways, way, area: () => area };
})();
