// Corrections, on the page that framecheck review serves; a page opened from disk has none.
// Every choice shows its key. What is chosen is kept at once; Enter confirms all that is shown.
const typeKeys = { "single": "s", "two": "w", "three": "t", "group": "g", "over-the-shoulder": "o", "insert": "i", "no people": "n" };
const partKeys = { "ankle": "a", "mid-calf": "m", "knee": "k", "wrist": "r", "elbow": "e", "fingertips": "f", "chin": "c", "crown": "p", "headroom": "h", "looking room": "l" };
const sizeKeys = "1234567890";
const subjectKeys = " xyvbdjq"; // by the number of the person; the main subject has none
let keysOn = true, undoLeft = 0, sending = Promise.resolve(), ended = false;

function prepareReview() {
  if (!data.review) return;
  undoLeft = data.review.undo;
  find("review").hidden = false;
  onLook.push(showChoices);
  onKey = reviewKey;
  document.body.classList.add("reviewing");
  document.querySelector(".top").append(make("p", { class: "acts" }, make("button", { type: "button", id: "begin", onclick: openFirst }, "Go through the frames"),
    make("button", { type: "button", onclick: endReview }, "End the review")));
}

const openFirst = () => openLarge(shown.find((index) => !entries[index].confirmed) ?? shown[0] ?? 0);
const flagNames = (entry) => entry.flags.map((flag) => (flag.person ? `p${flag.person}:${flag.part}` : flag.part));
const measuredBefore = (entry, field) => (new RegExp(`(?:^|; )${field} \\(measured (.*?)\\)(?:;|$)`).exec(entry.confirmed) || [])[1];

function choice(words, key, on, pressed, was = false) {
  const button = make("button", { type: "button", "aria-pressed": String(on), class: was ? "was" : "", "aria-keyshortcuts": key || null },
    ...(key ? [make("kbd", {}, key), " "] : []), make("bdi", {}, words));
  if (was) button.title = "measured";
  button.addEventListener("click", (event) => {
    pressed();
    if (event.detail) find("large-title").focus({ preventScroll: true }); // a mouse was used: keys go on working
  });
  return button;
}

const partWords = (part) => part.replace(/^p(\d+):(.*)$/, "$2 (person $1)");
const row = (title, ...choices) => make("fieldset", {}, make("legend", {}, title), make("div", { class: "choices" }, ...choices));

function showChoices(entry) {
  const was = { size: measuredBefore(entry, "size"), people: measuredBefore(entry, "people"), type: measuredBefore(entry, "shot type") };
  const sizes = data.sizes.map(([name, abbr], n) => choice(abbr || name, sizeKeys[n], entry.size === name, () => tell(() => ({ size: name })), was.size === name));
  const people = [choice("fewer", "-", false, () => tell(fewer)), make("output", { class: "howmany" }, String(entry.people ?? "?")),
    choice("more", "+", false, () => tell(more))];
  const types = data.review.types.map((word) => choice(word, typeKeys[word], entry.shot_type === word, () => tell(() => ({ shot_type: word })), was.type === word));
  const names = flagNames(entry);
  const parts = [...data.review.parts, ...names.filter((name) => !data.review.parts.includes(name))];
  const flags = parts.map((part) => choice(partWords(part), partKeys[part], names.includes(part), () => tell((now) => ({ flags: toggled(flagNames(now), part) }))));
  const subjects = entry.persons.map((person) => choice(person.n === 0 ? "main subject as shown" : `person ${person.n} instead`, person.n ? subjectKeys[person.n] : null, person.n === 0, () => tell(() => ({ subject: person.n }))));
  find("review").replaceChildren(make("div", { class: "asks" }, row("Size", ...sizes), row("People", ...people), row("Shot type", ...types),
    row("Flags that stand", ...flags), subjects.length ? row("Main subject", ...subjects) : null,
    make("div", { class: "acts" }, make("button", { type: "button", class: "main", onclick: confirmAll }, make("kbd", {}, "Enter"), " Confirm as shown, next"),
      make("button", { type: "button", onclick: undo, disabled: undoLeft === 0 }, make("kbd", {}, "z"), ` Undo${undoLeft ? ` (${undoLeft})` : ""}`)),
    make("p", { class: "said", id: "said", role: "status" }, entry.confirmed ? `Confirmed: ${entry.confirmed}` : "Nobody has looked yet."),
    make("label", { class: "quiet" }, make("input", { type: "checkbox", checked: keysOn, onchange: (event) => { keysOn = event.target.checked; } }), " single keys work")));
}

const toggled = (names, part) => (names.includes(part) ? names.filter((name) => name !== part) : [...names, part]);

function everything(entry) {
  const fields = { flags: flagNames(entry) };
  if (entry.size && sizeRank.has(entry.size)) fields.size = entry.size;
  if (isNumber(entry.people)) fields.people = entry.people;
  if (data.review.types.includes(entry.shot_type)) fields.shot_type = entry.shot_type;
  if (entry.persons.length) fields.subject = 0;
  return fields;
}

function confirmAll() {
  const at = current;
  tell(everything).then((kept) => { if (kept && current === at && shown.indexOf(at) < shown.length - 1) step(1); });
}

const fewer = (entry) => ({ people: Math.max(0, (entry.people ?? 0) - 1) });
const more = (entry) => ({ people: (entry.people ?? 0) + 1 });

// One at a time and in order, however fast the keys are; each starts from what the last one left.
function send(where, body) {
  sending = sending.then(() => post(where, body()));
  return sending;
}

function tell(fields) {
  const at = current;
  return send("say", () => ({ key: entries[at].key, fields: fields(entries[at]) }));
}

const undo = () => send("undo", () => ({}));

async function post(where, body) {
  if (ended) return false;
  let answer;
  try {
    const reply = await fetch(where, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
    answer = await reply.json();
    if (!reply.ok) throw new Error(answer.why);
  } catch (error) {
    complainOf(error instanceof TypeError || error instanceof SyntaxError ? "The review has ended, or framecheck is gone: this was not kept." : error.message);
    return false;
  }
  renew(answer);
  if (where === "undo" && large.open) openLarge(answer.number);
  return true;
}

function complainOf(words) {
  const place = find("said");
  if (place) place.textContent = words;
  say(words);
}

function renew({ entry, number, card, undo: left }) {
  entry.file = entries[number].file;
  entries[number] = entry;
  undoLeft = left;
  indexEntry(number);
  listFilters();
  renewCard(cardOf(number), entry, card);
  ordered = ordered && [...ordered]; // an order once chosen stays, so that nothing jumps while going through
  applyFilterKeeping(number);
  if (current === number && large.open) openLarge(number, { quiet: true });
}

function renewCard(place, entry, card) {
  const size = place.querySelector(".size");
  size.replaceChildren(...(card.abbr ? [make("b", {}, card.abbr), " "] : []), make("span", {}, card.size),
    ...(entry.confirmed ? [" ", make("span", { class: "seal", title: entry.confirmed }, "confirmed")] : []));
  place.querySelector(".figures").textContent = card.readings;
  const old = place.querySelector(".flags");
  if (old) old.remove();
  if (card.flags.length) {
    place.querySelector(".told > div").append(make("ul", { class: "flags" }, ...card.flags.map(([severity, words]) => make("li", { class: severity }, words,
      severity === "named" ? null : make("span", { class: "quietly" }, `, ${severity}`)))));
  }
  const drawn = place.querySelector(".frame > svg");
  if (drawn) { drawn.remove(); delete place.dataset.drawn; drawCard(place); }
}

// The frame in hand stays in the row of steps even when it no longer fits the filter.
function applyFilterKeeping(number) {
  const before = shown;
  applyFilter();
  if (large.open && before.includes(number) && !shown.includes(number)) shown = before.filter((index) => index === number || shown.includes(index));
}

async function endReview() {
  await sending;
  try {
    await fetch("end", { method: "POST", headers: { "Content-Type": "application/json" }, body: "{}" });
  } catch { /* it is gone already */ }
  ended = true;
  closeLarge();
  document.querySelector(".top .acts").replaceChildren(make("strong", { role: "status" }, "The review has ended. Everything said is in the catalog; this tab can be closed."));
}

function reviewKey(event) {
  if (!keysOn || event.repeat) return;
  const onControl = event.target.matches("button, a, summary, input");
  if (event.key === "Enter" && !onControl) { event.preventDefault(); confirmAll(); return; }
  if (event.target.matches("input")) return;
  const entry = entries[current], key = event.key.toLowerCase();
  const digit = sizeKeys.indexOf(event.key);
  const typed = Object.keys(typeKeys).find((word) => typeKeys[word] === key);
  const part = Object.keys(partKeys).find((word) => partKeys[word] === key);
  const other = entry.persons.find((person) => person.n && subjectKeys[person.n] === key);
  if (event.shiftKey && key !== "+") return;
  if (digit >= 0 && data.sizes[digit]) tell(() => ({ size: data.sizes[digit][0] }));
  else if (key === "-") tell(fewer);
  else if (key === "+" || key === "=") tell(more);
  else if (key === "z" || key === "backspace") undo();
  else if (other) tell(() => ({ subject: other.n }));
  else if (typed) tell(() => ({ shot_type: typed }));
  else if (part) tell((now) => ({ flags: toggled(flagNames(now), part) }));
  else return;
  event.preventDefault();
}
