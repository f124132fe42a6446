"""What every page must hold to when it is looked at: no wider than the window, accessible, folds opened first."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def open_folds(page: Any) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")


def fits(page: Any) -> None:
    """Nothing runs off the page."""
    width, view = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert width <= view, f"{page.url} is {width} px wide in a window of {view}"


def accessible(page: Any) -> None:
    """WCAG 2.2 AA, as far as axe can tell."""
    results = Axe().run(page, options=RULES)
    assert results.violations_count == 0, f"{page.url}: {results.generate_report()}"


def fits_and_is_accessible(page: Any) -> None:
    open_folds(page)
    fits(page)
    accessible(page)
