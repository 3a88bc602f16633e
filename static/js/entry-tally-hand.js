// One visit in the hand of the person who tallies: what is stored of it, and the ways to change it.
// A device may take a second to write. Changes wait for one another, so that a pass closed right after a tap
// counts that tap, and what is shown is never older than what was done last.

import * as store from "./entry-tally-store.js";

export class Hand {
  #last = Promise.resolve();
  /** Chosen on the screen of the fish, and kept while this visit is in the hand: the tub, and what a tap also says. */
  container = "main";
  mode = "";

  /** `redraw`, `send`, `leave` and `notKept` are the page's own. */
  constructor(doc, taps, taxa, { redraw, send, leave, notKept }) {
    Object.assign(this, { doc, taps, taxa, redraw, send, leave, notKept });
  }

  #inTurn(work) {
    const done = this.#last.then(work);
    this.#last = done.catch(() => undefined);
    return done;
  }

  /** Done when everything asked for is on the disk, or was refused by the device: also what was asked meanwhile. */
  async settled() {
    let last;
    do {
      last = this.#last;
      await last;
    } while (last !== this.#last);
  }

  /** Read again what is stored, in turn with the taps: one that is made meanwhile comes after it, and is not lost
   * from the screen. Gives the visit, or nothing where it is no longer on the device. */
  renewed() {
    return this.#inTurn(async () => {
      const doc = await store.visit(this.doc.key);
      if (!doc) return undefined;
      const taps = await store.taps(doc.key);
      Object.assign(this, { doc, taps });
      return doc;
    });
  }

  change(work) {
    return this.#inTurn(async () => {
      try {
        this.doc = (await store.changeVisit(this.doc.key, work)) ?? this.doc;
      } catch (problem) {
        this.notKept();
        throw problem;
      }
    });
  }

  tap(given) {
    const tap = { ...given, visit: this.doc.key };
    return this.#inTurn(async () => { this.taps.push({ ...tap, id: await store.keepTap(tap) }); });
  }

  /** Take back the last tap of the pass on the screen; gives it, or nothing where there is none. */
  untap() {
    return this.#inTurn(async () => {
      const last = this.taps.findLast((tap) => tap.pass === this.doc.pass);
      if (!last) return undefined;
      await store.dropTap(last.id);
      this.taps = this.taps.filter((tap) => tap !== last);
      return last;
    });
  }

  remove() {
    return this.#inTurn(async () => {
      await store.dropVisit(this.doc.key);
      this.leave();
    });
  }
}
