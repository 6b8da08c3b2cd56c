// Camera, drawing on demand, and the hand on the piece: turn, shift, nearer, farther, pick.
// The projection is parallel, as on drawings: uprights stay upright, alike lengths alike.
const View = (() => {
  const DEG = Math.PI / 180, SPREAD = Math.tan(12 * DEG);   // half the picture's height at distance 1
  // Where one stands, as degrees round the piece (0 is in front) and up; x runs to the right, y to
  // the back, z up.
  const STANDS = {
    corner: [32, 24], front: [0, 0], back: [180, 0], left: [-90, 0], right: [90, 0], top: [0, 90], underside: [0, -90],
  };
  const eye = { turn: 32, tilt: 24, far: 1000, target: new THREE.Vector3() };
  const camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 1, 10000);
  const world = new THREE.Scene();
  const lamp = new THREE.DirectionalLight(0xffffff, 0.5);
  const caster = new THREE.Raycaster();
  const after = [];
  let renderer = null, canvas = null, wanted = false, flight = null, standing = "corner";

  function start(element) {
    canvas = element;
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
    renderer.localClippingEnabled = true;
    // Asking whether each shader compiled waits for it, without a graphics card for a long time.
    renderer.debug.checkShaderErrors = false;
    renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    const sky = new THREE.HemisphereLight(0xffffff, 0xd2cabf, 0.74);
    sky.position.set(0, 0, 1);
    world.add(Model.root, sky, lamp, lamp.target);
    new ResizeObserver(ask).observe(canvas.parentElement);
    hands();
  }

  function axes() {
    const a = eye.turn * DEG, b = eye.tilt * DEG;
    const out = new THREE.Vector3(Math.sin(a) * Math.cos(b), -Math.cos(a) * Math.cos(b), Math.sin(b));
    const up = new THREE.Vector3(-Math.sin(a) * Math.sin(b), Math.cos(a) * Math.sin(b), Math.cos(b));
    return { out, up, right: new THREE.Vector3().crossVectors(up, out) };
  }

  function ask() {
    if (wanted || !renderer) return;
    wanted = true;
    requestAnimationFrame(() => { wanted = false; draw(); });
  }

  function draw() {
    const { clientWidth: w, clientHeight: h } = canvas;
    if (!w || !h) return;
    const size = renderer.getSize(new THREE.Vector2());
    if (size.x !== w || size.y !== h) renderer.setSize(w, h, false);
    const { out, up, right } = axes();
    const ball = Model.box().getBoundingSphere(new THREE.Sphere());
    // From outside of the piece, however near one looks.
    const middle = ball.center.clone().sub(eye.target).dot(out), away = middle + 2 * ball.radius;
    const tall = eye.far * SPREAD;
    Object.assign(camera, { left: (-tall * w) / h, right: (tall * w) / h, top: tall, bottom: -tall, near: 0.1 * ball.radius, far: 4 * ball.radius });
    camera.position.copy(eye.target).addScaledVector(out, away);
    camera.up.copy(up);
    camera.lookAt(eye.target);
    // Never as far as half the thickness of a thin panel.
    Object.assign(Model.depth.pull, { value: Math.min((3 * tall) / h, 1.5) });
    Object.assign(Model.depth.near, { value: ball.radius });
    Object.assign(Model.depth.far, { value: 3 * ball.radius });
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
    lamp.position.copy(eye.target).addScaledVector(out, 1000).addScaledVector(up, 600).addScaledVector(right, -500);
    lamp.target.position.copy(eye.target);
    lamp.target.updateMatrixWorld();
    renderer.setClearColor(new THREE.Color(Model.ink("--stage")), 1);
    renderer.render(world, camera);
    after.forEach(listener => listener());
  }

  // Where to stand so that a box fills the picture.
  function framing(box, turn, tilt) {
    const keep = { turn: eye.turn, tilt: eye.tilt };
    Object.assign(eye, { turn, tilt });
    const { up, right } = axes();
    Object.assign(eye, keep);
    const target = box.getCenter(new THREE.Vector3());
    const tall = SPREAD * 0.9, wide = tall * (canvas.clientWidth / Math.max(1, canvas.clientHeight));
    let far = 1;
    for (let i = 0; i < 8; i++) {
      const p = new THREE.Vector3(i & 1 ? box.max.x : box.min.x, i & 2 ? box.max.y : box.min.y, i & 4 ? box.max.z : box.min.z).sub(target);
      far = Math.max(far, Math.abs(p.dot(right)) / wide, Math.abs(p.dot(up)) / tall);
    }
    return { turn, tilt, far, target };
  }

  // Move there in a third of a second, or at once where motion is not wanted.
  function fly(goal) {
    const from = { ...eye, target: eye.target.clone() };
    // The short way round.
    const round = ((goal.turn - from.turn + 540) % 360 + 360) % 360 - 180;
    const still = !renderer || window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    const began = performance.now(), token = (flight = { turn: goal.turn, tilt: goal.tilt });
    const step = now => {
      if (flight !== token) return;
      const t = still ? 1 : Math.min(1, (now - began) / 330), s = t * t * (3 - 2 * t);
      eye.turn = from.turn + s * round;
      eye.tilt = from.tilt + s * (goal.tilt - from.tilt);
      eye.far = from.far * Math.pow(goal.far / from.far, s);
      eye.target.lerpVectors(from.target, goal.target, s);
      if (t < 1) requestAnimationFrame(step); else flight = null;
      if (renderer) draw();
    };
    if (still) step(began); else requestAnimationFrame(step);
  }

  function stand(name) {
    standing = name;
    fly(framing(Model.box(), ...STANDS[name]));
    State.change("view");
  }
  function fit() {
    const { turn, tilt } = flight || eye;
    fly(framing(Model.box(), turn, tilt));
  }

  // Look at a point from a direction, with `radius` mm around it in the picture.
  function lookAt(point, direction, radius) {
    const d = direction.clone().normalize();
    const tilt = Math.asin(Math.max(-1, Math.min(1, d.z))) / DEG;
    const turn = Math.atan2(d.x, -d.y) / DEG;
    const half = SPREAD * Math.min(1, canvas.clientWidth / Math.max(1, canvas.clientHeight));
    standing = "";
    fly({ turn, tilt, far: radius / half, target: point.clone() });
    State.change("view");
  }

  function freed() { flight = null; if (standing) { standing = ""; State.change("view"); } }
  function turnBy(x, y) {
    freed();
    eye.turn -= x;
    eye.tilt = Math.max(-90, Math.min(90, eye.tilt + y));
    ask();
  }
  function shiftBy(x, y) {
    flight = null;
    const { up, right } = axes(), scale = (2 * eye.far * SPREAD) / canvas.clientHeight;
    eye.target.addScaledVector(right, -x * scale).addScaledVector(up, y * scale);
    ask();
  }
  // Nearer or farther; what lies under (x, y) stays there.
  function nearer(factor, x, y) {
    flight = null;
    const far = Math.max(5, Math.min(2e5, eye.far * factor)), change = 1 - far / eye.far;
    if (x !== undefined) {
      const { up, right } = axes(), scale = (2 * eye.far * SPREAD) / canvas.clientHeight;
      eye.target.addScaledVector(right, (x - canvas.clientWidth / 2) * scale * change)
        .addScaledVector(up, -(y - canvas.clientHeight / 2) * scale * change);
    }
    eye.far = far;
    ask();
  }

  function hands() {
    const fingers = new Map();
    let moved = 0, spread = 0;
    const place = event => {
      const r = canvas.getBoundingClientRect();
      return { x: event.clientX - r.left, y: event.clientY - r.top };
    };
    const span = () => {
      const [a, b] = [...fingers.values()];
      return Math.hypot(a.x - b.x, a.y - b.y);
    };
    canvas.addEventListener("pointerdown", event => {
      canvas.setPointerCapture(event.pointerId);
      if (!fingers.size) moved = 0;
      fingers.set(event.pointerId, place(event));
      if (fingers.size === 2) spread = span();
    });
    canvas.addEventListener("pointermove", event => {
      const was = fingers.get(event.pointerId);
      if (!was) return;
      const now = place(event), dx = now.x - was.x, dy = now.y - was.y;
      fingers.set(event.pointerId, now);
      moved += Math.abs(dx) + Math.abs(dy);
      if (fingers.size === 2) {
        shiftBy(dx / 2, dy / 2);
        const wide = span(), [a, b] = [...fingers.values()];
        if (wide > 0 && spread > 0) nearer(spread / wide, (a.x + b.x) / 2, (a.y + b.y) / 2);
        spread = wide;
      } else if (fingers.size === 1 && moved > 3) {
        if (event.buttons & 6 || event.shiftKey) shiftBy(dx, dy); else turnBy(0.4 * dx, 0.4 * dy);
      }
    });
    const up = event => {
      const at = fingers.get(event.pointerId);
      fingers.delete(event.pointerId);
      if (at && event.type === "pointerup" && event.button === 0 && moved <= 3) Pick.at(at.x, at.y);
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("contextmenu", event => event.preventDefault());
    canvas.addEventListener("wheel", event => {
      event.preventDefault();
      const p = place(event), scale = event.deltaMode ? 18 : 1;
      nearer(Math.exp(Math.max(-0.5, Math.min(0.5, event.deltaY * scale * (event.ctrlKey ? 0.01 : 0.0016)))), p.x, p.y);
    }, { passive: false });
    canvas.addEventListener("keydown", event => {
      const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (steps && event.shiftKey) shiftBy(-24 * steps[0], -24 * steps[1]);
      else if (steps) turnBy(-8 * steps[0], -8 * steps[1]);
      else if (event.key === "+" || event.key === "=") nearer(0.85);
      else if (event.key === "-") nearer(1 / 0.85);
      else if (event.key === "Home") fit();
      else if (event.key === "Escape") Tools.letGo();
      else return;
      event.preventDefault();
    });
  }

  // What lies under a place of the picture, nearest first, nothing that was sawn away.
  function under(x, y) {
    const at = new THREE.Vector2((2 * x) / canvas.clientWidth - 1, 1 - (2 * y) / canvas.clientHeight);
    caster.setFromCamera(at, camera);
    const things = [];
    for (const { group, mesh } of Model.boards.values()) if (group.visible) things.push(mesh);
    for (const { mesh } of Model.screws.values()) if (mesh.visible) things.push(mesh);
    return caster.intersectObjects(things, false).filter(hit =>
      hit.object.userData.bore || Model.cuts.every(plane => plane.distanceToPoint(hit.point) > -1e-3));
  }

  // A point of the world as a place in the picture, and whether it lies in front of the camera.
  function project(point) {
    const p = point.clone().project(camera);
    return { x: ((p.x + 1) / 2) * canvas.clientWidth, y: ((1 - p.y) / 2) * canvas.clientHeight, ahead: p.z < 1 };
  }

  return { start, ask, draw, stand, fit, lookAt, under, project, world, eye, axes, after,
    ready: () => renderer !== null, standing: () => standing, flying: () => flight !== null,
    names: Object.keys(STANDS) };
})();
