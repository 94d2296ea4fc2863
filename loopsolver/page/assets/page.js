// The page: what is shown now, and what a touch changes of it.

const TABS = {
  compare: "Compare",
  bend: "Bend table",
  bench: "At the bench",
  care: "Take care",
};
const PANELS = {
  compare: comparisonPanel,
  bend: bendingPanel,
  bench: benchPanel,
  care: carePanel,
};
const NO_RUN = {
  name: "",
  joins: "",
  inPlace: null,
  why: ["There are no runs."],
  comparison: null,
  tubes: [],
};
const PICK_REACH = 28; // of a finger round a tube [px]
const MOTION_SECONDS = 4;

class Page {
  constructor(values, root) {
    this.values = values;
    this.state = {
      run: values.first.run,
      rank: values.first.rank,
      beside: null, // the rank that is held beside the one on show
      tab: "compare",
      step: 0,
      ...this.fromAddress(),
    };
    this.lay(root);
    this.theme = new Theme(() => this.draw());
    this.makePictures();
    this.update();
    new ResizeObserver(() => this.isResized() && this.draw()).observe(this.stage);
  }

  get run() {
    return this.values.runs[this.state.run] || NO_RUN;
  }

  get tube() {
    return this.run.tubes.find((one) => one.rank === this.state.rank);
  }

  // --- what stands where ---

  lay(root) {
    const { values } = this;
    this.canvas = made("canvas", {
      tabindex: 0,
      role: "img",
      "aria-label":
        "the build in three dimensions: drag to turn, pinch to go nearer, touch a tube to see it",
    });
    this.layers = [0, 1].map(() => made("div", { class: "labels", "aria-hidden": "true" }));
    this.labels = this.layers.map((layer) => new Labels(layer));
    const from = (name, side, sign) =>
      button(name, () => this.look(scaled(this.camera.sides[side], sign)));
    this.front = from("Front", "away", -1);
    const whole = button("Whole", () => this.look(this.camera.home));
    this.views = made(
      "nav",
      { class: "views", "aria-label": "views" },
      this.front,
      from("Left", "right", -1),
      from("Above", "up", 1),
      whole,
    );
    this.noPicture = made("p", {
      class: "no-picture",
      hidden: true,
      text: "No picture here: this browser draws nothing in three dimensions (it has no WebGL 2). All tables and steps are here.",
    });
    this.stage = made(
      "section",
      { class: "stage" },
      this.canvas,
      ...this.layers,
      this.views,
      this.noPicture,
    );
    this.runs = made("nav", { class: "choice runs", "aria-label": "runs" });
    this.candidates = made("nav", {
      class: "choice candidates",
      "aria-label": "candidates",
    });
    this.told = made("p", { class: "told" });
    this.tabs = made("nav", { class: "tabs", "aria-label": "what is told" });
    this.sheet = made("article", { class: "sheet" });
    const theme = button("Dark or light", () => this.theme.change(), { class: "theme" });
    root.replaceChildren(
      made("header", {}, made("h1", { text: values.title }), theme),
      this.stage,
      made(
        "section",
        { class: "panel" },
        this.runs,
        this.candidates,
        this.told,
        this.tabs,
        this.sheet,
      ),
    );
    this.root = root;
  }

  makePictures() {
    this.drawing = new Drawing(this.canvas);
    this.noPicture.hidden = this.drawing.works;
    this.build = new Build(this.values, this.drawing);
    this.bench = new Bench(this.drawing);
    this.fitAtFirst = true;
    this.touch = new Touch(this.canvas, this.build.camera, {
      moved: () => this.draw(),
      tapped: (x, y) => this.tapped([x, y]),
    });
    this.canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    this.canvas.addEventListener("webglcontextrestored", () => {
      const fresh = this.canvas.cloneNode();
      this.canvas.replaceWith(fresh);
      this.canvas = fresh;
      this.makePictures();
      this.update();
    });
  }

  // --- what a touch changes ---

  change(state) {
    Object.assign(this.state, state);
    this.update();
    this.toAddress();
  }

  showRun(run) {
    this.change({ run, rank: this.firstRank(run), beside: null, step: 0 });
  }

  firstRank(run) {
    const { inPlace, tubes } = this.values.runs[run];
    if (inPlace !== null) return inPlace;
    return tubes.length ? tubes[0].rank : null;
  }

  /** Hold the tube on show beside the next one, or let it go. */
  holdBeside() {
    const { rank, beside } = this.state;
    const ranks = this.run.tubes.map((one) => one.rank);
    const next = ranks[(ranks.indexOf(rank) + 1) % ranks.length];
    this.change(beside === null ? { beside: rank, rank: next } : { beside: null });
  }

  tapped([x, y]) {
    if (this.isAtBench) return;
    const [width, height] = this.size;
    const view = Math.min(this.ranks.length - 1, Math.floor(x / width));
    const spot = [x - view * width, y];
    const found = this.build.runAt(view, spot, [width, height], PICK_REACH);
    if (found !== null && found !== this.state.run) this.showRun(found);
  }

  look(towards) {
    this.camera.look(towards, this.aspect);
    this.draw();
  }

  // --- the address keeps the place, so that a page that is loaded again is where it was ---

  fromAddress() {
    const kept = new URLSearchParams(location.hash.slice(1));
    const [run, rank, step] = ["run", "rank", "step"].map((name) =>
      Number.parseInt(kept.get(name), 10),
    );
    const tubes = this.values.runs[run] && this.values.runs[run].tubes;
    const tube = tubes && tubes.find((one) => one.rank === rank);
    if (!tube) return {};
    const tab = TABS[kept.get("tab")] ? kept.get("tab") : "compare";
    const isThere = tube.bench && step >= 0 && step < tube.bench.screens.length;
    const held = tubes.find((one) => `${one.rank}` === kept.get("beside"));
    const beside = held ? held.rank : null;
    return { run, rank, beside, tab, step: isThere ? step : 0 };
  }

  toAddress() {
    const { run, rank, beside, tab, step } = this.state;
    const held = beside === null ? "" : `&beside=${beside}`;
    location.replace(`#run=${run}&rank=${rank}&tab=${tab}&step=${step}${held}`);
  }

  // --- the picture ---

  get isAtBench() {
    return this.state.tab === "bench" && Boolean(this.tube && this.tube.bench);
  }

  get camera() {
    return this.isAtBench ? this.bench.camera : this.build.camera;
  }

  /** The ranks that are seen beside each other: one or two. */
  get ranks() {
    const { rank, beside } = this.state;
    return beside === null || this.isAtBench ? [rank] : [beside, rank];
  }

  /** Width and height of one picture [pixels]. */
  get size() {
    const { clientWidth, clientHeight } = this.canvas;
    return [clientWidth / this.ranks.length, clientHeight];
  }

  get aspect() {
    const [width, height] = this.size;
    return width / Math.max(1, height);
  }

  /** Whether the canvas had another size than it is shown at; it then has that size. */
  isResized() {
    const { canvas } = this;
    const scale = Math.min(2, window.devicePixelRatio || 1);
    const [width, height] = [canvas.clientWidth, canvas.clientHeight].map((length) =>
      Math.max(1, Math.round(length * scale)),
    );
    if (canvas.width === width && canvas.height === height) return false;
    Object.assign(canvas, { width, height });
    return true;
  }

  draw() {
    this.isResized();
    if (this.fitAtFirst) {
      this.build.camera.fit(this.aspect);
      this.fitAtFirst = false;
    }
    const shown = this.isAtBench ? this.bench : this.build;
    this.drawing.draw(shown.pictures, this.camera, this.colourOf());
    if (!this.drawing.works) return;
    const labels = shown.labels();
    this.labels.forEach((layer, n) =>
      layer.show(labels[n] || [], this.camera, this.headingOf(n)),
    );
  }

  /** What is said over a picture where there are two. */
  headingOf(n) {
    const { ranks } = this;
    if (ranks.length < 2) return "";
    return `${ranks[n] ? `candidate ${ranks[n]}` : "as built"}${n ? "" : ", held"}`;
  }

  /** What returns the colour of a name, as the look of now has it: 0 to 1 each. */
  colourOf() {
    const style = getComputedStyle(this.root);
    return (name) => {
      const parts = style.getPropertyValue(`--${name}`).trim().split(/\s+/);
      return parts.map((part) => part / 255);
    };
  }

  // --- the motion of a bend ---

  play() {
    const isStill = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const started = performance.now();
    cancelAnimationFrame(this.frame);
    const next = (now) => {
      const share = isStill
        ? 1
        : Math.min(1, Math.max(0, (now - started) / (1000 * MOTION_SECONDS)));
      this.moveTo(share);
      if (share < 1) this.frame = requestAnimationFrame(next);
    };
    next(started);
  }

  moveTo(share) {
    const slider = this.sheet.querySelector("input[type=range]");
    if (slider) slider.value = 1000 * share;
    this.bench.show(share);
    this.draw();
  }

  slid(share) {
    cancelAnimationFrame(this.frame);
    this.moveTo(share);
  }

  // --- all anew ---

  update() {
    const { state, values, run, tube } = this;
    const { rank, beside, step } = state;
    const shown = { values, run, tube, rank, beside, step };
    const acts = {
      showRank: (rank) => this.change({ rank, step: 0 }),
      showStep: (step) => this.change({ step }),
      benchMotion: { slid: (share) => this.slid(share), play: () => this.play() },
    };
    cancelAnimationFrame(this.frame);
    this.root.dataset.tab = state.tab;
    this.front.textContent = this.isAtBench ? "First end" : "Front";
    this.runs.replaceChildren(...values.runs.map((one, n) => this.runButton(one, n)));
    this.candidates.replaceChildren(
      ...run.tubes.map((one) => this.rankButton(one)),
      ...(run.tubes.length > 1 ? [this.besideButton()] : []),
    );
    this.told.textContent = this.toldWords();
    this.tabs.replaceChildren(
      ...Object.entries(TABS).map(([tab, name]) =>
        button(name, () => this.change({ tab }), {
          "aria-pressed": String(tab === state.tab),
        }),
      ),
    );
    this.build.select(state.run, this.ranks);
    this.touch.camera = this.camera;
    this.share();
    this.sheet.replaceChildren(
      ...PANELS[state.tab]({ ...shown, ...acts }).filter((part) => part !== null),
    );
    this.sheet.scrollTop = 0;
    this.openBench();
  }

  /** Give the picture all its room, or each of two one half; seen from where it was. */
  share() {
    const { camera } = this.build;
    const count = this.ranks.length;
    this.touch.pictures = count;
    this.stage.classList.toggle("two", count > 1);
    if (this.isAtBench || this.fittedTo === count) return;
    if (this.fittedTo) camera.look(camera.axes().towards, this.aspect);
    this.fittedTo = count;
  }

  openBench() {
    const { state, tube } = this;
    if (this.isAtBench) {
      const screen = tube.bench.screens[state.step];
      this.bench.open(tube.bench, screen, this.aspect);
      if (screen.stage === "bend") this.play();
    }
    this.draw();
  }

  runButton(run, n) {
    const isEmpty = run.inPlace === null;
    return button(run.name, () => this.showRun(n), {
      "aria-pressed": String(n === this.state.run),
      class: isEmpty ? "empty" : null,
    });
  }

  rankButton({ rank }) {
    const name = rank ? `${rank}` : "built";
    const mark = rank === this.run.inPlace ? "in-place" : null;
    return button(name, () => this.change({ rank, step: 0 }), {
      "aria-pressed": String(rank === this.state.rank),
      class: mark,
    });
  }

  besideButton() {
    return button("Side by side", () => this.holdBeside(), {
      "aria-pressed": String(this.state.beside !== null),
    });
  }

  toldWords() {
    const { run, tube } = this;
    if (!tube) return run.name ? `${run.name}: ${run.joins}, no tube` : "";
    if (this.isAtBench) return `${run.name}: ${run.joins}, candidate ${tube.rank}`;
    const figures = tube.figures.map(([what, value]) => `${what} ${value}`).join("; ");
    return `${run.name}: ${run.joins}, ${tube.name}; ${figures}`;
  }
}

new Page(
  JSON.parse(document.getElementById("values").textContent),
  document.getElementById("page"),
);
