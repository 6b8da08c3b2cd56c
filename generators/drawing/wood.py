"""How wood looks, for the page and for pictures: one piece of shading language that both take in.

Grain is solid: rings about a pith beside the board, drawn out along it, so that a face shows long
lines and an end the rings that they come from. Sheets have plies at their edges. By eye, no source.
"""

from __future__ import annotations

import zlib

from ...models.piece.board import Board

PLAIN, SOLID, PLIES = 0.0, 1.0, 2.0
_PLAIN = ("mdf", "particle", "hardboard")

# GLSL, the same in WebGL 2 and in OpenGL 3.2. Of a point of the board (mm, x along the grain) and
# the face's normal there: what its colour is multiplied by. What is finer than a pixel fades.
SHADING = """
float woodSpot(vec3 p) { return fract(sin(dot(p, vec3(41.3, 289.1, 113.7))) * 9341.57); }
float woodCloud(vec3 p) {
  vec3 i = floor(p), f = p - i;
  f = f * f * (3.0 - 2.0 * f);
  vec2 o = vec2(0.0, 1.0);
  vec4 low = vec4(woodSpot(i), woodSpot(i + o.yxx), woodSpot(i + o.xyx), woodSpot(i + o.yyx));
  i.z += 1.0;
  vec4 high = vec4(woodSpot(i), woodSpot(i + o.yxx), woodSpot(i + o.xyx), woodSpot(i + o.yyx));
  vec4 at = mix(low, high, f.z);
  vec2 row = mix(at.xz, at.yw, f.x);
  return mix(row.x, row.y, f.y);
}
float woodShade(vec3 p, vec3 normal, vec3 seed, float kind) {
  if (kind < 0.5) return 1.0;
  float plies = kind > 1.5 ? 1.0 - smoothstep(0.3, 0.7, abs(normal.z)) : 0.0;
  vec3 q = p + 500.0 * seed;
  vec2 pith = vec2(140.0 * seed.x - 20.0, -25.0 - 45.0 * seed.y);
  pith += p.x * vec2(0.05 * seed.z - 0.025, 0.03 * seed.x - 0.015);
  float wander = woodCloud(q * vec3(0.006, 0.03, 0.03));
  wander += 0.4 * woodCloud(q * vec3(0.02, 0.09, 0.09));
  float ring = length(p.yz - pith) / 5.5 + 1.6 * wander;
  float clear = 1.0 - smoothstep(0.25, 0.8, fwidth(ring));
  float late = fract(ring);
  late = smoothstep(0.35, 0.9, late) * (1.0 - smoothstep(0.92, 1.0, late));
  vec3 thread = q * vec3(0.035, 0.8, 0.8);
  float fine = 1.0 - smoothstep(0.4, 1.2, max(fwidth(thread.y), fwidth(thread.z)));
  float grain = 0.15 * clear * (late - 0.3) + 0.16 * fine * (woodCloud(thread) - 0.5)
    + 0.10 * (woodCloud(q * vec3(0.003, 0.012, 0.012)) - 0.5)
    + 0.10 * (woodCloud(q * vec3(0.003, 0.06, 0.06)) - 0.5);
  float ply = p.z / 2.8, sharp = 1.0 - smoothstep(0.4, 0.9, fwidth(ply));
  float layer = 0.22 * sharp * (smoothstep(0.45, 0.5, abs(fract(ply) - 0.5) * 2.0) - 0.5);
  return 1.0 - mix(grain, layer, plies);
}
"""


def grain(board: Board) -> float:
    """Which kind of grain a board shows: PLAIN, SOLID or PLIES."""
    if board.stock.kind != "sheet":
        return SOLID
    words = f"{board.stock.material} {board.stock.title} {board.stock.label}".lower()
    return PLAIN if any(word in words for word in _PLAIN) else PLIES


def seed(board: Board) -> tuple[float, float, float]:
    """Three numbers from 0 to 1 by which boards differ; the same for a board in every picture."""
    crc = zlib.crc32(board.name.encode())
    return tuple((crc >> shift & 1023) / 1023 for shift in (0, 10, 20))  # type: ignore[return-value]
