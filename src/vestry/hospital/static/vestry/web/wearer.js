// Asks, often and cheaply, whether the wearer's screen shows something else now.

const here = document.body.dataset.token;
const address = new URL("now/", location.href);

async function look() {
  try {
    const answer = await fetch(address, { cache: "no-store" });
    if (answer.ok && (await answer.json()).token !== here) {
      location.reload();
      return;
    }
  } catch {
    // No network: what stands here stays until there is one.
  }
  setTimeout(look, 600);
}

look();
