"""The tablet in another language: every screen of a led drill, what a real entry may speak, and the device's voice."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.browser import carried, gloves, tongues
from tests.browser.tablet import start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(600)]

# What people wrote, and names: these are of no language.
OWN = {
    *["Vestry", "Noor", "Hadley", "Petra", "Vell", "Tomas", "Arden", "Sander", "Brook", "Ingrid", "Ilse", "Marrow"],
    "Harrow Point General", "Suspected case, wet patient", "min", "UTC", " or ",
    "Do not touch the face. Go with the observer to the eyewash.",
    "Then do what the unit's own text says: this one is invented.",
    "Shift lead: extension 0000, invented.", "Occupational health on call: extension 0001, invented.",
}  # fmt: skip
SPOKEN = """() => {
  window.spoken = [];
  const voices = ["en-GB", "es-ES"].map((lang) => ({ lang, name: lang }));
  const speak = (one) => window.spoken.push([one.lang, one.voice.lang, one.text]);
  const stub = { getVoices: () => voices, cancel() {}, speak };
  Object.defineProperty(window, "speechSynthesis", { value: stub });
  window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
}"""


@pytest.fixture
def tablet(signed_in: Any, hospital: Any) -> Callable[[str, bool], tuple[Any, str]]:
    """A tablet that speaks a language, somebody identified at it, and an entry that it may carry: (page, entry)."""

    def make(language: str, drill: bool) -> tuple[Any, str]:
        observer = signed_in("tomas")
        carried.set_badge(observer, "HP-tomas", hospital.password)
        observer.goto("/procedures/")
        start(observer, drill)
        entry = observer.url.split("/")[-2]
        context = signed_in.browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
        signed_in.contexts.append(context)
        page = context.new_page()
        page.add_init_script(f"({SPOKEN})()")
        page.on("pageerror", lambda error: signed_in.complaints.append(str(error)))
        carried.enrol(page, carried.new_code(signed_in("ingrid"), f"{language} {drill}"))
        carried.identify(page, "HP-tomas")
        if language != "en":
            tongues.speak(page, language)
        page.reload()  # identified anew, in its language
        page.locator("#badge").fill("HP-tomas")
        page.locator("#pin").fill(carried.PIN)
        page.locator("button.go").click()
        page.locator(f'[data-entry="{entry}"]').wait_for()
        return page, entry

    return make


def speaks(page: Any) -> str:
    return str(page.locator("html").get_attribute("lang"))


def test_every_screen_of_a_drill_is_in_its_language_and_can_be_pressed_in_wet_gloves(
    tablet: Callable[[str, bool], tuple[Any, str]],
) -> None:
    page, entry = tablet("und", True)
    carried.take(page, entry)
    left: dict[str, set[str]] = {}
    wrong: list[str] = []

    def see(name: str) -> None:
        if found := tongues.untranslated(page, OWN):
            left[name] = found
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
        assert page.locator("[data-draft]").count() == 1, name
        wrong.extend(gloves.faults(page, name))

    tongues.lead_whole(page, see)
    assert (left, wrong) == ({}, [])


def test_a_draft_leads_a_drill_and_never_a_real_entry_also_offline_and_after_a_reload(
    tablet: Callable[[str, bool], tuple[Any, str]],
) -> None:
    page, entry = tablet("es", True)
    carried.take(page, entry)
    assert speaks(page) == "es"
    assert page.locator("[data-draft]").inner_text() == "Traducción sin revisar"

    page, entry = tablet("es", False)
    assert speaks(page) == "es"  # it may be chosen, and is spoken until a real entry is taken
    page.locator(f'[data-entry="{entry}"] [data-take="lead"]').click()
    page.locator('html[lang="en"] #screen[data-kind]').wait_for(state="attached", timeout=60_000)
    assert page.locator("[data-stop]").inner_text() == "STOP"
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    carried.all_sent(page)
    page.context.set_offline(True)
    for again in range(2):
        if again:
            page.evaluate("() => localStorage.setItem('vestry-entry-language', 'es')")  # whoever wrote it there
        page.reload()
        page.locator('html[lang="en"] #screen[data-kind]').wait_for(state="attached", timeout=60_000)
        assert page.locator("[data-draft]").count() == 0
        assert page.locator("[data-view=hand-over]").count() == 1
        assert page.locator("[data-view=drill]").count() == 0, "nothing is put into an entry that is no drill"
        carried.primary(page)
    # Words in a draft that came by another way are not shown either.
    page.evaluate("""async () => {
      const { openKeeping } = await import("/static/vestry/tablet/keeping.js");
      const keeping = await openKeeping();
      const bundle = await keeping.bundle(await keeping.meta("entry"));
      bundle.carried.words.language = "es";
      await keeping.keepBundle(bundle, 0);
    }""")
    page.reload()
    page.get_by_text("in a translation that nobody has reviewed").wait_for()
    assert page.locator("#screen[data-kind]").count() == 0


def test_the_voice_is_off_until_it_is_turned_on_and_reads_the_step_in_the_language_of_its_words(
    tablet: Callable[[str, bool], tuple[Any, str]],
) -> None:
    page, entry = tablet("es", True)
    assert page.locator("[data-voice=off]").count() == 1
    carried.take(page, entry)
    carried.past_the_checks(page)
    assert page.evaluate("window.spoken") == []

    page.evaluate("() => localStorage.setItem('vestry-voice', 'on')")  # as its key before an entry does
    page.reload()
    page.locator("#screen[data-kind=step]").wait_for(timeout=60_000)
    said = page.locator("h1").inner_text().split("\n")
    assert page.evaluate("window.spoken") == [["es", "es-ES", " ".join(said)]]
    carried.primary(page)  # read by the person: the same step is not read twice
    assert len(page.evaluate("window.spoken")) == 1
    carried.press(page, "[data-stop]")
    assert len(page.evaluate("window.spoken")) == 1  # nothing talks over a STOP

    page, entry = tablet("en", False)
    page.evaluate("() => localStorage.setItem('vestry-voice', 'on')")
    carried.take(page, entry)
    carried.past_the_checks(page)
    assert page.evaluate("window.spoken") == []  # a real entry is read by a person alone
