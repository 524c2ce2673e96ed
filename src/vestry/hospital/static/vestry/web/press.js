// One press is one press. Without this script the pages work too: plain forms, whose ids count once on the server.
//   - the device's clock goes with each press
//   - a second press while the first is under way, or within a moment of a new page, is not taken
//   - a pedal sends a key: Enter, space or page down is the primary; Escape is STOP

const SETTLE = 350; // milliseconds after the press that led here, in which a bouncing pedal or finger still belongs to it
let sent = false;

function settled() {
  return !sent && performance.now() > SETTLE;
}

for (const form of document.querySelectorAll("form[data-press]")) {
  form.addEventListener("submit", (event) => {
    const stop = event.submitter?.matches("[data-stop]");
    if (sent || (!stop && !settled())) {
      event.preventDefault();
      return;
    }
    sent = true;
    for (const clock of form.querySelectorAll("[data-clock]")) clock.value = new Date().toISOString();
  });
}

// The pedal's key goes to the primary; the page stays where its reading begins.
document.querySelector("[data-primary]")?.focus({ preventScroll: true });

document.addEventListener("keydown", (event) => {
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
  const inField = event.target.matches("input, textarea, select");
  const onOther = event.target.matches("button, a") && !event.target.matches("[data-primary]");
  if (event.key === "Escape") {
    document.querySelector("[data-stop]")?.click();
  } else if (event.key === "PageDown" || ((event.key === "Enter" || event.key === " ") && !inField && !onOther)) {
    const primary = document.querySelector("[data-primary]");
    if (primary) {
      event.preventDefault();
      primary.click();
    }
  }
});

// A page taken from the browser's own memory is old: ask again.
window.addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});
