// The piece as objects of the 3D library: one geometry per distinct board, one object per board.
const Model = (() => {
  const GLASS = 0.16, TINTED = 0.6;
  const SEEN = ["exposed", "semi-exposed", "concealed"];
  const geometries = new Map();   // shape key -> {faces, edges, ends, groups, grouped}
  const screwShapes = new Map();
  const root = new THREE.Group();
  const boards = new Map();       // name -> {group, mesh, lines, materials, board}
  const screws = new Map();       // bore name -> {mesh, bore}
  const cuts = [];                // the one clipping plane, or nothing

  function unpack(text, Kind) {
    const bytes = atob(text), array = new Uint8Array(bytes.length);
    for (let i = 0; i < bytes.length; i++) array[i] = bytes.charCodeAt(i);
    return new Kind(array.buffer);
  }

  // Wood is shaded by where a point lies in its board; `woodOn` is 0 where faces have plain colours.
  function wood(material, grain) {
    material.userData.grain = grain;
    material.onBeforeCompile = shader => {
      Object.assign(shader.uniforms, material.userData.grain);
      shader.vertexShader = shader.vertexShader
        .replace("#include <common>", "#include <common>\nvarying vec3 vWood, vFace;")
        .replace("#include <begin_vertex>", "#include <begin_vertex>\nvWood = position; vFace = normal;");
      shader.fragmentShader = shader.fragmentShader
        .replace("#include <common>", "#include <common>\nvarying vec3 vWood, vFace; uniform vec3 woodSeed; uniform float woodKind, woodOn;" + WOOD)
        .replace("#include <map_fragment>", "diffuseColor.rgb *= mix(1.0, woodShade(vWood, vFace, woodSeed, woodKind), woodOn);");
    };
    return material;
  }

  // Edges lie a pixel nearer than they are, so that their own faces never cut them up and what lies
  // behind a board stays hidden; the further back, the fainter.
  const depth = { pull: { value: 0 }, near: { value: 0 }, far: { value: 1 }, fade: { value: 0.3 } };
  function edgeInk() {
    const material = new THREE.LineBasicMaterial({ clippingPlanes: cuts, transparent: true, depthWrite: false });
    material.onBeforeCompile = shader => {
      Object.assign(shader.uniforms, depth);
      shader.vertexShader = shader.vertexShader
        .replace("#include <common>", "#include <common>\nvarying float vDeep; uniform float pull;")
        .replace("#include <project_vertex>", "#include <project_vertex>\nvDeep = -mvPosition.z; mvPosition.z += pull; gl_Position = projectionMatrix * mvPosition;");
      shader.fragmentShader = shader.fragmentShader
        .replace("#include <common>", "#include <common>\nvarying float vDeep; uniform float near, far, fade;")
        .replace("#include <color_fragment>", "#include <color_fragment>\ndiffuseColor.a *= mix(1.0, fade, smoothstep(near, far, vDeep));");
    };
    return material;
  }

  function addShapes(shapes, sides) {
    for (const [key, shape] of Object.entries(shapes)) {
      if (geometries.has(key)) continue;
      const Rows = shape.wide ? Uint32Array : Uint16Array;
      const points = unpack(shape.points, Float32Array), triangles = unpack(shape.triangles, Rows);
      const faces = new THREE.BufferGeometry();
      faces.setAttribute("position", new THREE.BufferAttribute(points, 3));
      faces.setIndex(new THREE.BufferAttribute(triangles, 1));
      faces.computeVertexNormals();
      const edges = new THREE.BufferGeometry(), ends = unpack(shape.edges, Rows);
      edges.setAttribute("position", faces.attributes.position);
      edges.setIndex(new THREE.BufferAttribute(ends, 1));
      geometries.set(key, { faces, edges, ends, groups: shape.groups, grouped: new Map() });
    }
  }

  // Which of a board's faces are seen how is the board's own affair; alike boards may differ in it.
  function grouped(shape, board) {
    const how = new Map(board.faces.map(face => [face.side, SEEN.indexOf(face.seen)]));
    const pattern = shape.groups.map(([, , side]) => (how.has(side) ? how.get(side) : 3)).join("");
    if (shape.grouped.has(pattern)) return shape.grouped.get(pattern);
    const faces = new THREE.BufferGeometry();
    for (const name of ["position", "normal"]) faces.setAttribute(name, shape.faces.attributes[name]);
    faces.setIndex(shape.faces.index);
    shape.groups.forEach(([first, count], i) => faces.addGroup(3 * first, 3 * count, Number(pattern[i])));
    shape.grouped.set(pattern, faces);
    return faces;
  }

  function pose(board) {
    const x = new THREE.Vector3(...board.pose.x), y = new THREE.Vector3(...board.pose.y);
    const z = new THREE.Vector3().crossVectors(x, y);
    return new THREE.Matrix4().makeBasis(x, y, z).setPosition(...board.pose.origin);
  }

  function standBoard(board, old) {
    const shape = geometries.get(board.shape);
    if (!shape) return;
    const grain = old ? old.materials[0].userData.grain : { woodSeed: { value: null }, woodKind: { value: 0 }, woodOn: { value: 1 } };
    grain.woodSeed.value = new THREE.Vector3(...board.grain.seed);
    grain.woodKind.value = board.grain.kind;
    const materials = old ? old.materials : [0, 1, 2, 3].map(() => wood(new THREE.MeshLambertMaterial({ clippingPlanes: cuts }), grain));
    const ink = old ? old.lines.material : edgeInk();
    const mesh = new THREE.Mesh(grouped(shape, board), materials);
    const lines = new THREE.LineSegments(shape.edges, ink);
    const group = new THREE.Group();
    group.add(mesh, lines);
    group.matrixAutoUpdate = false;
    mesh.userData.board = board.name;
    root.add(group);
    boards.set(board.name, { group, mesh, lines, materials, board, shape });
  }

  // Head, shank and a plain point; the axis is the geometry's y, the seat its origin.
  function screwShape(s) {
    const key = [s.length, s.radius, s.headRadius, s.headHeight].join(" ");
    if (!screwShapes.has(key)) {
      const point = Math.min(3 * s.radius, s.length / 3);
      const outline = [[0, -s.length], [s.radius, point - s.length], [s.radius, 0], [s.headRadius, 0],
        [s.headRadius, 0.6 * s.headHeight], [0.8 * s.headRadius, s.headHeight], [0, s.headHeight]];
      // Every corner twice, so that the turned faces keep their edges.
      const doubled = outline.flatMap((p, i) => (i ? [outline[i - 1], p] : []));
      screwShapes.set(key, new THREE.LatheGeometry(doubled.map(p => new THREE.Vector2(...p)), 20));
    }
    return screwShapes.get(key);
  }

  function standScrew(bore, old) {
    const metal = old ? old.mesh.material : new THREE.MeshPhongMaterial({ shininess: 60 });
    const mesh = new THREE.Mesh(screwShape(bore.screw), metal);
    mesh.matrixAutoUpdate = false;
    mesh.userData.bore = bore.name;
    root.add(mesh);
    screws.set(bore.name, { mesh, bore });
  }

  // Stand the whole scene up anew; geometries of shapes that stay are kept, and so are materials of
  // boards and screws that stay: with the last of its materials a shader goes, and compiling is slow.
  function build(scene) {
    const before = { boards: new Map(boards), screws: new Map(screws) };
    root.clear();
    boards.clear();
    screws.clear();
    scene.boards.forEach(board => standBoard(board, before.boards.get(board.name)));
    scene.bores.forEach(bore => standScrew(bore, before.screws.get(bore.name)));
    for (const [name, { lines, materials }] of before.boards) {
      if (!boards.has(name)) [lines.material, ...materials].forEach(m => m.dispose());
    }
    for (const [name, { mesh }] of before.screws) if (!screws.has(name)) mesh.material.dispose();
    const used = new Set(scene.boards.map(b => b.shape));
    for (const [key, shape] of geometries) {
      if (used.has(key)) continue;
      [shape.edges, ...shape.grouped.values()].forEach(geometry => geometry.dispose());
      geometries.delete(key);
    }
    place();
    dress();
  }

  function place() {
    const moved = Apart.at(State.scene, State.apart);
    for (const { group, board } of boards.values()) {
      const [x, y, z] = moved.boards.get(board.name);
      group.matrix.copy(pose(board)).premultiply(new THREE.Matrix4().makeTranslation(x, y, z));
      group.matrixWorldNeedsUpdate = true;
    }
    root.updateMatrixWorld(true);
    for (const { mesh, bore } of screws.values()) {
      const own = boards.get(bore.board);
      if (!own) continue;
      const back = new THREE.Vector3(...bore.back);
      const seat = new THREE.Vector3(...bore.exit).addScaledVector(back, bore.shoulder + moved.screws.get(bore.name));
      const turn = new THREE.Quaternion().setFromUnitVectors(new THREE.Vector3(0, 1, 0), back);
      mesh.matrix.compose(seat, turn, new THREE.Vector3(1, 1, 1)).premultiply(own.group.matrix);
    }
    root.updateMatrixWorld(true);
  }

  function ink(name) { return getComputedStyle(document.documentElement).getPropertyValue(name).trim(); }

  function dress() {
    const seen = SEEN.concat("bored").map(name => new THREE.Color(ink("--" + name)));
    const chosen = State.selectedBoard(), chalk = new THREE.Color(ink("--chalk")), soft = new THREE.Color(ink("--soft"));
    for (const { materials, lines, board, group } of boards.values()) {
      group.visible = State.visible(board.name);
      const wood = new THREE.Color(...board.colour);
      const picked = board.name === chosen;
      materials.forEach((m, i) => {
        const bored = i === 3;
        m.emissive.copy(picked && !bored ? chalk : new THREE.Color(0)).multiplyScalar(picked ? 0.22 : 0);
        const glass = State.through;
        m.color.copy(State.seen ? seen[i] : bored ? wood.clone().multiplyScalar(glass ? 0.45 : 0.62) : wood);
        // A new program is only looked for where one is needed: that is slow without a graphics card.
        m.needsUpdate = m.transparent !== glass;
        m.transparent = glass;
        m.opacity = !glass ? 1 : bored ? TINTED : picked ? 1.8 * GLASS : GLASS;
        // Both halves of a bore's wall, tinted, so that it shows from either side with its screw.
        m.side = glass && bored ? THREE.DoubleSide : THREE.FrontSide;
        m.depthWrite = !glass;
      });
      materials[0].userData.grain.woodOn.value = State.seen || State.through ? 0 : 1;
      lines.material.color.copy(picked ? chalk : State.through ? soft : wood.clone().multiplyScalar(0.36));
      lines.material.opacity = picked ? 0.95 : State.through ? 0.55 : 0.8;
    }
    for (const { mesh, bore } of screws.values()) {
      const picked = State.selected && State.selected.bore === bore.name;
      mesh.material.color.set(picked ? ink("--chalk") : "#9aa3a8");
      mesh.material.specular.set("#555b60");
      mesh.visible = (State.visible(bore.board) || State.visible(bore.mate)) && !sawnOff(mesh, bore);
    }
  }

  // A screw is shown whole or not at all, as on drawings.
  function sawnOff(mesh, bore) {
    if (!cuts.length) return false;
    const middle = new THREE.Vector3(0, -bore.screw.length / 2, 0).applyMatrix4(mesh.matrix);
    return cuts[0].distanceToPoint(middle) < -bore.screw.radius;
  }

  // The box of what is visible (or of the boards named), where it stands now.
  function box(names) {
    const found = new THREE.Box3();
    for (const [name, { group, shape }] of boards) {
      if (names ? !names.includes(name) : !group.visible) continue;
      if (!shape.faces.boundingBox) shape.faces.computeBoundingBox();
      found.union(shape.faces.boundingBox.clone().applyMatrix4(group.matrix));
    }
    return found.isEmpty() ? new THREE.Box3(new THREE.Vector3(-1, -1, -1), new THREE.Vector3(1, 1, 1)) : found;
  }

  // A point of a board's frame where it stands now.
  function placed(name, p) {
    const found = boards.get(name);
    const point = new THREE.Vector3(...p);
    return found ? point.applyMatrix4(found.group.matrix) : point;
  }
  function turned(name, v) {
    const found = boards.get(name);
    const direction = new THREE.Vector3(...v);
    return found ? direction.transformDirection(found.group.matrix) : direction;
  }

  return { root, boards, screws, cuts, depth, edgeInk, addShapes, build, place, dress, box, placed, turned, ink,
    has: key => geometries.has(key) };
})();
