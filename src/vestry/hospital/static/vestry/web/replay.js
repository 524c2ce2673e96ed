// The replay of a record without loading the page anew: slider, buttons, and the arrow keys of the slider. Without this
// script the buttons still work: each is a form's.

const place = document.querySelector("[data-replay]");

if (place) {
  const slider = place.querySelector("[data-slider]");
  const shown = place.querySelector("[data-shown]");
  const of = Number(place.dataset.of);
  let asked = 0;

  async function show(at) {
    const to = Math.max(0, Math.min(of, at));
    slider.value = String(to);
    const mine = (asked += 1);
    try {
      const answer = await fetch(`${place.dataset.replay}?at=${to}`, { credentials: "same-origin" });
      if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
      const text = await answer.text();
      if (mine !== asked) return; // another was asked for meanwhile
      const parsed = new DOMParser().parseFromString(text, "text/html");
      shown.replaceChildren(...parsed.body.childNodes);
      slider.setAttribute("aria-valuetext", shown.querySelector(".replay-event")?.textContent ?? String(to));
    } catch {
      if (mine === asked) location.search = `?at=${to}`;
    }
  }

  let waiting = 0;
  slider.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => show(Number(slider.value)), 120);
  });
  for (const button of place.querySelectorAll("button[data-by], button[data-to]")) {
    button.addEventListener("click", (event) => {
      event.preventDefault();
      show(button.dataset.to === undefined ? Number(slider.value) + Number(button.dataset.by) : Number(button.dataset.to));
    });
  }
}
