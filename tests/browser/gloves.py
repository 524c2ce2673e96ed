"""What wet gloves meet on a screen of the tablet: what lies beyond an edge, what is too small, what is cut off."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

ACROSS, UPRIGHT = {"width": 1280, "height": 800}, {"width": 800, "height": 1280}
LETTERS = 16  # pixels, as the browser comes; twice as large for a reader who has chosen 200 %

_FAULTS = """() => {
  const found = [], seen = (one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest("[inert]");
  const name = (one) => one.outerHTML.slice(0, 90).replace(/\\s+/g, " ");
  const beyond = document.documentElement.scrollWidth - innerWidth;
  if (beyond > 0) found.push(`${beyond} px lie beyond the edge`);
  for (const one of document.querySelectorAll("button, summary, input, select, textarea, a[href], [role=button]")) {
    const box = one.getBoundingClientRect();
    if (seen(one) && (box.width < 63.5 || box.height < 63.5)) found.push(`smaller than 64 px: ${name(one)}`);
  }
  const primary = document.querySelector("[data-primary]");
  if (primary && !primary.closest("[inert]")) {
    const box = primary.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
    const there = document.elementFromPoint(x, y);
    if (y > innerHeight || y < 0 || x > innerWidth || x < 0) found.push("the primary key is off the screen");
    else if (there !== primary && !primary.contains(there)) found.push(`over the primary key: ${name(there)}`);
  }
  const aid = document.querySelector("[data-breach]"), at = aid?.getBoundingClientRect();
  if (at && (at.bottom > innerHeight + 1 || at.top < 0 || !seen(aid))) found.push("first aid is off the screen");
  const dotted = ".strip .title, .strip .unit"; // their ends may go, with dots
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange();
  while (walk.nextNode()) {
    const node = walk.currentNode, at = node.parentElement;
    if (!node.textContent.trim() || !seen(at) || at.closest(`script, style, svg, ${dotted}`)) continue;
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      if (box.right > innerWidth + 1 || box.left < -1) { found.push(`cut off at the side: ${name(at)}`); break; }
      const key = at.closest("button, summary");
      const edge = key?.getBoundingClientRect();
      const over = edge && [box.bottom - edge.bottom, edge.top - box.top, box.right - edge.right, edge.left - box.left];
      if (over && Math.max(...over) > 2) {
        found.push(`runs out of its key: ${name(key)}`);
        break;
      }
    }
  }
  for (const one of document.querySelectorAll("body *")) {
    const style = getComputedStyle(one);
    if (!seen(one) || style.overflowX === "visible" || one.closest(`svg, select, input, .near, ${dotted}`)) continue;
    const low = one.scrollHeight > one.clientHeight + 1 && !["auto", "scroll"].includes(style.overflowY);
    if (low || one.scrollWidth > one.clientWidth + 1) found.push(`cut off within: ${name(one)}`);
  }
  return [...new Set(found)];
}"""


def faults(page: Any, where: str) -> Iterator[str]:
    """What is wrong with this screen: upright, with letters as they come and twice as large, and across."""
    reader = page.context.new_cdp_session(page)
    for size, times in ((UPRIGHT, 1), (UPRIGHT, 2), (ACROSS, 1)):
        page.set_viewport_size(size)
        letters = LETTERS * times
        reader.send("Page.setFontSizes", {"fontSizes": {"standard": letters, "fixed": letters}})
        page.wait_for_function(
            "(letters) => parseFloat(getComputedStyle(document.documentElement).fontSize) === letters", arg=letters
        )
        yield from (f"{where}, {size['width']} wide, {times}00 %: {one}" for one in page.evaluate(_FAULTS))
    reader.send("Page.setFontSizes", {"fontSizes": {"standard": LETTERS, "fixed": LETTERS}})
    reader.detach()
    page.set_viewport_size(ACROSS)


_PLACES = """() => [...document.querySelectorAll("main, h1, button, summary")].map((one) => {
  const { x, y, width, height } = one.getBoundingClientRect();
  return [one.innerText.slice(0, 20), x, y, width, height].join(" ");
})"""


def places(page: Any) -> list[str]:
    """Where everything that can be pressed stands, upright and across, with letters as they come."""
    found = []
    for size in (UPRIGHT, ACROSS):
        page.set_viewport_size(size)
        found += page.evaluate(_PLACES)
    return found
