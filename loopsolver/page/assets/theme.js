// The look of the page, dark or light: as it was chosen, before that as the system asks.

class Theme {
  /** `changed()` is called after the look has become another. */
  constructor(changed) {
    this.changed = changed;
    this.dark = matchMedia("(prefers-color-scheme: dark)");
    this.dark.addEventListener("change", () => this.show());
    this.take();
  }

  get isDark() {
    return this.chosen ? this.chosen === "dark" : this.dark.matches;
  }

  /** Choose the other look. */
  change() {
    this.chosen = this.isDark ? "light" : "dark";
    this.show();
  }

  take() {
    document.documentElement.dataset.theme = this.isDark ? "dark" : "light";
  }

  show() {
    this.take();
    this.changed();
  }
}
