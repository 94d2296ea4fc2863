// What is told beside the picture: candidates side by side, the bend table, the work at the
// bench step by step, and what to take care of.

/** A run's candidates side by side; a touch on a row shows that candidate. */
function comparisonPanel({ values, run, rank, beside, showRank }) {
  const parts = [];
  if (run.comparison) {
    const { table, ranks, remarks } = run.comparison;
    parts.push(
      tableOf(table, (n) => ({
        "data-rank": ranks[n],
        "aria-selected": String(ranks[n] === rank),
        "data-held": ranks[n] === beside,
        tabindex: 0,
        on: {
          click: () => showRank(ranks[n]),
          keydown: (event) => event.key === "Enter" && showRank(ranks[n]),
        },
      })),
      made("p", { class: "faint", text: "* chosen. Touch a row to see that tube." }),
    );
    for (const [heading, told] of remarks) {
      if (heading) parts.push(made("h3", { text: heading }));
      parts.push(listOf(told));
    }
  }
  if (run.why.length)
    parts.push(made("h3", { text: "Why there is no tube" }), ...paragraphs(run.why));
  if (values.loop.length)
    parts.push(made("h3", { text: "All tubes together" }), listOf(values.loop));
  parts.push(listOf(values.notes));
  return parts;
}

/** How a tube is bent: its tables, with the marks along the blank. */
function bendingPanel({ tube }) {
  const bending = tube && tube.bending;
  if (!bending) return [made("p", { text: nothingToBend(tube) })];
  const parts = [];
  if (bending.doubts.length)
    parts.push(made("h3", { text: "Doubtful at the bench" }), listOf(bending.doubts));
  for (const { heading, turn, table } of bending.planes) {
    if (turn) parts.push(made("p", { class: "turning", text: turn }));
    parts.push(
      made("h3", { text: heading }),
      made("div", { class: "large" }, tableOf(table)),
    );
  }
  if (bending.planes.length) {
    parts.push(made("p", { class: "closing", text: bending.closing }));
    if (bending.clockwise) parts.push(made("p", { text: bending.clockwise }));
    parts.push(
      made("h3", { text: "Marks along the blank, from its first end" }),
      made("div", { class: "large" }, tableOf(bending.marks)),
    );
  } else {
    parts.push(made("p", { text: "No bends: a straight tube." }));
  }
  if (bending.bender) parts.push(made("p", { text: bending.bender }));
  return [...parts, ...paragraphs(bending.sentences)];
}

const nothingToBend = (tube) =>
  tube
    ? "This tube is built already: what is told of bending stands with its candidates."
    : "There is no tube to bend.";

/** A fact of more letters takes the room of two. */
const LONG_FACT = 18;

/** One step of the work at the bench, and the way to the next. */
function benchPanel({ tube, step, showStep, benchMotion }) {
  if (!tube || !tube.bench) return [made("p", { text: nothingToBend(tube) })];
  const { screens } = tube.bench;
  const screen = screens[step];
  const facts = screen.facts.map(([what, value]) =>
    made(
      "div",
      { class: value.length > LONG_FACT ? "fact long" : "fact" },
      made("dt", { text: what }),
      made("dd", { text: value }),
    ),
  );
  const steps = screen.steps.map(({ head, text, lines }) =>
    made(
      "div",
      { class: "step" },
      head ? made("h3", { text: head }) : null,
      made("p", { text }),
      listOf(lines),
    ),
  );
  return [
    made("h2", { text: screen.title }),
    screen.stage === "bend" ? motionControl(benchMotion) : null,
    facts.length ? made("dl", { class: "facts" }, ...facts) : null,
    ...steps,
    screen.care.length ? cautionBox(screen.care) : null,
    made(
      "nav",
      { class: "onward", "aria-label": "steps" },
      button("Back", () => showStep(step - 1), { disabled: step === 0 }),
      made("span", { text: `step ${step + 1} of ${screens.length}` }),
      button("Next", () => showStep(step + 1), {
        disabled: step + 1 === screens.length,
        class: "next",
      }),
    ),
  ];
}

/** A slider through the motion of a bend, and a button that plays it. */
function motionControl({ slid, play }) {
  const slider = made("input", {
    type: "range",
    min: 0,
    max: 1000,
    value: 1000,
    "aria-label": "from turning to bent",
    on: { input: () => slid(slider.value / 1000) },
  });
  const seen = "Seen from behind the first end; this former bends to the left.";
  return made(
    "div",
    {},
    made("div", { class: "motion" }, button("Play", play), slider),
    made("p", { class: "faint", text: seen }),
  );
}

/** All cautions. */
const carePanel = ({ values }) => [
  cautionBox(values.cautions),
  made("p", { class: "faint", text: values.madeBy }),
];
