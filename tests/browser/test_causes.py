"""Findings on the page: one entry a cause, its pockets to look into, its cure to copy."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.page.assemble import built_scene
from slantbore.generators.page.page_file import page as page_text
from slantbore.generators.solids.solids import solidify
from slantbore.generators.telling.printed import CLOSED_FORM, Told
from slantbore.models.advice.causes import Cause
from slantbore.models.piece.lever import Change, Setting
from slantbore.models.piece.project import PocketId, Project
from slantbore.models.recipe.writing import Patch

from ..generators.preview_fixture import T, bore, project, thin_wall
from .conftest import OpenSheet, Sheet


def many_pockets() -> tuple[Project, Cause]:
    """Eight joints of two pockets each that all have one cause, and a cure for it."""
    plain = project()
    joints = tuple(
        replace(plain.joints[0], name=f"joint {n}", bores=tuple(
            replace(bore(), pocket=PocketId(f"joint {n}", m), exit=(0.0, 5.0 * n + m, T / 2))
            for m in (1, 2)))
        for n in range(1, 9)
    )  # fmt: skip
    change = Change((Setting(("tools", "screw"), "25", "use shorter screws"),))
    found = tuple(
        replace(thin_wall(2.0 + m / 10), joint=j.name, bore=b.name, rule=rule, changes=(change,))
        for rule in ("thin-wall", "tip-cover") for j in joints for m, b in enumerate(j.bores)
    )  # fmt: skip
    paste = (Patch(3, 3, ("tools:", "  screw: 25")), Patch(9, 9, ()))
    return replace(plain, joints=joints), Cause(found, cure=change, paste=paste, place="tools")


@pytest.fixture
def sheet(open_sheet: OpenSheet, tmp_path: Path) -> Sheet:
    """The page of one cause with sixteen pockets."""
    found, cause = many_pockets()
    path = tmp_path / "cause.html"
    whole = Told(found, cause.findings, [cause], CLOSED_FORM, "2 s", "The rest is left to build.")
    path.write_text(page_text(built_scene(whole, solidify(found))), encoding="utf-8")
    return open_sheet(path.as_uri())


def test_a_cause_is_one_entry_with_its_numbers_once(sheet: Sheet) -> None:
    entries = sheet.page.locator("#findings .finding")
    assert entries.count() == 1
    text = entries.inner_text()
    assert text.count("3/32") == 2  # each rule's worst alone
    assert text.count("(the worst of 16)") == 2 and text.count("joint 3, 2 pockets") == 1
    assert text.count("ure: use shorter screws") == 1 and "and 2 more" in text
    assert "n tools, in place of line 3, write" in text and "nd take away line 9" in text
    said = sheet.page.inner_text("#findings")
    assert "What fails" in said and "Stopped looking for what to change after 2 s." in said
    assert "The rest is left to build." in said
    # A page that is not served has nothing to write into.
    assert sheet.page.locator("#findings .cure button").all_inner_texts() == ["Copy these lines"]


def test_every_pocket_of_a_cause_can_be_looked_into_by_keyboard(sheet: Sheet) -> None:
    found, _ = many_pockets()
    sheet.page.locator("#findings summary").focus()
    sheet.page.keyboard.press("Enter")
    for one in (found.bores[0], found.bores[-1]):
        button = sheet.page.get_by_role("button", name=one.name, exact=True)
        button.focus()
        sheet.page.keyboard.press("Enter")
        assert sheet.state()["selected"] == {"bore": one.name}
        assert button.get_attribute("aria-pressed") == "true"
        # The list is made anew meanwhile: what one stood on and had unfolded stays so.
        assert sheet.page.evaluate("document.activeElement.ariaLabel") == one.name
        assert sheet.page.locator("#findings details[open]").count() == 1
    names = sheet.page.locator("#findings .place").evaluate_all("all => all.map(e => e.ariaLabel)")
    assert names == [one.name for one in found.bores]


def test_letting_go_of_a_pocket_brings_the_whole_piece_back(sheet: Sheet) -> None:
    before = sheet.page.evaluate("slantboreProbe()")
    sheet.press("[data-finding='3']")
    state = sheet.press("#chosen >> text='Let go'")
    assert state["finding"] is None and state["selected"] is None and not state["through"]
    assert state["visible"] == before["visible"]


def test_the_lines_of_a_cure_are_copied_as_they_stand(sheet: Sheet) -> None:
    sheet.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    sheet.page.click("text=Copy these lines")
    sheet.page.wait_for_selector("text=Copied")
    copied = sheet.page.evaluate("navigator.clipboard.readText()")
    assert copied == "tools:\n  screw: 25\n"
    assert sheet.page.inner_text("#findings pre") == "tools:\n  screw: 25"


@pytest.mark.parametrize("width", [320, 375])
def test_a_cause_fits_a_phone(sheet: Sheet, width: int) -> None:
    sheet.page.set_viewport_size({"width": width, "height": 700})
    assert sheet.page.evaluate("document.documentElement.scrollWidth") <= width
    small = sheet.page.locator("#findings button:visible").evaluate_all(
        "all => all.filter(e => e.offsetWidth < 24 || e.offsetHeight < 24).length"
    )
    assert small == 0  # WCAG 2.2, success criterion 2.5.8: targets of 24 by 24 pixels at least
