"""Every page at telephone and desk size: nothing runs off the side, everything can be pressed, named and read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

HERE = Path(__file__).parent
AXE = (HERE / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
PAGES = {
    "all-aircraft": "/",
    "about": "/about/",
    "start": "/start/",
    "start-layout": "/start/layout/pressure-one-pump/",
    "system": "/a/{craft}/",
    "system-causes": "/a/{craft}/?show=causes",
    "system-contamination": "/a/{craft}/?show=contamination",
    "sweep": "/a/{craft}/sweep/",
    "margin": "/a/{craft}/margin/?wear=3",
    "load": "/a/{craft}/load/",
    "budget": "/a/{craft}/budget/?wear=2",
    "changed": "/a/{craft}/changed/?change=off:heading",
    "standby": "/a/{craft}/changed/?change=add:standby+pump",
    "swapped": "/a/{craft}/swapped/?one=attitude.inlet&other=manifold.attitude&rpm0=2400&reading0=2.0",
    "describe": "/a/{craft}/describe/",
    "reports": "/a/{craft}/reports/",
    "new-report": "/a/{craft}/reports/new/",
    "report": "/a/{craft}/reports/{report}/",
    "add-readings": "/a/{craft}/reports/{report}/readings/",
    "add-remarks": "/a/{craft}/reports/{report}/remarks/",
    "add-events": "/a/{craft}/reports/{report}/events/",
    "checks": "/a/{craft}/reports/{report}/checks/",
    "cover-test": "/a/{craft}/reports/{report}/checks/cover_test/",
    "causes": "/a/{craft}/reports/{report}/causes/",
    "before-another": "/a/{craft}/reports/{dusty}/causes/",
    "check-at": "/a/{craft}/reports/{dusty}/checks/instrument_inlet_look/?place=heading",
    "checks-dusty": "/a/{craft}/reports/{dusty}/checks/",
    "own-words": "/a/{craft}/reports/{report}/remarks/?words=horizon+leans+and+coffee+on+the+seat",
    "told-checks": "/a/{craft}/reports/{report}/remarks/?words=bent+every+hose,+nothing.+Swapped+the+DG,+no+change",
    "meanwhile": "/a/{craft}/reports/{report}/meanwhile/",
    "scope": "/a/{craft}/reports/{report}/scope/",
    "plan": "/a/{craft}/reports/{report}/plan/",
    "jobs": "/a/{craft}/jobs/",
    "job": "/a/{craft}/jobs/{job}/",
    "job-counts": "/a/{craft}/jobs/{job}/?part=counts",
    "job-hoses": "/a/{craft}/jobs/{job}/?part=hoses",
    "job-fittings": "/a/{craft}/jobs/{job}/?part=fittings",
    "job-suspects": "/a/{craft}/jobs/{job}/?part=suspects",
    "job-parts": "/a/{craft}/jobs/{job}/?part=parts",
    "photos": "/a/{craft}/jobs/{job}/photos/",
    "photo": "/a/{craft}/jobs/{job}/photos/{photo}/",
    "ground-runs": "/a/{craft}/jobs/{job}/ground-run/",
    "ground-run": "/a/{craft}/runs/{run}/",
    "one-number": "/a/{craft}/runs/{run}/one/",
    "sign-in": "/sign-in/",
    "record": "/a/{craft}/jobs/{job}/record/",
    "readings": "/a/{craft}/readings/",
    "run-up": "/a/{craft}/readings/run-up/",
    "table": "/a/{craft}/readings/table/",
    "over-time": "/a/{craft}/readings/over-time/lamp_out/",
    "wear": "/a/{craft}/readings/wear/pump/",
    "wear-ahead": "/a/{craft}/readings/wear/pump/ahead/",
    "next": "/a/{craft}/next/",
    "journal": "/a/{craft}/journal/",
    "journal-entry": "/a/{craft}/journal/{entry}/",
    "history": "/a/{craft}/history/",
    "components": "/a/{craft}/components/",
    "lives": "/a/{craft}/lives/",
    "life": "/a/{craft}/lives/coupling/",
    "all-next": "/what-next/",
    "take-in": "/take-in/",
    "trouble": "/a/{craft}/?rpm=fast",
    "not-there": "/nowhere/",
}
BIG = {"add-readings", "job", "job-counts", "job-hoses", "job-fittings", "job-suspects", "job-parts", "ground-runs"}
BIG |= {"run-up", "ground-run", "photos", "photo"}

#: The same markup at both sizes; these are laid out otherwise on a desk.
AXE_AT_DESK = {"system", "causes", "job", "ground-run", "readings"}
RUN_AXE = """
() => axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})
"""

SMALL_TARGETS = """
least => [...document.querySelectorAll(
  'button, .go, select, input:not([type=hidden]), textarea, summary, nav a, .top a, label.tick')]
  .filter(e => !e.closest('label.tick') || e.matches('label.tick'))
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, box]) => box.height > 0 && box.width > 0 && box.height < least - 0.5)
  .map(([e, box]) => `${e.tagName} ${e.className} ${e.textContent.trim().slice(0, 40)}: ${box.height}`)
"""
BIG_TARGETS = """
least => [...document.querySelectorAll('main button, main .go, main .big input, table.entry input')]
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, box]) => box.height > 0 && box.height < least - 0.5)
  .map(([e, box]) => `${e.tagName} ${e.name || e.textContent}: ${box.height}`)
"""
OFF_THE_SIDE = """
() => document.documentElement.scrollWidth > window.innerWidth + 1
  ? [...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > window.innerWidth + 1
      && !e.closest('.scroll, .drawing')).slice(0, 5).map(e => e.outerHTML.slice(0, 120)) : []
"""


def violation(item: Any) -> list[str]:
    return [f"{item['id']}: {node['html'][:160]}: {node['failureSummary'][:200]}" for node in item["nodes"][:3]]


@pytest.mark.parametrize("name", list(PAGES))
def test_page(name: str, page: Page, site: Any, keep_picture: Callable[[Page, str], None]) -> None:
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    expected = {"trouble": 400, "not-there": 404}.get(name, 200)
    response = page.goto(site.of(PAGES[name]))
    assert response is not None
    assert response.status == expected
    page.wait_for_load_state("networkidle")
    keep_picture(page, name)
    assert page.evaluate(OFF_THE_SIDE) == []
    assert page.evaluate(SMALL_TARGETS, 44) == []
    if name in BIG:
        assert page.evaluate(BIG_TARGETS, 56) == []
    for element in page.query_selector_all("details:not([open]) > summary"):
        element.evaluate("summary => { summary.parentElement.open = true; }")
    if page.viewport_size == {"width": 390, "height": 844} or name in AXE_AT_DESK:
        page.evaluate(AXE)
        assert [told for item in page.evaluate(RUN_AXE)["violations"] for told in violation(item)] == []
    # A refused page is a console error of the browser itself, and is what these two ask for.
    assert expected != 200 or said == []
