// Names near what is typed, while it is typed: shown as buttons, so that a person says what is meant.
// Nothing is chosen here; a button sends the sheet with the name of that taxon, as it does without scripts.
// The words stand in the page, in its language: data-one, data-several and data-none.

const SHORTEST = 3;
const PAUSE_MS = 300;

class RillNearNames extends HTMLElement {
  connectedCallback() {
    this.input = document.getElementById(this.dataset.for);
    this.words = this.querySelector("[role=status]");
    this.list = this.querySelector("ul");
    this.input?.addEventListener("input", () => {
      clearTimeout(this.timer);
      this.asked?.abort();
      this.timer = setTimeout(() => this.look(), PAUSE_MS);
    });
  }

  /** Whether the names offered by the field itself hold what is typed, so that it need not be doubted. */
  offered(text) {
    return [...(this.input.list?.options ?? [])].some((one) => `${one.value} ${one.textContent}`.toLowerCase().includes(text));
  }

  async look() {
    const text = this.input.value.trim();
    if (text.length < SHORTEST || this.offered(text.toLowerCase())) return this.show([], "");
    this.asked = new AbortController();
    let near;
    try {
      const answer = await fetch(`${this.dataset.address}?${new URLSearchParams({ name: text })}`, { signal: this.asked.signal });
      if (!answer.ok) return;
      ({ near } = await answer.json());
    } catch {
      return; // another letter was typed, or there is no network: the server looks again when the name is sent
    }
    const { one, several, none } = this.dataset;
    const words = near.length === 0 ? none : near.length === 1 ? one : several;
    this.show(near, words.replace("{name}", () => text).replace("{number}", near.length));
  }

  show(near, words) {
    if (this.words.textContent !== words) this.words.textContent = words;
    this.list.replaceChildren(...near.map((one) => {
      const button = document.createElement("button");
      Object.assign(button, { type: "submit", name: "meant", value: one.scientific_name, className: "second" });
      button.textContent = one.common_name ? `${one.common_name} (${one.scientific_name})` : one.scientific_name;
      const how = document.createElement("span");
      how.className = "note-line";
      how.textContent = one.words;
      const line = document.createElement("li");
      line.append(button, " ", how);
      return line;
    }));
  }
}

customElements.define("rill-near-names", RillNearNames);
