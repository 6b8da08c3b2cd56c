"""The usual cautions, in the words that every paper and page has for them."""

from __future__ import annotations

CAUTIONS = (
    "Wear eye protection, and mind your ears and lungs. The manuals of drill, saw and router "
    "come first.",
    "Clamp the board, the guide and the joint. Keep hands out of the line of drill and screw: a "
    "tip that comes out goes on into a finger.",
    "Drill and mitre short and narrow pieces before they are cut off, or hold them in a jig, never "
    "by hand.",
    "Try the drill's setting and one joint on an offcut of the same stock.",
    "Fasten tall or narrow furniture, and any with drawers, to the wall so that it cannot tip.",
    "Where people sit, stand, sleep or climb on it, or overhead, ask someone licensed for it: "
    "local codes and their judgement come before anything printed here.",
)
"""Common practice, no source."""
