// The sheet of frames: filter, order, counts; overlays are drawn when a card comes into sight.
const cards = [...document.querySelectorAll(".card")]; // by number, also those that a filter leaves out
const sheet = find("cards");
const chosen = {};
let shown = entries.map((_, index) => index);
const afterFilter = [];

const flagParts = (entry) => [...new Set(entry.flags.map((flag) => flag.part))];
const peopleGroup = (entry) => (isNumber(entry.people) ? (entry.people > 3 ? "4 or more" : String(entry.people)) : "not known");
const sureGroup = (entry) => (!isNumber(entry.sure) ? "not known" : entry.sure >= 0.9 ? "90 % and more" : entry.sure >= 0.6 ? "60 to 90 %" : "under 60 %");
const groups = [
  ["size", "Size", (entry) => [entry.size || "not named"], (a, b) => rankOf(a) - rankOf(b)],
  ["people", "People", (entry) => [peopleGroup(entry)]],
  ["type", "Shot type", (entry) => [entry.shot_type || "not known"]],
  ["flags", "Flags", (entry) => (entry.flags.length ? flagParts(entry) : ["none"])],
  ["sure", "How sure the size is", (entry) => [sureGroup(entry)], (a, b) => sureOrder.indexOf(a) - sureOrder.indexOf(b)],
  ["confirmed", "Seen by a person", (entry) => [entry.confirmed ? "confirmed" : "not yet"]],
  ["file", "Clip", (entry) => (entry.still ? ["stills"] : [fileOf(entry).name])],
];
const sureOrder = ["90 % and more", "60 to 90 %", "under 60 %", "not known"];
const rankOf = (name) => (sizeRank.has(name) ? sizeRank.get(name) : 99);
const low = (value, otherwise = Infinity) => (isNumber(value) ? value : otherwise);
const orders = [
  ["as they were found", (a, b) => a - b],
  ["wide to tight", (a, b) => rankOf(entries[a].size) - rankOf(entries[b].size) || low(entries[a].readings.crop_level) - low(entries[b].readings.crop_level)],
  ["tight to wide", (a, b) => low(entries[b].readings.crop_level, -9) - low(entries[a].readings.crop_level, -9)],
  ["least sure first", (a, b) => low(entries[a].sure, -1) - low(entries[b].sure, -1)],
  ["most flags first", (a, b) => weight(entries[b]) - weight(entries[a])],
  ["most headroom first", (a, b) => low(entries[b].readings.headroom_frac, -9) - low(entries[a].readings.headroom_frac, -9)],
  ["most people first", (a, b) => low(entries[b].people, -1) - low(entries[a].people, -1)],
  ["by shot type", (a, b) => entries[a].shot_type.localeCompare(entries[b].shot_type)],
  ["longest first", (a, b) => low(entries[b].length, -1) - low(entries[a].length, -1)],
  ["by file name", (a, b) => fileOf(entries[a]).name.localeCompare(fileOf(entries[b]).name, "en", { numeric: true })],
];
const weight = (entry) => entry.flags.reduce((sum, flag) => sum + ({ high: 100, medium: 10 }[flag.severity] || 1), 0);

let values, haystack;
function indexEntry(index) {
  const entry = entries[index];
  values[index] = Object.fromEntries(groups.map(([name, , read]) => [name, read(entry)]));
  haystack[index] = [nameOf(entry), entry.size, entry.size_abbr, entry.size_second, entry.shot_type,
    entry.start_timecode, entry.timecode, entry.notes, entry.confirmed, ...entry.flags.map((flag) => flag.part),
    ...entry.advice.map((piece) => piece.text)].join(" \n").toLowerCase();
}

function prepareSheet() {
  values = []; haystack = [];
  entries.forEach((_, index) => indexEntry(index));
  groups.forEach(([name]) => { chosen[name] = new Set(); });
  listFilters();
  orders.forEach(([title], index) => find("order").append(make("option", { value: index }, title)));
  find("order").addEventListener("change", sortCards);
  find("words").addEventListener("input", applyFilter);
  find("clear").addEventListener("click", clearFilter);
  find("tools").hidden = false;
  if (window.matchMedia("(min-width: 68rem)").matches) { find("filters").open = true; find("layers").open = true; }
  applyFilter();
}

let listed = "";
// Every word that some frame has; listed anew when a correction brings another one.
function listFilters() {
  const all = groups.map(([name, title, , compare]) => {
    const words = new Set([...values.flatMap((one) => one[name]), ...chosen[name]]);
    return [name, title, [...words].sort(compare || ((a, b) => a.localeCompare(b, "en", { numeric: true })))];
  });
  if (JSON.stringify(all) === listed) return;
  listed = JSON.stringify(all);
  find("filter-list").replaceChildren(...all.filter(([name, , words]) => words.length > 1 || name === "flags")
    .map(([name, title, words]) => (words.length > 24 ? menuOf(name, title, words) : chipsOf(name, title, words))));
}

function chipsOf(name, title, words) {
  const chips = words.map((word) => {
    const box = make("input", { type: "checkbox", value: word, "data-group": name, checked: chosen[name].has(word) });
    box.addEventListener("change", () => {
      if (box.checked) chosen[name].add(word); else chosen[name].delete(word);
      applyFilter();
    });
    const shownWord = name === "size" ? sizeWords(word) : word;
    return make("label", { class: "chip" }, box, make("span", {}, make("bdi", {}, shownWord), make("i", { "data-of": word })));
  });
  return make("fieldset", {}, make("legend", {}, title), make("div", { class: "chips" }, ...chips));
}

function menuOf(name, title, words) {
  const menu = make("select", { "data-group": name, "aria-label": title }, make("option", { value: "" }, "all"),
    ...words.map((word) => make("option", { value: word, selected: chosen[name].has(word) }, word)));
  menu.addEventListener("change", () => {
    chosen[name] = new Set(menu.value ? [menu.value] : []);
    applyFilter();
  });
  return make("fieldset", {}, make("legend", {}, title), menu);
}

const sizeWords = (name) => {
  const size = data.sizes.find((one) => one[0] === name);
  return size && size[1] ? `${size[1]} ${name}` : name;
};

function clearFilter() {
  find("words").value = "";
  for (const set of Object.keys(chosen)) chosen[set] = new Set();
  for (const box of document.querySelectorAll("#filter-list input")) box.checked = false;
  for (const menu of document.querySelectorAll("#filter-list select")) menu.value = "";
  applyFilter();
}

// Counts beside a choice say how many there would be with it and all that is chosen elsewhere.
function applyFilter() {
  const wanted = find("words").value.toLowerCase().split(/\s+/).filter(Boolean);
  const active = groups.map(([name]) => name).filter((name) => chosen[name] && chosen[name].size);
  const counts = Object.fromEntries(groups.map(([name]) => [name, new Map()]));
  const pass = new Uint8Array(entries.length);
  for (let index = 0; index < entries.length; index += 1) {
    if (!wanted.every((word) => haystack[index].includes(word))) continue;
    const own = values[index];
    const misses = active.filter((name) => !own[name].some((word) => chosen[name].has(word)));
    if (!misses.length) pass[index] = 1;
    for (const [name] of groups) {
      if (misses.length && (misses.length > 1 || misses[0] !== name)) continue;
      for (const word of own[name]) counts[name].set(word, (counts[name].get(word) || 0) + 1);
    }
  }
  const before = shown;
  shown = shownOrder().filter((index) => pass[index]);
  const same = before.length === shown.length && before.every((index, n) => index === shown[n]);
  if (!same) putOut(shown.map((index) => cards[index]));
  for (const tag of document.querySelectorAll("#filter-list i")) {
    const box = tag.closest("label").querySelector("input");
    tag.textContent = counts[box.dataset.group].get(box.value) || 0;
  }
  find("count").textContent = shown.length === entries.length ? count(shown.length, "frame")
    : `${shown.length.toLocaleString("en")} of ${count(entries.length, "frame")}`;
  find("none").hidden = shown.length > 0;
  afterFilter.forEach((call) => call());
}

// Cards are taken out and put in, as hiding thousands of them one by one costs a browser seconds. The
// sheet holds what the window can show, and more whenever its end comes near.
const AT_ONCE = 150;
let waiting = [];
const nearEnd = new IntersectionObserver((seen) => {
  if (seen.some((one) => one.isIntersecting)) putMore();
}, { rootMargin: "150% 0px" });
function putOut(list) {
  sheet.replaceChildren(...list.slice(0, AT_ONCE));
  waiting = list.slice(AT_ONCE);
  watchEnd();
}

function putMore() {
  sheet.append(...waiting.splice(0, AT_ONCE));
  watchEnd();
}

function watchEnd() {
  nearEnd.disconnect();
  if (waiting.length) nearEnd.observe(sheet.lastElementChild);
}

// A long sheet is made short in the first pause, unless somebody has already gone down in it.
later(() => {
  if (cards.length > AT_ONCE && window.scrollY === 0 && !waiting.length) putOut(shown.map((index) => cards[index]));
});

function putOutAll() {
  sheet.append(...waiting.splice(0));
}

let ordered = null;
function shownOrder() {
  if (!ordered) {
    const compare = orders[Number(find("order").value) || 0][1];
    ordered = entries.map((_, index) => index).sort((a, b) => compare(a, b) || a - b);
  }
  return ordered;
}

function sortCards() {
  ordered = null;
  applyFilter();
}

const cardOf = (index) => cards[index];

// Frames of one page are shown in the shape that most of them have, others inside it.
function shapeFrames() {
  const shapes = cards.map((card) => card.querySelector(".frame")).map((frame) => frame.dataset.w / frame.dataset.h);
  const middle = [...shapes].sort((a, b) => a - b)[Math.floor(shapes.length / 2)] || 1.6;
  const common = clamp(middle, 1, 2);
  cards.forEach((card) => { card.querySelector(".frame").style.aspectRatio = String(common); });
}

function drawCard(card) {
  if (card.dataset.drawn) return;
  card.dataset.drawn = "yes";
  const layers = layersOf(entries[card.dataset.n]);
  if (layers) card.querySelector(".frame").append(layers);
}

function watchCards() {
  const watcher = new IntersectionObserver((seen) => {
    for (const one of seen) if (one.isIntersecting) { drawCard(one.target); watcher.unobserve(one.target); }
  }, { rootMargin: "400px" });
  cards.forEach((card) => watcher.observe(card));
  window.addEventListener("beforeprint", () => {
    putOutAll();
    shown.forEach((index) => drawCard(cards[index]));
    for (const fold of find("made").querySelectorAll("details")) fold.open = true; // paper has nothing to click
  });
}

function prepareLayers() {
  layerList.forEach(([name, title, on], number) => {
    for (const list of [find("layer-list"), find("large-layers").querySelector(".chips")]) {
      const box = make("input", { type: "checkbox", checked: on, "data-layer": name });
      box.addEventListener("change", () => setLayer(number, box.checked));
      list.append(make("label", { class: "chip" }, box, make("span", {}, title, make("i", { "aria-hidden": "true" }, `⇧${number + 1}`))));
    }
  });
}

function setLayer(number, on) {
  const [name, title] = layerList[number];
  document.body.classList.toggle(`show-${name}`, on);
  for (const box of document.querySelectorAll(`[data-layer=${name}]`)) box.checked = on;
  if (large.open) drawStage(); // advice may need room outside the picture
  say(`${title} ${on ? "shown" : "hidden"}`);
}

const layerIsOn = (number) => document.body.classList.contains(`show-${layerList[number][0]}`);
const toggleLayer = (number) => setLayer(number, !layerIsOn(number));
