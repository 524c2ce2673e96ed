// A pedal sends a key: Enter, space or page down is the primary; Escape is STOP.

function pressed(event) {
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
  const inField = event.target.matches("input, textarea, select");
  const onOther = event.target.matches("button, a, summary") && !event.target.matches("[data-primary]");
  if (event.key === "Escape") {
    document.querySelector("[data-stop]")?.click();
  } else if (event.key === "PageDown" || ((event.key === "Enter" || event.key === " ") && !inField && !onOther)) {
    const primary = document.querySelector("button[data-primary]");
    if (primary) {
      event.preventDefault();
      primary.click();
    }
  }
}

export function listen() {
  document.addEventListener("keydown", pressed);
}
