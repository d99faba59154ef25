// The data of the page, and small makers of elements. Text always goes in as text.
const data = JSON.parse(document.getElementById("data").textContent);
const entries = data.entries;
const byKey = new Map(entries.map((entry, index) => [entry.key, index]));
const sizeRank = new Map(data.sizes.map(([name], index) => [name, index]));
const marksOfBody = [["crown", 1], ["eyes", 0.936], ["chin", 0.87], ["shoulder", 0.818],
  ["hip", 0.53], ["knee", 0.285], ["ankle", 0.039], ["sole", 0]];
const find = (id) => document.getElementById(id);

function make(tag, given = {}, ...children) {
  return fill(document.createElement(tag), given, children);
}

function draw(tag, given = {}, ...children) {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", tag), given, children);
}

function fill(element, given, children) {
  for (const [name, value] of Object.entries(given)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

const isNumber = (value) => typeof value === "number";
const percent = (share, digits = 0) => `${(share * 100).toFixed(digits).replace(/^-(0(?:\.0+)?)$/, "$1")}\u00a0%`;
// Headroom in words: less than none is a head that the edge cuts.
const airWords = (share, digits = 0) => (share < 0 ? `crown ${percent(-share, digits)} over the edge` : percent(share, digits));
const shortAir = (share) => (Math.round(share * 100) < 0 ? "head cut" : percent(share));
const fileOf = (entry) => data.files[entry.file];
const count = (number, word, more = `${word}s`) => `${number.toLocaleString("en")} ${number === 1 ? word : more}`;
const later = window.requestIdleCallback || ((call) => setTimeout(call, 1));

// Shots and people are counted from 0, as in the tables and in what studies say.
function nameOf(entry) {
  const file = fileOf(entry).name;
  return entry.still ? file : `${file}, shot ${entry.shot}`;
}

function seconds(length) {
  if (!isNumber(length)) return "";
  if (length < 60) return `${length.toFixed(1)} s`;
  return `${Math.floor(length / 60)} min ${Math.round(length % 60)} s`;
}

// One hue, lighter for wide and darker for tight, so that the order shows without colour.
function tint(size) {
  const rank = sizeRank.has(size) ? sizeRank.get(size) : -1;
  if (rank < 0) return [null, null];
  const light = 88 - (56 * rank) / Math.max(1, data.sizes.length - 1);
  return [`hsl(199 34% ${light}%)`, light > 43 ? "#000000" : "#ffffff"]; // each 4.5 : 1 at least
}

function paint(block, size) {
  const [back, front] = tint(size);
  if (!back) return;
  block.style.backgroundColor = back;
  block.style.color = front;
}

function say(text) {
  find("told").textContent = text;
}

// Whether a flag has anything to do with how much room there is.
const isRoom = (flag) => flag.part === "headroom" || flag.part === "looking room";

function flagWords(flag) {
  let words = flag.part;
  if (isRoom(flag) && isNumber(flag.distance_level)) {
    words += flag.distance_level < 0 ? ": too little" : ": too much";
  } else if (flag.edge && isNumber(flag.distance_level)) {
    const side = flag.distance_level > 0 ? "above" : "below";
    words += `: ${flag.edge} edge cuts ${percent(Math.abs(flag.distance_level), 1)} of body height ${side} it`;
  }
  return flag.person ? `${words} (person ${flag.person})` : words;
}
