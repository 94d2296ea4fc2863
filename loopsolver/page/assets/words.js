// Elements from words. Words are always text: nothing in them is read as HTML.

/** A new element; `text` is its text, `on` what it does for an event, all else attributes. */
function made(tag, { text, on = {}, ...attributes } = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== false)
      element.setAttribute(name, value === true ? "" : value);
  }
  for (const [name, act] of Object.entries(on)) element.addEventListener(name, act);
  if (text !== undefined) element.textContent = text;
  element.append(...children.filter((child) => child !== null));
  return element;
}

const button = (text, act, attributes = {}) =>
  made("button", { type: "button", text, on: { click: act }, ...attributes });

const paragraphs = (sentences) => sentences.map((text) => made("p", { text }));

const listOf = (sentences) =>
  sentences.length
    ? made("ul", {}, ...sentences.map((text) => made("li", { text })))
    : null;

/** A table; `rowAttributes(n)` says what each row is beside its cells. */
function tableOf(table, rowAttributes = () => ({})) {
  const kind = (column) => (table.words.includes(column) ? "words" : "figure");
  const head = table.headings.map((heading, n) =>
    made("th", { scope: "col", class: kind(n) }, ...brokenLines(heading)),
  );
  const rows = table.rows.map((row, n) => {
    const strong = table.strong.includes(n) ? "strong" : null;
    return made(
      "tr",
      { class: strong, ...rowAttributes(n) },
      ...row.map((cell, column) => made("td", { class: kind(column), text: cell })),
    );
  });
  return made(
    "div",
    { class: "wide" },
    made(
      "table",
      {},
      made("thead", {}, made("tr", {}, ...head)),
      made("tbody", {}, ...rows),
    ),
  );
}

const brokenLines = (lines) =>
  lines.flatMap((line, n) => (n ? [made("br"), line] : [line]));

const cautionBox = (cautions) =>
  made(
    "aside",
    { class: "care" },
    ...cautions.map(([head, text]) =>
      made("p", {}, made("strong", { text: `${head}. ` }), text),
    ),
  );
