"""The bank's answer on a telephone, held until it was looked at: short, and what must not wait stands first in it."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Page, Route, expect

OIL = "Do not fly before the oil level"
UNDECIDED = re.compile(r"undecided between (\d+) causes")
MORE = re.compile(r"^and (\d+) more, together ")
MOST_LINES = 8
"""Well below the fifteen and more that it once listed."""


def test_the_first_answer_says_what_must_not_wait_and_names_the_few_that_lead(
    telephone: Page, fresh_site: str, keep_picture: Callable[[Page, str], None]
) -> None:
    page = telephone
    page.goto(f"{fresh_site}/start/layout/suction-one-pump/")
    page.get_by_label("Your name").fill("Ada")
    page.get_by_role("button", name="Keep this aircraft", exact=True).click()
    page.get_by_role("link", name="Reports", exact=True).click()
    page.get_by_role("link", name="New report", exact=True).first.click()
    page.get_by_label("What happened, in your words").fill("Oil at the drain, horizon leans.")
    page.evaluate("document.querySelectorAll('details').forEach(group => { group.open = true; })")
    for symptom in ("oil_at_drain", "ai_leans", "hi_drifts"):
        page.locator(f'input[name="noticed"][value="{symptom}"]').check()
    page.get_by_role("button", name="Keep this report").click()

    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/causes/", hold)
    page.get_by_role("button", name="Work out the causes").click()
    first = page.locator("#first")
    lead = first.get_by_text(UNDECIDED)
    expect(lead).to_be_visible()
    caution, causes = first.locator(".caution"), first.locator(".note > ul > li")
    expect(caution).to_contain_text(OIL)
    above, below = caution.bounding_box(), causes.first.bounding_box()
    assert above is not None and below is not None and above["y"] + above["height"] <= below["y"]
    *named, last = causes.all_inner_texts()
    group, counted = UNDECIDED.search(lead.inner_text()), MORE.search(last)
    assert group is not None and counted is not None, last
    assert int(group[1]) == len(named) + int(counted[1]) > MOST_LINES > len(named)
    expect(first).to_contain_text("It is being worked out more closely")
    keep_picture(page, "first-answer")

    # The refined answer takes its place, with the same caution, said once.
    assert len(held) == 1, "asked for once, by the piece itself"
    held[0].continue_()
    page.unroute("**/causes/")
    expect(page.get_by_role("heading", name="Next check")).to_be_visible()
    expect(page.get_by_text("First answer")).to_have_count(0)
    expect(page.get_by_text(OIL)).to_have_count(1)
    expect(page.locator(".caution").first).to_contain_text(OIL)
    keep_picture(page, "refined-answer")
    page.get_by_role("link", name="Oil at the drain, horizon leans").click()
    expect(page.locator(".caution")).to_contain_text(OIL)
