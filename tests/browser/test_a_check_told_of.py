"""A check told of in a person's own words is offered on a telephone, and taken over only where it was chosen."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote_plus

from playwright.sync_api import Page, expect

STORY = (
    "Horizon leans. Squeezed every hose, nothing. Swapped it for another horizon, no change. "
    "Put my finger over the regulator and it came right up."
)
THUMB_PX = 44
"""Least height of what a thumb must hit (common practice of touch screens)."""


def test_a_check_told_of_is_taken_over_with_a_thumb_and_only_where_chosen(
    telephone: Page, fresh_site: str, keep_picture: Callable[[Page, str], None]
) -> None:
    page = telephone
    page.goto(f"{fresh_site}/start/layout/suction-one-pump/")
    page.get_by_label("Your name").fill("Ada")
    page.get_by_role("button", name="Keep this aircraft", exact=True).click()
    page.get_by_role("link", name="Reports", exact=True).click()
    page.get_by_role("link", name="New report", exact=True).first.click()
    page.get_by_label("What happened, in your words").fill("Told by the mechanic.")
    page.get_by_role("button", name="Keep this report").click()
    report = page.url
    page.goto(f"{report}remarks/?words={quote_plus(STORY)}")

    hoses, swap = page.locator("#id_told_hose_squeeze"), page.locator("#id_told_swap_indicator_attitude_indicator")
    for field in (hoses, swap):
        expect(field).to_have_value("")
        box = field.bounding_box()
        assert box is not None and box["height"] >= THUMB_PX and box["x"] >= 0 and box["x"] + box["width"] <= 390
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    expect(page.locator("#id_told_hose_squeeze_grade")).to_have_value("0")
    expect(page.locator("#id_told_swap_indicator_attitude_indicator_at")).not_to_have_value("")
    expect(page.get_by_role("link", name="enter the gauge before and while covered")).to_be_visible()
    expect(page.locator("#id_told_cover_test")).to_have_count(0)
    keep_picture(page, "told-checks")

    # Words mended after they were found lose no choice.
    hoses.select_option("sound")
    page.get_by_label("In your words").fill("Mended.")
    page.get_by_label("Your name").fill("Ada")
    page.get_by_role("button", name="Keep this", exact=True).click()
    page.wait_for_url(report)
    checks = page.get_by_text("Checks done").locator("xpath=following::ul[1]")
    expect(checks).to_contain_text("squeeze every hose")
    expect(page.get_by_text("swap an instrument")).to_have_count(0)
