"""What a page is judged by, beyond what it says: axe's rules, its width, the size of what is touched."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

TOUCHED = "a[href], button, input, select, textarea, summary"

# WCAG 2.2, 2.5.8: 24 by 24 CSS pixels, but for links within a sentence and for thin bands of a drawing that are
# links elsewhere on the page too. A label is part of what it labels.
_SMALL = """
([least, selector]) => [...document.querySelectorAll(selector)].filter((one) => {
  if (one.checkVisibility && !one.checkVisibility({visibilityProperty: true})) return false;
  if (one.closest(".visually-hidden, .skip, [aria-hidden=true]") || one.type === "hidden") return false;
  if (one.matches("a") && one.parentElement.matches("p, li, dd, td, th, span, caption, figcaption, label, strong, em")
      && getComputedStyle(one).display === "inline"
      && one.parentElement.textContent.trim() !== one.textContent.trim()) return false;
  if (one.closest("svg") && [...document.querySelectorAll("a[href]")].some(
      (twin) => !twin.closest("svg") && twin.getAttribute("href") === one.getAttribute("href"))) return false;
  const boxes = [one, ...(one.labels || [])].map((part) => part.getBoundingClientRect());
  const wide = Math.max(...boxes.map((box) => box.right)) - Math.min(...boxes.map((box) => box.left));
  const high = Math.max(...boxes.map((box) => box.bottom)) - Math.min(...boxes.map((box) => box.top));
  return wide < least - 0.5 || high < least - 0.5;
}).map((one) => {
  const box = one.getBoundingClientRect();
  return `${one.outerHTML.slice(0, 160)} is ${Math.round(box.width)} x ${Math.round(box.height)}`;
})
"""

_TOO_WIDE = """
() => {
const edge = document.documentElement.clientWidth + 1;
function clipped(one) {
  for (let up = one.parentElement; up && up !== document.body; up = up.parentElement)
    if (getComputedStyle(up).overflowX !== "visible") return true;
  return false;
}
return [...document.querySelectorAll("body *")]
  .filter((one) => one.getBoundingClientRect().right > edge && !clipped(one))
  .map((one) => one.outerHTML.slice(0, 160));
}
"""


def against_axe(page: Page) -> list[str]:
    """Return axe's violations, one line an element."""
    options = {"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"], "preload": False}
    found: list[dict[str, Any]] = Axe().run(page, options=options).response["violations"]
    return [
        f"{rule['id']}: {node['html'][:200]} ({(node['any'] or node['all'] or node['none'])[0]['message']})"
        for rule in found
        for node in rule["nodes"]
    ]


def small(
    page: Page, least: int = 24, selector: str = "a[href], button, input, select, textarea, summary"
) -> list[str]:
    """Return what is less than `least` CSS pixels wide or high and is meant to be touched."""
    return [str(line) for line in page.evaluate(_SMALL, [least, selector])]


def too_wide(page: Page) -> list[str]:
    """Return what makes the page scroll sideways; a table that scrolls within its own box does not."""
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    if wide <= 0:
        return []
    return [f"the page is {wide} px too wide", *page.evaluate(_TOO_WIDE)]
