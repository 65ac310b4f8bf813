"""The reading at run-up on a telephone, with scripts and without: typed, doubted, corrected, kept."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page, expect


def test_a_reading_at_run_up_fits_one_screen_and_is_kept(phone: Page, site: Any) -> None:
    phone.goto(site.of("/a/{craft}/readings/run-up/"))
    keep = phone.get_by_role("button", name="Keep it")
    box = keep.bounding_box()
    assert box is not None and box["y"] + box["height"] <= 844, "no scrolling between the gauge and the button"
    phone.get_by_label("Gauge").fill("14")
    phone.get_by_label("Your name").fill("Ada")
    keep.click()
    # A slip is told first; what was typed is still there.
    expect(phone.get_by_text("Something looks wrong; nothing is kept yet")).to_be_visible()
    expect(phone.get_by_text("look for a slipped point")).to_be_visible()
    expect(phone.get_by_label("Gauge")).to_have_value("14")
    phone.get_by_label("Gauge").fill("4,8")
    phone.get_by_role("button", name="Keep it").click()
    expect(phone.get_by_text("Kept.", exact=True)).to_be_visible()
    expect(phone.get_by_text("4.8 inHg").first).to_be_visible()
