"""Each cure that is printed, pasted as it stands: its findings are gone, and nothing is new."""

from __future__ import annotations

from itertools import islice

import pytest

from slantbore.models.advice.budget import Budget
from slantbore.models.advice.causes import Cause
from tests.cures import Failing, failing, judged, pasted, told, wrong
from tests.models.test_advice import BASE, frame
from tests.neighbours import RECIPES

SHIPPED = {path.stem: path.read_text(encoding="utf-8") for path in RECIPES}


def with_tools(text: str, tools: str) -> str:
    bare = "\n".join(line for line in text.splitlines() if not line.startswith("tools:"))
    return bare.replace("\nbuild:", f"\ntools: {{{tools}}}\n\nbuild:", 1) + "\n"


MIRROR = """\
name: mirror
units: inch
stock:
  rails: {wood: red-oak, thickness: 3/4}
build:
  - design: mitred-frame
    name: mirror
    stock: rails
    rail_width: 1-1/2
    sight: 16 x 24
    pockets: 2
    rebate: {width: 3/8, depth: 3/8, clearance: 1/16}
"""
RUNNER = "    changes: {left runner to front apron: {screw: 2}}\n"
NAMED = {
    "screws too long for every joint": BASE % "every joint: {screw: 2}",
    "two pockets of a mirror": MIRROR,
    "two pockets of a mirror, little room": frame("36", "pockets: 2"),
    "pilots in hard maple": SHIPPED["sink-base"],
    "an edged shelf that is thin": SHIPPED["book-shelf"].replace(
        "faced-plywood-3-4", "plywood-1-2"
    ),
    "a short bit": with_tools(SHIPPED["sink-base"], "bit_length: 2-1/2"),
    "a runner with long screws": SHIPPED["entry-table"].rstrip() + "\n" + RUNNER,
    "a stretcher bored near the end": BASE % "front stretcher to left side pocket 1: {position: 0}",
    "a tall table": SHIPPED["entry-table"].replace("height: 32", "height: 46"),
}


def causes_of(text: str, tries: int = 200) -> tuple[Failing, list[Cause]]:
    one = judged(text)
    assert one is not None and one.grave, "this recipe was meant to have a fault"
    return one, [cause for cause in told(one, Budget(tries)) if cause.severity != "notes"]


def hold(text: str) -> list[Cause]:
    """Every cause has a cure that does what it says."""
    one, found = causes_of(text)
    for cause in found:
        assert cause.paste, cause.findings[0].message
        assert wrong(one, cause) == "", cause.cure
    return found


@pytest.mark.parametrize("text", NAMED.values(), ids=NAMED)
def test_what_is_printed_can_be_pasted(text: str) -> None:
    hold(text)


def test_one_wrong_word_for_every_joint_is_one_cause() -> None:
    one, [cause] = causes_of(NAMED["screws too long for every joint"])
    assert len(one.grave) == len(cause.findings) == 20
    [patch] = cause.paste
    assert patch.lines == ('    changes: {every joint: {screw: 1-1/4"}}',)
    assert patch.says == "in place of line 11, write" and cause.place == "the piece base"


def test_one_fault_of_the_bit_has_one_bit_in_its_section() -> None:
    found = hold(NAMED["a short bit"])
    bits = [c for c in found if any(f.rule == "out-of-reach" for f in c.findings)]
    [cause] = bits
    assert cause.place == "tools" and {f.rule for f in cause.findings} >= {"out-of-reach"}
    assert [line for patch in cause.paste for line in patch.lines][0].startswith("tools: {bit")


def test_splitting_is_cured_in_one_go() -> None:
    """All cures of a recipe pasted, the first round leaves nothing that fails or warns."""
    text = NAMED["pilots in hard maple"]
    _, found = causes_of(text)
    assert {f.rule for cause in found for f in cause.findings} == {"splitting"}
    patches = {patch: None for cause in found for patch in cause.paste}
    after = judged(pasted(text, [*patches]))
    assert after is not None and after.grave == ()


def test_a_pocket_without_a_place_is_told_with_what_it_lacks_and_no_other_number() -> None:
    one = judged(frame("38.1", "swing: 0"))
    assert one is not None
    for finding in (f for f in one.findings if f.rule == "no-window"):
        assert "too little wood (" in finding.message
        assert finding.measured is None and finding.needed is None


@pytest.mark.parametrize("seed", range(2))
def test_recipes_gone_wrong_are_cured_as_printed(seed: int) -> None:
    """A few of those that `bench_cures` tries by the hundred."""
    for one in islice(failing(seed + 100), 2):
        for cause in told(one, Budget(25)):
            if cause.paste:
                assert wrong(one, cause) == "", (cause.cure, one.text)
