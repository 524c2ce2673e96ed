"""A drill led from its checks to the lane, every sort of screen seen; and which texts of a page are not translated."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tests.browser import carried
from tools.pseudo_language import BACKWARDS, END

See = Callable[[str], None]

_TEXTS = """() => {
  const found = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const at = walk.currentNode.parentElement;
    if (!at.closest("script, style, noscript, [lang]:not(html)")) found.push(walk.currentNode.textContent);
  }
  const said = [...document.querySelectorAll("[aria-label], [placeholder], [title], [alt]")].flatMap((one) =>
    ["aria-label", "placeholder", "title", "alt"].map((name) => one.getAttribute(name)).filter(Boolean));
  return [found.join("\\n"), ...said, document.title];
}"""
_SAID = re.compile(f"{BACKWARDS}.*?{END}", re.S)


def untranslated(page: Any, own: set[str]) -> set[str]:
    """What stands untranslated on a page in the language that nobody speaks. `own`: what people wrote, and names."""
    found = set()
    for text in page.evaluate(_TEXTS):
        rest = _SAID.sub(" ", text)
        for one in sorted(own, key=len, reverse=True):
            rest = rest.replace(one, " ")
        found |= {" ".join(line.split()) for line in rest.split("\n") if _bare(line)}
    return found


def _bare(line: str) -> bool:
    """Letters that stand there by themselves: a line of a text that was broken up still has a mark at one end."""
    return bool(re.search(r"[^\W\d_]{2,}", line)) and BACKWARDS not in line and END not in line


def speak(page: Any, tag: str) -> None:
    """Choose the language of the tablet, before an entry."""
    page.locator(f'[data-language="{tag}"]').click()
    page.locator(f'html[lang="{tag}"]').wait_for(state="attached")


def opened(page: Any, selector: str) -> None:
    """A key that opens something, and says nothing yet."""
    page.wait_for_timeout(carried.SETTLE)
    page.locator(selector).first.click()


def until(page: Any, seen: Callable[[], bool], each: Callable[[], None] = lambda: None) -> None:
    for _ in range(150):
        if seen():
            return
        each()
        carried.primary(page)
    raise AssertionError(f"never seen; at {page.locator('h1').first.inner_text()!r}")


def lead_whole(page: Any, see: See) -> None:
    """From the checks before anyone goes in to the lane that is clear, every sort of screen once."""
    _before(page, see)
    _beside(page, see)
    _donning(page, see)
    _inside(page, see)
    _out(page, see)
    _after(page, see)


def _before(page: Any, see: See) -> None:
    assert carried.kind(page) == "before"
    see("before")
    carried.press(page, "[data-press=item-checked]:not([data-primary])")
    see("before-holds")
    titles = set()
    while carried.kind(page) == "before":
        title = page.locator(".who .on").inner_text()
        if title not in titles:
            titles.add(title)
            see(f"before-{len(titles)}")
        carried.primary(page)


def _beside(page: Any, see: See) -> None:
    """What stands beside the steps, opened and closed again."""
    page.locator("details.seldom > summary").first.click()
    see("menu")
    opened(page, "[data-view=hand-over]")
    see("hand-over")
    opened(page, ".low button")
    page.locator("[data-view=trouble]").click()
    see("which-trouble")
    opened(page, ".low button")
    page.locator("[data-breach]").click()
    see("breach")
    page.locator("[data-kind=splash]").click()
    see("breach-aid")
    page.locator("[data-back]").click()


def _donning(page: Any, see: See) -> None:
    until(page, lambda: carried.kind(page) == "step" and page.locator("[data-press=done-seen]").count() == 0)
    see("donning-unread")
    carried.primary(page)
    carried.press(page, "[data-press=acknowledged]")
    carried.press(page, "[data-press=prompted]")
    see("donning-read")
    carried.press(page, "[data-stop]")
    see("held")
    carried.press(page, ".ways .unsure")
    see("hold-card-before")
    page.locator("#decided").fill("Otra vez")
    carried.press(page, "[data-press=resumed]")


def _inside(page: Any, see: See) -> None:
    kinds: set[str] = set()

    def each() -> None:
        sort = "stop-point" if carried.kind(page) == "stop-point" else "group" if page.locator("h1 ol").count() else ""
        sort = sort or ("rub" if page.locator("[data-clock=rub]").count() else "")
        if sort and sort not in kinds:
            kinds.add(sort)
            see(sort)

    until(page, lambda: carried.kind(page) == "inside", each)
    see("inside")
    opened(page, "[data-view=crossing]")
    see("crossing")
    opened(page, "[data-item=specimen]")
    see("crossing-specimen")
    carried.press(page, "[data-press=item-crossed]")
    carried.press(page, "[data-press=relief-called]")
    see("inside-crossed")
    opened(page, "[data-view=gloves]")
    see("gloves")
    carried.press(page, "[data-press=glove-changed]")
    page.locator("[data-view=trouble]").click()
    carried.press(page, "[data-press=unwell]")
    see("trouble")
    carried.press(page, "[data-press=resumed]")


def _put_in(page: Any, see: See) -> None:
    """The trainer's: something torn, marked as of the drill on the screen and in the figure; contaminated nowhere."""
    marked = carried.marked(page)
    page.locator("details.seldom > summary").first.click()
    opened(page, "[data-view=drill]")
    see("drill")
    opened(page, "[data-inject=tear]")
    drawn = page.locator(".touch [data-mark][data-surface]").evaluate_all(
        "(all) => all.map((one) => one.dataset.surface)"
    )
    named = page.locator("#place option").evaluate_all("(all) => all.map((one) => one.value)")
    page.locator("#place").select_option(next(one for one in named if one in drawn and one not in marked))
    opened(page, "[data-choose]")
    see("drill-where")
    carried.press(page, "[data-press=drill-injected]")
    assert page.locator("[data-drill=tear]").count() == 1
    assert page.locator(".whole .of-drill").count() >= 1
    assert carried.marked(page, but=".of-drill") == marked
    see("drill-put-in")


def _out(page: Any, see: See) -> None:
    kinds: set[str] = set()

    def each() -> None:
        if carried.kind(page) == "stop-point" and "stop-point" not in kinds:
            kinds.add("stop-point")
            see("stop-point-out")
        if page.locator("[data-clock=rub]").count() and "rub" not in kinds:
            kinds.add("rub")
            see("rub-out")
            carried.press(page, "[data-press=ended-early]")

    slips = ".ways [data-press=went-otherwise]"

    until(page, lambda: carried.kind(page) == "step" and page.locator(".marks li").count() >= 2, each)
    see("doffing")
    _put_in(page, see)
    carried.press(page, "[data-stop]")
    assert page.locator("[data-drill], .of-drill, .of-drill-too").count() == 0, "answered by STOP"
    see("held-out")
    opened(page, "[data-view=marking]")
    see("marking")
    page.locator("#place").select_option(index=1)
    page.locator("[data-choose]").click()
    see("marking-chosen")
    opened(page, ".low button")
    carried.press(page, slips)
    see(f"{carried.kind(page)}-out")
    if carried.kind(page) == "answer":
        carried.press(page, "[data-press=went-otherwise]")
        see("hold-card")
    page.locator("#by").fill("Sander Brook")
    page.locator("#decided").fill("OK")
    carried.press(page, "[data-press=resumed]")
    until(page, lambda: carried.kind(page) == "walked", each)


def _after(page: Any, see: See) -> None:
    see("walked")
    carried.primary(page)
    see("own-way")
    until(page, lambda: carried.kind(page) == "walked")
    see("walked-observer")
    carried.press(page, "[data-press=undressing-left-out]")
    carried.press(page, "[data-task=seat]")
    see("walked-last")
    carried.primary(page)
    for task in ("floor", "bins", "restock"):
        carried.press(page, f"[data-task={task}]")
    see("over")
