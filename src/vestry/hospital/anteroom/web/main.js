// The observer's page on an enrolled tablet. What was pressed goes to the device's database first, then on the screen, then
// to the server. Without a network it goes on; what is not sent yet is counted in the strip, always.

import { enrol, identify } from "./arriving.js";
import { stayAwake } from "./awake.js";
import { watchBattery } from "./battery.js";
import { openKeeping } from "./keeping.js";
import { listen } from "./keys.js";
import { Leading } from "./leading.js";
import { speakFoot } from "./say.js";
import { Sending } from "./sending.js";
import { Steady } from "./steady.js";

class App extends Leading {
  async begin() {
    speakFoot();
    this.#worker();
    try {
      this.keeping = await openKeeping(() => this.lost());
    } catch {
      this.nothingKept();
      return;
    }
    this.sending = new Sending(this.keeping, { told: (how) => this.told(how), heard: () => this.heard() });
    this.person = await this.keeping.meta("person");
    this.tablet = await this.keeping.meta("tablet");
    this.steady = new Steady(await this.keeping.meta("jumps"));
    setInterval(() => this.tick(), 1000);
    this.awake = stayAwake();
    this.battery = await watchBattery(() => this.strip());
    if (!(await this.keeping.meta("token"))) enrol(this);
    else if (await this.keeping.meta("entry")) await this.lead(await this.keeping.meta("entry"));
    else identify(this);
    this.sending.now();
  }

  #worker() {
    navigator.serviceWorker?.register("/sw.js", { scope: "/tablet/" }).catch(() => {
      this.trouble = "This page will not open again without a network: it was not reached over HTTPS.";
      this.strip();
    });
  }
}

const app = new App();

listen();
app.begin();
