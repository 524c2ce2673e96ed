// Time that a jump of the device's clock does not move. While the page is open the monotonic clock measures; what stands in
// the record is what the device's clock said. A jump is kept, so that after a reload times are put right from the events.

const NOTICED = 2_000; // milliseconds between the two clocks that are a jump and no rounding
const MOST = 40;

export class Steady {
  /** jumps: [{before, by, counter}], milliseconds; counter: the last number this device had used then. */
  constructor(jumps = [], { wall = () => Date.now(), mono = () => performance.now() } = {}) {
    Object.assign(this, { jumps: [...jumps], wall, mono });
    this.#anchor();
  }

  #anchor() {
    this.from = { wall: this.wall(), mono: this.mono() };
  }

  /** Look whether the clock jumped since the last look. The jump, or null. */
  look(counter) {
    const by = this.wall() - this.from.wall - (this.mono() - this.from.mono);
    const before = this.wall() - by;
    this.#anchor();
    return Math.abs(by) < NOTICED ? null : this.#jumped({ before, by, counter });
  }

  /** After a reload: a clock that stands before what this device said last went back while nobody looked. */
  reopened(own) {
    const last = Math.max(0, ...own.map((one) => Date.parse(one.clock)));
    const by = this.wall() - last;
    if (by > -NOTICED) return null;
    return this.#jumped({ before: last, by, counter: Math.max(...own.map((one) => one.counter)) });
  }

  #jumped(jump) {
    this.jumps = [...this.jumps, jump].slice(-MOST);
    return jump;
  }

  /** When this event was, on the clock as it goes now. Milliseconds. */
  at(event, device) {
    const said = Date.parse(event.clock);
    const after = (jump) => (event.device === device ? event.counter <= jump.counter : said <= jump.before);
    return this.jumps.filter(after).reduce((sum, jump) => sum + jump.by, said);
  }
}
